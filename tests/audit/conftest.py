"""Lets the tests here import what stands beside them, and the random trees beside the tests of the rules."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "rules")]
