"""The example that reads a table without this library."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

EXAMPLE = Path(__file__).parents[2] / "examples" / "tables_without_us.py"


def test_both_ways_find_what_was_published_and_never_import_us() -> None:
    done = subprocess.run([sys.executable, str(EXAMPLE)], capture_output=True, text=True, check=True)
    csv_line, polars_line = done.stdout.splitlines()
    # load index 91 stands for 615 kg in every published table
    assert csv_line.startswith("csv: load index 91 is 615 kg")
    # a tyre maker's General Technical Information of 2011-02
    assert polars_line.startswith("polars: 315/80R22.5 sits on 8.25, 9.00, 9.75")
    assert "stemlore" not in "".join(
        line for line in EXAMPLE.read_text("utf-8").splitlines() if "import" in line
    )
