"""Changes of law, and what begins to fail, over our own packs."""

from __future__ import annotations

from pathlib import Path

import pytest

from stemlore.cli import main

JOBS = Path(__file__).parents[2] / "examples" / "jobs"


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(words) == 0
    return " ".join(capsys.readouterr().out.split())


def test_changes_of_law_between_two_days(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "rules", "--compare", "2024-09-30", "2024-10-01", "--used-in", "DE")
    assert "added: de.tyre.winter_mark" in out
    assert "ended: de.tyre.winter_mark_transition" in out
    assert "StVZO" in out
    out = printed(capsys, "rules", "--compare", "2024-10-01", "2024-10-02", "--used-in", "DE")
    assert "nothing changes" in out


def test_changes_to_come(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "rules", "--on", "2024-09-01", "--until", "2024-12-31", "--place", "DE")
    assert "from 2024-09-01 to 2024-10-01" in out


def test_what_begins_to_fail_is_told_ahead(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(JOBS / "car_on_older_winter_tyres.json")
    main(["check", path, "--place", "DE", "--on", "2024-09-01", "--ahead", "60"])
    out = " ".join(capsys.readouterr().out.split())
    assert "from 2024-10-01: In the winter months the tyre is a winter tyre all 4 wheels" in out
    assert main(["check", path, "--place", "DE", "--on", "2024-09-01", "--ahead", "9999"]) == 2
