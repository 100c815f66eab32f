"""The command that plans a job, as it is typed."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from stemlore import plan_from_json, plan_work, read_job, rulebook
from stemlore.cli import main
from stemlore.workplan.plan import MAKERS_FIRST

WORKED = Path(__file__).parents[1] / "workplan" / "worked"
PLACE = ("--place", "DE", "--on", "2026-11-25")
CAR = str(WORKED / "car_alloy.json")
TRUCK = str(WORKED / "heavy_truck_dual.json")


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "110")


def shelf(folder: Path, *rows: str, head: str = "code,kind,table_code,length_with_cap,stock,price") -> str:
    file = folder / "shelf.csv"
    file.write_text("\n".join((head, *rows)), "utf-8")
    return str(file)


FITS = "A1,high_pressure_snap_in,TR600HP,40 mm,12,2.10"
LONG = "A2,high_pressure_snap_in,TR602HP,55 mm,3,2.40"


def test_a_complete_plan_ends_with_zero(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", CAR, *PLACE, "--catalogue", shelf(tmp_path, FITS, LONG)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("COMPLETE: ")
    assert "OPEN" not in out
    assert "Fit: A1 (stock 12, price 2.10)" in out
    assert re.search(r"Not: A2: length of the valve with its cap 55 mm, at most 46 mm, margin -9 mm\s", out)
    assert "[world.valve.protrusion]" in out


def test_what_is_open_ends_with_one_and_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", TRUCK, *PLACE]) == 1
    out = capsys.readouterr().out
    assert out.startswith("NOT COMPLETE: ")
    tail = out[out.index("OPEN (") :]
    assert "Torque of the wheel fixings" in tail
    assert "greatest torque that the maker gives for the wheel fixings" in " ".join(tail.split())
    known, _, rest = out.partition("Torque of the wheel fixings, all 6 wheels: the maker's figure is needed")
    assert "Told by: " in known
    assert rest.split()[0] == "Rules:"  # nobody tells what is not known


def test_a_stop_ends_with_one_and_stands_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document: dict[str, Any] = json.loads(Path(CAR).read_text("utf-8"))
    document["assemblies"][0]["condition"] = {"wheel_cracked": True}
    file = tmp_path / "job.json"
    file.write_text(json.dumps(document), "utf-8")
    assert main(["plan", str(file), *PLACE, "--catalogue", shelf(tmp_path, FITS)]) == 1
    out = capsys.readouterr().out
    assert out.startswith("STOP: ")
    assert out.index("STOP: Do not inflate") < out.index("Instructions of the makers") < out.index("STEPS")
    assert "Cold inflation pressure, axle 1 right: 250 kPa" in out
    assert "Cold inflation pressure, axle 1: " not in out


def test_the_parts_of_the_page_come_in_the_order_of_reading(capsys: pytest.CaptureFixture[str]) -> None:
    main(["plan", CAR, *PLACE])
    out = capsys.readouterr().out
    heads = ["KNOW FIRST", "VALVE AND SENSOR", "RENEW", "SET", "STEPS (", "OPEN ("]
    places = [out.index(f"\n{head}") for head in heads]
    assert places == sorted(places)
    assert " ".join(MAKERS_FIRST.split()) in " ".join(out.split())


def test_steps_are_numbered_with_values_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    main(["plan", CAR, *PLACE])
    out = capsys.readouterr().out
    steps = plan_work(read_job(Path(CAR)), rulebook("DE", on="2026-11-25")).steps
    numbers = [int(each) for each in re.findall(r"^ *(\d+)\. ", out, re.M)]
    assert numbers == list(range(1, len(steps) + 1))
    plain = " ".join(out.split())
    for step in steps:
        assert step.title in plain
        assert f"Why: {step.reason}" in plain
    assert "Pressure while the beads seat, all 4 wheels: at most 275 kPa" in plain
    assert "Caution: Chock the wheels" in plain


def test_no_line_is_wider_than_the_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "72")
    main(["plan", TRUCK, *PLACE])
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 72


def test_values_come_in_the_units_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    main(["plan", CAR, *PLACE, "--units", "bar,lbf.ft"])
    out = capsys.readouterr().out
    assert "Cold inflation pressure, axle 1: 2.5 bar" in out
    assert "Torque of the wheel fixings, all 4 wheels: 88.51 lbf·ft" in out
    assert "at most 2.75 bar" in out


@pytest.mark.parametrize(("load", "shown"), [("partial", "230 kPa"), ("full", "280 kPa")])
def test_the_load_chooses_the_placards_pressure(
    load: str, shown: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["plan", CAR, *PLACE, "--load", load])
    out = capsys.readouterr().out
    assert re.search(rf"Cold inflation pressure, .*: {shown}\n", out)
    assert f"Told by: placard, {load} load" in out


def test_json_is_the_plan_that_the_library_writes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", CAR, *PLACE, "--json", "--catalogue", shelf(tmp_path, FITS, LONG)]) == 0
    record = plan_from_json(capsys.readouterr().out)
    assert record.is_complete
    assert record.choices[0].best == "A1"
    assert record.choices[0].excluded[0].carried == {"stock": "3", "price": "2.40"}


def test_a_job_comes_from_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    given = io.TextIOWrapper(io.BytesIO(Path(CAR).read_bytes()))
    monkeypatch.setattr("sys.stdin", given)
    assert main(["plan", "-", *PLACE]) == 1
    assert "STEPS (" in capsys.readouterr().out


# --- the sheet -----------------------------------------------------------------------------------


def test_the_sheet_is_written_beside_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "sheet.html"
    assert main(["plan", CAR, *PLACE, "--sheet", str(target), "--no-figures", "--units", "bar"]) == 1
    assert "STEPS (" in capsys.readouterr().out
    text = target.read_text("utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert text.rstrip().endswith("</html>")
    assert "2.5 bar" in text
    assert "<svg" not in text
    assert [each.name for each in tmp_path.iterdir()] == ["sheet.html"]


def test_a_sheet_that_cannot_be_written_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "no folder" / "sheet.html"
    assert main(["plan", CAR, *PLACE, "--sheet", str(target)]) == 2
    error = capsys.readouterr().err
    assert "cannot be written" in error
    assert "Traceback" not in error


def test_the_sheet_without_its_extra_says_what_to_install() -> None:
    code = (
        "import sys; sys.modules['jinja2'] = None\nfrom stemlore.cli import main\n"
        f"sys.exit(main(['plan', {CAR!r}, *{PLACE!r}, '--sheet', 'x.html']))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert run.returncode == 2
    assert "pip install 'stemlore[pages]'" in run.stderr
    assert not Path("x.html").exists()


# --- bad use -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([CAR, "--place", "DE"], "Missing option '--on'"),
        ([CAR, *PLACE, "--load", "half"], "'half' is not one of"),
        ([CAR, *PLACE, "--units", "bananas"], "bananas"),
        ([CAR, *PLACE, "--catalogue", "nothing.csv"], "does not exist"),
        (["nothing.json", *PLACE], "cannot be read"),
        ([CAR, "--place", "nowhere", "--on", "2026-11-25"], "nowhere"),
    ],
)
def test_bad_use_ends_with_two(words: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", *words]) == 2
    captured = capsys.readouterr()
    assert told in captured.err
    assert captured.out == ""


def test_a_list_with_a_fault_tells_its_row(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", CAR, *PLACE, "--catalogue", shelf(tmp_path, FITS, "A3,glued,,,,")]) == 2
    assert "row 2" in capsys.readouterr().err


def test_a_list_in_another_encoding_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "shelf.csv"
    file.write_bytes("code,kind\nVentil für Pkw,snap_in\n".encode("latin-1"))
    assert main(["plan", CAR, *PLACE, "--catalogue", str(file)]) == 2
    assert "cannot be read as CSV in UTF-8" in capsys.readouterr().err


def test_the_schema_of_a_plan_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "plan"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == "stemlore.plan/1"
    assert main(["schema", "plan", "--compact"]) == 2


def test_a_check_does_not_load_the_planning() -> None:
    code = (
        "import sys, stemlore\nstemlore.read_job\nimport stemlore.cli._app\n"
        "print('stemlore.workplan.planning' in sys.modules, 'jinja2' in sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=dict(os.environ)
    )
    assert run.stdout.strip() == "False False"
