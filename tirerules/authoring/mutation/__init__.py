"""Whether the examples of a pack would notice a mistake in it: each rule is changed in one place, and they are run.

Use it when a pack was written or changed::

    tirerules check --mutate rulepacks/US/US-NJ.yaml

prints, for every change that no example notices, an example that would, as items to paste under `examples` (over what
the pack gives in `given`), each with a comment that names what it notices; then how many of how many changes were
noticed, by kind and by pack. Without a path all built-in packs are taken. An example that is pasted records what the
library answers, so hold it against the text of the source before it stays.

`--table FILE` also runs a published table of the law (the form of ``tests/published/law.csv``). `--least` and
`--least-each` are the percentages that must be noticed in all and of every kind (97 and 95). `--survivors FILE` names a
YAML file that maps changes which nothing can notice to the reason: ``US-NJ/sale-tread act used-tire-sale: why``. They
still count against the score; a listed change that is noticed, or that no pack has, is a finding.

One module an idea: `steps` (the figure next to another), `operators` (how a rule can be wrong), `running` (whether an
example notices), `killing` (the example that would), `writing` (its YAML), `mutating` (all of it), `report`.
"""

from __future__ import annotations
