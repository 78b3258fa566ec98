"""``python -m wearline``."""

import sys

from wearline.cli.main import run

sys.exit(run())
