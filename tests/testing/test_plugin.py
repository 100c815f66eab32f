"""pytest runs the kit on a pack that is named, and pays nothing where none is."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any


def run(folder: Path, *arguments: str, without: str = "") -> subprocess.CompletedProcess[str]:
    # by its module, whether or not its entry point is installed
    plugin = ["-p", "no:stemlore", "-p", "stemlore.testing.plugin", "-p", "no:cacheprovider"]
    code = (
        "import sys, pytest\n"
        f"if {without!r}: sys.modules[{without!r}] = None\n"
        f"status = pytest.main({[*plugin, *arguments]!r})\n"
        "heavy = ('stemlore.rules', 'stemlore.model', 'hypothesis', 'pint', 'polars')\n"
        "print('LOADED', sorted(each for each in heavy if each in sys.modules))\n"
        "sys.exit(status)\n"
    )
    return subprocess.run(
        [sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, timeout=120, check=False
    )


def test_the_plugin_loads_nothing_where_no_pack_is_asked_for(tmp_path: Path, author: Any) -> None:
    # a pack that lies in the tree of tests is not collected by itself
    done = run(tmp_path, "--co", "-q", "-p", "no:hypothesispytest")
    assert "no tests collected" in done.stdout
    assert "LOADED []" in done.stdout


def test_the_plugin_runs_the_kit_on_a_pack_that_is_named(author: Any) -> None:
    author.alter("cases.toml", "on = 2014-06-30", "on = 2014-06-29")
    done = run(author.folder.parent, "xa/pack.toml", "-q", "-k", "tread_depth and day")
    assert "no case with on = 2014-06-30" in done.stdout
    assert "1 failed" in done.stdout
    assert "_checks.py" not in done.stdout  # what is wrong, not how the kit found out
    done = run(author.folder.parent, "xa/pack.toml", "-q", "-k", "tread_depth and cited")
    assert "1 passed" in done.stdout


def test_the_plugin_skips_what_needs_more_than_is_installed(author: Any) -> None:
    done = run(
        author.folder.parent, "xa/pack.toml", "-rs", "-k", "rows and columns", without="stemlore.audit"
    )
    assert "1 skipped" in done.stdout
    assert "rows were not held against columns" in done.stdout


def test_a_broken_pack_does_not_stop_the_collection(author: Any) -> None:
    author.alter("pack.toml", 'place = "XA"', 'place = "nowhere"')
    done = run(author.folder.parent, "xa/pack.toml", "-q")
    assert "1 failed" in done.stdout
    assert "nowhere" in done.stdout
