"""``python -m balltravel.cli``: the command, where its script is not on the path."""

import sys

from balltravel.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
