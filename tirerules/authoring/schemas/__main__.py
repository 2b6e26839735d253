"""`python -m tirerules.authoring.schemas [FOLDER]`: rewrite the schemas."""

import sys

from tirerules.authoring.schemas import write

if __name__ == "__main__":
    write(*sys.argv[1:])
