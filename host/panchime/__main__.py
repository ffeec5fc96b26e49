"""`python -m panchime`: the same command where the folder of installed programs is not on the path."""

import sys

from panchime.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
