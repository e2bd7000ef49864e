"""``python -m quoting.sizing``: the sizing as a package of its own, without a web side or a database."""

import sys

from quoting.sizing.command import main

if __name__ == "__main__":
    sys.exit(main())
