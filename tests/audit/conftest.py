"""Lets the tests here import the random trees that stand beside the tests of the rules."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "rules"))
