"""``python -m checker`` is the ``checker`` command."""

import sys

from checker.cli import main

sys.exit(main())
