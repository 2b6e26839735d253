"""`python -m tirerules`."""

import sys

from tirerules.cli import main

if __name__ == "__main__":
    sys.exit(main())
