"""Lets the tests of this folder import their siblings as ``referee.model`` and so on."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
