"""A program of an invented shop that is wrong in each line that says so."""

from __future__ import annotations

import tirerules
from tirerules import Case, Injury, Tire
from tirerules.documents import Case as CaseDocument

Tire(class_="pasenger")  # wrong
Tire(klass="passenger")  # wrong
Injury(zone="middle")  # wrong
Injury(diameter="4 mm")  # wrong
Case(jurisdictions="US-SC", activity="repair")  # wrong
tirerules.laod()  # wrong
print(tirerules.case.Tyre)  # wrong
document: CaseDocument = {"jurisdictions": ["US-SC"], "activity": "mend"}  # wrong
misspelt: CaseDocument = {"jurisdictions": ["US-SC"], "activity": "repair", "tyre": {}}  # wrong
tirerules.load().decide(7)  # wrong
