"""What the README shows, run as it stands there."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.S)


def test_the_python_example_runs_and_prints_the_reason() -> None:
    (example,) = blocks("python")
    assert len(example.strip().splitlines()) <= 18
    done = subprocess.run(
        [sys.executable, "-c", example], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("False")
    assert "250 km/h, at most" in done.stdout
    assert "-40.0 km/h" in done.stdout


def test_the_first_command_ends_in_a_check_that_says_why() -> None:
    command = blocks("sh")[0].strip().split("&&")[-1]
    words = shlex.split(command)
    assert words[0] == ".venv/bin/stemlore"
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; from stemlore.cli import main; sys.exit(main(sys.argv[1:]))",
            *words[1:],
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1, done.stderr
    assert "does not leave" in done.stdout


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.py")), ids=lambda path: path.stem)
def test_examples_run(path: Path) -> None:
    done = subprocess.run([sys.executable, str(path)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout
