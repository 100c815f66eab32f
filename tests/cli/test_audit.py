"""The command that audits a fleet: verdict, codes, files, proposals; ends that leave nothing half done."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import polars as pl
import pytest

import stemlore.pages as pages
from stemlore.audit import read_mapping
from stemlore.cli import main
from stemlore.testing.fleet import synthetic_fleet

DAY = ("--on", "2026-11-25")
PLACE = ("--place", "DE", *DAY)
TABLES = {"findings", "needs", "quality", "summary", "vehicles", "wide"}
Said = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("fleet") / "fleet.csv"
    synthetic_fleet(60, seed=3, faults=0.5, mess=0.2).wheels.write_csv(path)
    return path


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("clean") / "fleet.parquet"
    synthetic_fleet(20, seed=1, faults=0.0).wheels.write_parquet(path)
    return path


def words(told: str) -> str:
    return " ".join(told.split())


# --- verdict and exit code ---------------------------------------------------------------------------


def test_an_audit_says_what_fails_what_is_missing_and_what_is_dirty(
    fleet: Path, tmp_path: Path, capsys: Said
) -> None:
    out = tmp_path / "out"
    assert main(["audit", str(fleet), *PLACE, "--out", str(out)]) == 1
    told = capsys.readouterr()
    assert told.err == ""
    parts = [
        "HOLD",
        "60 vehicles",
        "DO NOT LEAVE",
        "TO PUT RIGHT",
        "MEASURE OR LOOK UP NEXT",
        "DATA QUALITY",
        "PLACES",
    ]
    found = [words(told.out).index(part) for part in [*parts, "Written to", "no statement of roadworthiness"]]
    assert found == sorted(found)
    assert {each.name for each in out.iterdir()} == {f"{name}.parquet" for name in TABLES} | {"run.json"}
    findings = pl.read_parquet(out / "findings.parquet")
    assert set(findings["outcome"]) == {"fail", "unknown"}
    for rule, count in findings.filter(pl.col("outcome") == "fail")["rule"].value_counts().iter_rows():
        line = next(each for each in re.split(r"\n  (?=\d)", told.out) if f"[{rule}]" in words(each))
        assert int(line.split()[0]) == count
    assert main(["audit", str(fleet), *PLACE, "--out", str(out), "--everything"]) == 1
    assert "pass" in set(pl.read_parquet(out / "findings.parquet")["outcome"])


def test_what_is_counted_of_files_is_what_is_counted_without(
    fleet: Path, tmp_path: Path, capsys: Said
) -> None:
    made = []
    for options in ((), ("--out", str(tmp_path / "a")), ("--out", str(tmp_path / "b"), "--csv")):
        assert main(["audit", str(fleet), *PLACE, *options]) == 1
        made.append(words(capsys.readouterr().out).split(" Written to")[0].split(" This report advises")[0])
    assert made[0] == made[1] == made[2]


def test_a_fleet_of_which_all_is_known_is_clean(clean: Path, capsys: Said) -> None:
    code = main(["audit", str(clean), *PLACE])
    told = capsys.readouterr().out
    assert (code, told.split(":")[0]) == (0, "CLEAN")
    assert "20 vehicles" in told
    assert main(["audit", str(clean), "--used-in", "DE", *DAY]) == 4
    told = words(capsys.readouterr().out)
    assert told.startswith("NOT SETTLED")
    assert "workshop in not given NOT COVERED" in told
    assert "give --registered-in PLACE and --workshop PLACE" in told


def test_what_is_not_known_is_not_clean(clean: Path, tmp_path: Path, capsys: Said) -> None:
    blind = tmp_path / "blind.parquet"
    pl.read_parquet(clean).drop("tyre_tread_depth_main_grooves_mm").write_parquet(blind)
    assert main(["audit", str(blind), *PLACE]) == 4
    told = words(capsys.readouterr().out)
    assert told.startswith("NOT SETTLED")
    assert "0 with a fail" in told
    assert "[tyre_tread_depth_main_grooves_mm]" in told


def test_a_fleet_without_rows_is_not_clean(clean: Path, tmp_path: Path, capsys: Said) -> None:
    empty = tmp_path / "empty.parquet"
    pl.read_parquet(clean).head(0).write_parquet(empty)
    assert main(["audit", str(empty), *PLACE]) == 4
    assert "0 vehicles, 0 rows" in capsys.readouterr().out


# --- options ----------------------------------------------------------------------------------------


def test_each_row_is_judged_by_its_own_place_and_day(tmp_path: Path, capsys: Said) -> None:
    path = tmp_path / "many.parquet"
    made = synthetic_fleet(30, place=["DE", "AT"], seed=3).wheels
    made.write_parquet(path)
    code = main(["audit", str(path), "--by-row", "--by", "used_in"])
    told = words(capsys.readouterr().out)
    assert "2 rulebooks" in told
    assert "BY USED IN" in told
    lost = tmp_path / "lost.parquet"
    made.with_columns(law_place=None, law_day=None).write_parquet(lost)
    assert main(["audit", str(lost), "--by-row"]) == 4
    assert "30 not judged" in words(capsys.readouterr().out)
    again = main(["audit", str(lost), "--by-row", "--place", "DE", *DAY])
    assert again in (0, code, 4)
    assert "not judged" not in capsys.readouterr().out


def test_vehicles_stand_in_a_table_of_their_own(clean: Path, tmp_path: Path, capsys: Said) -> None:
    whole = pl.read_parquet(clean)
    of = [name for name in whole.columns if name.startswith("vehicle_")]
    vehicles, wheels = tmp_path / "vehicles.csv", tmp_path / "wheels.parquet"
    whole.select(of).unique(maintain_order=True).write_csv(vehicles)
    whole.drop(set(of) - {"vehicle_id"}).write_parquet(wheels)
    assert main(["audit", str(wheels), *PLACE]) == 4
    capsys.readouterr()
    assert main(["audit", str(wheels), *PLACE, "--vehicles", str(vehicles)]) == 0


def test_a_change_of_law_is_told_and_written_beside(fleet: Path, tmp_path: Path, capsys: Said) -> None:
    out = tmp_path / "out"
    assert main(["audit", str(fleet), *PLACE, "--compare", "2016-06-01", "--out", str(out)]) == 1
    table = pl.read_parquet(out / "compare.parquet")
    assert table.height > 0
    told = words(capsys.readouterr().out)
    head = f"UNDER THE LAW OF 2016-06-01 ({table.height} findings would be another"
    assert head in told
    rule, before, after, count = table.group_by("rule", "before", "after").len().row(0)
    assert f"{before or 'not in force'} -> {after or 'not in force'}: {count}" in told
    assert rule in told
    mark = json.loads((out / "run.json").read_text("utf-8"))
    assert mark["compared_with"] == "2016-06-01"
    assert mark["tables"]["compare.parquet"] == table.height
    assert mark["tables"]["wide.parquet"] == mark["rows"]
    # the next run, in another form, takes all of this one away
    assert main(["audit", str(fleet), *PLACE, "--csv", "--out", str(out)]) == 1
    assert {each.name for each in out.iterdir()} == {f"{name}.csv" for name in TABLES} | {"run.json"}
    assert pl.read_csv(out / "wide.csv").height == mark["rows"]


def test_a_page_is_written_whole(
    fleet: Path, tmp_path: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pages, "audit_report", lambda run, by: f"<p>{run.rows} {by[0]}</p>")
    page = tmp_path / "page.html"
    assert main(["audit", str(fleet), *PLACE, "--report", str(page)]) == 1
    assert page.read_text("utf-8").startswith("<p>2")
    assert [each.name for each in tmp_path.iterdir()] == ["page.html"]
    assert main(["audit", str(fleet), *PLACE, "--report", str(tmp_path / "no" / "page.html")]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_a_proposal_can_be_used(fleet: Path, tmp_path: Path, capsys: Said) -> None:
    renamed = tmp_path / "renamed.csv"
    names = {"vehicle_id": "Plate", "tyre_pressure": "Pressure"}
    pl.read_csv(fleet, infer_schema=False).rename(names).with_columns(Depot=pl.lit("north")).write_csv(
        renamed
    )
    assert main(["audit", "inspect", str(renamed)]) == 0
    proposed = capsys.readouterr().out
    assert {each.name: each.to for each in read_mapping(proposed).columns} == {
        "Plate": "vehicle_id",
        "Pressure": "tyre.pressure",
    }
    assert '# "Depot"' in proposed
    mapping = tmp_path / "mapping.toml"
    mapping.write_text(proposed)
    assert main(["audit", str(renamed), *PLACE, "--mapping", str(mapping)]) == 1


def test_help_tells_of_both(capsys: Said) -> None:
    assert main(["audit", "--help"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Usage: stemlore audit [OPTIONS] FLEET\n")
    assert "inspect  Propose" in told
    assert main(["audit", "inspect", "--help"]) == 0
    assert capsys.readouterr().out.startswith("Usage: stemlore audit inspect [OPTIONS] FILE\n")


@pytest.mark.parametrize(
    "options, told",
    [
        (("--place", "DE"), "Missing option '--on'"),
        ((*PLACE, "--csv"), "give --out DIR"),
        ((*PLACE, "--everything"), "give --out DIR"),
        ((*PLACE, "more"), "unexpected extra argument (more)"),
        ((*PLACE, "--inspect"), "No such option"),
        ((*PLACE, "--by", "colour"), "nothing of the fleet is called 'colour'"),
        ((*PLACE, "--compare", "yesterday"), "yesterday"),
        (("--place", " ", *DAY), "--place"),
    ],
)
def test_what_is_not_understood_is_told(
    fleet: Path, capsys: Said, options: tuple[str, ...], told: str
) -> None:
    assert main(["audit", str(fleet), *options]) == 2
    said = capsys.readouterr()
    assert told in said.err
    assert "Error:" not in said.err or "Usage:" in said.err
    assert said.out == ""


def test_a_table_that_cannot_be_read_is_told(tmp_path: Path, capsys: Said) -> None:
    bad = tmp_path / "bad.parquet"
    bad.write_bytes(b"PAR1")
    assert main(["audit", str(bad), *PLACE]) == 2
    assert "bad.parquet cannot be read" in capsys.readouterr().err
    assert main(["audit", "inspect", str(bad)]) == 2
    plain = tmp_path / "plain.csv"
    plain.write_text("colour\nred\n")
    assert main(["audit", str(plain), *PLACE]) == 2
    assert "no column" in capsys.readouterr().err


# --- a long run ---------------------------------------------------------------------------------------

LONG = """
import sys, time
import stemlore.audit._passes as passes
from stemlore.cli import main
plain = passes.Passes.judged
def slow(self, **options):
    for each in plain(self, **options):
        yield each
        sys.stderr.write("judged\\n"); sys.stderr.flush()
        if "--slowly" in sys.argv: time.sleep(30)
passes.Passes.judged = slow
sys.exit(main([each for each in sys.argv[1:] if each != "--slowly"]))
"""


def started(*arguments: Any) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", LONG, "audit", *map(str, arguments)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


@pytest.mark.skipif(os.name != "posix", reason="signals are others there")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_a_run_that_is_stopped_leaves_the_tables_of_before(
    clean: Path, fleet: Path, tmp_path: Path, number: signal.Signals
) -> None:
    out, fresh = tmp_path / "out", tmp_path / "fresh"
    assert main(["audit", str(clean), *PLACE, "--out", str(out)]) == 0
    before = {each.name: each.read_bytes() for each in out.iterdir()}
    for directory in (out, fresh):
        process = started(fleet, *PLACE, "--out", directory, "--slowly")
        assert process.stderr is not None
        assert process.stderr.readline() == "judged\n"  # the tables are open, and rows are in them
        time.sleep(0.2)
        process.send_signal(number)
        said = process.communicate(timeout=60)
        names = {each.name: each.read_bytes() for each in directory.iterdir()}
        if number == signal.SIGKILL:
            assert process.returncode == -9
            names = {name: data for name, data in names.items() if not name.startswith(".")}
        else:
            assert process.returncode == 130
            assert said == ("", "stemlore: interrupted\n")
        assert names == (before if directory == out else {})


@pytest.mark.skipif(os.name != "posix", reason="no such terminal there")
def test_how_far_it_is_is_shown_on_a_terminal_only(clean: Path, tmp_path: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    script = "import sys; from stemlore.cli import main; sys.exit(main(sys.argv[1:]))"
    words_ = [sys.executable, "-c", script, "audit", str(clean), *PLACE, "--out", str(tmp_path / "out")]
    done = subprocess.run(
        words_, stdout=subprocess.PIPE, stderr=theirs, env={**os.environ, "TERM": "xterm"}, timeout=120
    )
    os.close(theirs)
    shown = os.read(ours, 100_000).decode()
    os.close(ours)
    assert done.returncode == 0
    assert "judging" in shown
    rows = pl.read_parquet(clean).height
    assert f"of {rows} rows" in shown
    assert b"judging" not in done.stdout
