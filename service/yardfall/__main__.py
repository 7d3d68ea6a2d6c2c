"""`python -m yardfall`: the same as the command `yardfall`."""

import sys

from yardfall.cli.main import main

sys.exit(main())
