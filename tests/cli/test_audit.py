"""The command that audits a fleet: verdict, exit codes, files, proposals."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from stemlore.audit import read_mapping
from stemlore.cli import main
from stemlore.testing.fleet import synthetic_fleet

PLACE = ("--place", "DE", "--on", "2026-11-25")


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    path = tmp_path / "fleet.csv"
    synthetic_fleet(60, seed=3, faults=0.5, mess=0.2).wheels.write_csv(path)
    return path


def test_an_audit_says_what_fails_what_is_missing_and_what_is_dirty(
    fleet: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["audit", str(fleet), *PLACE, "--out", str(out)]) == 1
    told = capsys.readouterr().out
    for words in ("WHAT FAILS", "WHAT IS MISSING", "DATA QUALITY", "de.tyre.tread_depth", "unreadable"):
        assert words in told
    names = {each.name for each in out.iterdir()}
    assert names == {f"{name}.parquet" for name in ("findings", "needs", "quality", "summary", "wide")}
    found = pl.read_parquet(out / "findings.parquet")
    assert set(found["outcome"]) == {"fail", "unknown"}
    assert main(["audit", str(fleet), *PLACE, "--out", str(out), "--everything"]) == 1
    assert "pass" in set(pl.read_parquet(out / "findings.parquet")["outcome"])


def test_what_is_not_settled_is_not_clean(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "fleet.parquet"
    synthetic_fleet(10, seed=1, faults=0.0).wheels.write_parquet(path)
    assert main(["audit", str(path), *PLACE]) == 4
    assert main(["audit", str(path), "--used-in", "DE", "--on", "2026-11-25"]) == 4
    told = capsys.readouterr().out
    assert "NOT SETTLED" in told
    assert "workshop in a place not given" in told


def test_a_proposal_can_be_used(fleet: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    renamed = tmp_path / "renamed.csv"
    pl.read_csv(fleet).rename({"vehicle_id": "Plate", "tyre_pressure": "Pressure"}).write_csv(renamed)
    assert main(["audit", str(renamed), "--inspect"]) == 0
    proposed = capsys.readouterr().out
    assert {each.name: each.to for each in read_mapping(proposed).columns} == {
        "Plate": "vehicle_id",
        "Pressure": "tyre.pressure",
    }
    mapping = tmp_path / "mapping.toml"
    mapping.write_text(proposed)
    assert main(["audit", str(renamed), *PLACE, "--mapping", str(mapping)]) == 1


def test_what_is_not_understood_is_told(
    fleet: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["audit", str(fleet), "--place", "DE"]) == 2
    bad = tmp_path / "bad.parquet"
    bad.write_bytes(b"PAR1")
    assert main(["audit", str(bad), *PLACE]) == 2
    assert "bad.parquet cannot be read" in capsys.readouterr().err
    plain = tmp_path / "plain.csv"
    plain.write_text("colour\nred\n")
    assert main(["audit", str(plain), *PLACE]) == 2
    assert "ColumnError" not in (told := capsys.readouterr().err)
    assert "no column" in told
