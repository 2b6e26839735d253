"""`python -m tirerules.authoring.schemas [FOLDER]`: rewrite the schemas, and the modules made of the vocabulary."""

import sys

from tirerules.authoring.schemas import write
from tirerules.authoring.schemas.groups import write_groups
from tirerules.authoring.schemas.literals import write_types

if __name__ == "__main__":
    write(*sys.argv[1:])
    write_groups()
    write_types()
