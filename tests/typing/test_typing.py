"""Users who check their types get those of the stub."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("mypy")

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


def test_the_public_names_are_typed() -> None:
    """Each ``type: ignore`` in the file must be needed, so wrong calls are proven to be refused."""
    run = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--warn-unused-ignores", str(HERE / "public_names.py")],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
