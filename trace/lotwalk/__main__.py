"""`python -m lotwalk`: the same command line."""

import sys

from lotwalk.cli.main import main

sys.exit(main())
