"""`python -m tirerules.authoring.schemas [FOLDER]`: rewrite the schemas, and the typed groups of facts."""

import sys

from tirerules.authoring.schemas import write
from tirerules.authoring.schemas.groups import write_groups

if __name__ == "__main__":
    write(*sys.argv[1:])
    write_groups()
