"""The command that writes an invented fleet: files, exit codes, and an audit that finds what was planted."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from stemlore.cli import main
from stemlore.testing.fleet import synthetic_fleet

ASKED = ("--vehicles", "30", "--place", "JP", "--on", "2026-11-25", "--seed", "4", "--faults", "0.3")


@pytest.mark.parametrize("suffix", ["parquet", "csv"])
def test_a_fleet_stands_beside_what_was_planted(
    suffix: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / f"fleet.{suffix}"
    assert main(["fleet", str(out), *ASKED]) == 0
    assert "30 vehicles" in capsys.readouterr().out
    made = synthetic_fleet(30, place="JP", seed=4, faults=0.3)
    rows = pl.read_parquet(out) if suffix == "parquet" else pl.read_csv(out)
    assert (rows.height, rows.columns) == (made.wheels.height, made.wheels.columns)
    planted = pl.read_csv(tmp_path / "fleet.planted.csv")
    assert planted.equals(made.planted)
    assert not (tmp_path / "fleet.mess.csv").exists()

    results = tmp_path / "audit"
    assert main(["audit", str(out), "--place", "JP", "--on", "2026-11-25", "--out", str(results)]) == 1
    found = pl.read_parquet(results / "findings.parquet").filter(pl.col("outcome") == "fail")
    keys = ["row", "position", "rule"]
    assert found.select(keys).sort(keys).equals(planted.select(keys).sort(keys))


def test_mess_is_written_down(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "fleet.csv"
    assert (
        main(["fleet", str(out), "--place", "DE", "--place", "NO", *ASKED[:2], *ASKED[4:], "--mess", "0.2"])
        == 0
    )
    told = capsys.readouterr().out
    assert "spoilt" in told
    assert "DE eu.tyre.tread_depth: gives way to" in " ".join(told.split())
    assert pl.read_csv(tmp_path / "fleet.mess.csv").height > 10
    assert set(pl.read_csv(out)["law_place"]) == {"DE", "NO"}


def test_what_is_not_understood_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fleet", str(tmp_path / "fleet.xlsx"), *ASKED]) == 2
    assert "neither .parquet nor .csv" in capsys.readouterr().err
    assert main(["fleet", str(tmp_path / "fleet.csv"), "--place", "JP"]) == 2
    assert main(["fleet", str(tmp_path / "away" / "fleet.csv"), *ASKED]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
