"""The command that checks a job, as it is typed."""

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

from stemlore.cli import main
from stemlore.errors import MissingExtraError

pytestmark = pytest.mark.usefixtures("invented")

ON = ("--on", "2026-11-25")
WHEELS = ("axle 1 left", "axle 1 right", "axle 2 left", "axle 2 right")


def write(
    folder: Path, *treads: str | None, pressure: str | None = "2.5 bar", works: bool | None = True
) -> str:
    file = folder / "job.json"
    document: dict[str, Any] = {
        "schema": "stemlore.job/1",
        "vehicle": {
            "axles": [{"number": 1, "fitment": "single"}, {"number": 2, "fitment": "single"}],
            "monitoring_works": works,
        },
        "assemblies": [
            {"position": at, "tyre": {"tread_depth_main_grooves": tread, "pressure": pressure}}
            for at, tread in zip(WHEELS, treads, strict=False)
        ],
    }
    file.write_text(json.dumps(document), "utf-8")
    return str(file)


GOOD = ("4 mm", "4 mm", "5 mm", "5 mm")
WORN = ("1.2 mm", "1.2 mm", "5 mm", None)


def test_a_clean_job_ends_with_zero(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", write(tmp_path, *GOOD), "--place", "XA", *ON]) == 0
    assert capsys.readouterr().out.startswith("CLEAN")


def test_what_holds_the_vehicle_ends_with_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", write(tmp_path, *WORN), "--place", "XA", *ON]) == 1
    assert capsys.readouterr().out.startswith("HOLD: the vehicle does not leave.\n")


def test_what_is_not_settled_ends_with_four(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = write(tmp_path, "4 mm", "4 mm", "4 mm")
    assert main(["check", job, "--place", "XA", *ON]) == 4
    assert capsys.readouterr().out.startswith("NOT SETTLED")


def test_a_failing_advice_alone_leaves_it_clean(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", write(tmp_path, *GOOD, works=None), "--place", "XA", *ON]) == 0
    assert "whether the tyre pressure monitoring works" in capsys.readouterr().out


def test_a_tie_not_given_is_never_clean_and_says_what_closes_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", write(tmp_path, *GOOD), "--used-in", "XA", *ON]) == 4
    out = " ".join(capsys.readouterr().out.split())
    assert "registered in not given" in out
    assert "give --registered-in PLACE and --workshop PLACE; --place XA gives all three" in out


def test_a_place_without_a_pack_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", write(tmp_path, *GOOD), "--place", "XA", "--used-in", "XC", *ON]) == 4
    assert "there is no pack for XC" in " ".join(capsys.readouterr().out.split())


def test_a_rule_that_breaks_ends_with_three(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from stemlore.cli import _app
    from stemlore.rules import Report, RuleFault, Subject, check

    def faulty(*of: Any) -> Report:
        report = check(*of)
        report.faults = (RuleFault(rule="xa.tyre.x", subject=Subject("vehicle"), error="ValueError: no"),)
        return report

    monkeypatch.setattr(_app, "check", faulty)
    assert main(["check", write(tmp_path, *GOOD), "--place", "XA", *ON]) == 3
    out = capsys.readouterr().out
    assert "RULES THAT BROKE" in out
    assert "xa.tyre.x on vehicle: ValueError: no" in out
    # a failure that is certain is worth more than a rule that broke
    assert main(["check", write(tmp_path, *WORN), "--place", "XA", *ON]) == 1


def test_the_page_has_its_parts_in_order(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = write(tmp_path, *WORN, pressure="66 psi", works=False)
    main(["check", job, "--place", "XA", *ON])
    out = " ".join(capsys.readouterr().out.split())
    parts = [
        "HOLD",
        "THE VEHICLE DOES NOT LEAVE",
        "TO PUT RIGHT",
        "MEASURE OR LOOK UP NEXT",
        "PLACES",
        "SOURCES",
    ]
    found = [out.index(part) for part in [*parts, "no statement of roadworthiness"]]
    assert found == sorted(found)


def test_one_block_names_all_wheels_and_all_that_is_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", write(tmp_path, *WORN), "--place", "XA", *ON])
    out = " ".join(capsys.readouterr().out.split())
    assert (
        "axle 1 left, axle 1 right tread depth in the main grooves 1.2 mm; at least 1.6 mm; margin -0.4 mm"
        in out
    )
    assert out.count("Do: Renew the tyre.") == 1
    assert "Caution: Let the air out before the bead is broken." in out
    assert "XA, Road Act 12/2000, art. 12 [text read], in force from 2000-01-01 to 2029-12-31" in out
    assert "tread depth in the main grooves, in mm: axle 2 right" in out


def test_all_wheels_are_named_in_one_word(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", write(tmp_path, *["1 mm"] * 4, pressure=None), "--place", "XA", *ON])
    out = " ".join(capsys.readouterr().out.split())
    assert "all 4 wheels tread depth in the main grooves 1 mm" in out
    assert "inflation pressure (gauge), in kPa: all 4 wheels" in out


def test_units_change_what_is_printed_but_not_the_verdict(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = write(tmp_path, *GOOD, pressure="66 psi")
    assert main(["check", job, "--place", "XA", *ON, "--units", "psi,in"]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert "66 psi; at most" in out
    assert "(65 psi / 450 kPa)" in out
    assert main(["check", job, "--place", "XA", *ON, "--units", "furlongz"]) == 2


def test_all_lists_what_passes_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = write(tmp_path, *GOOD)
    main(["check", job, "--place", "XA", *ON])
    assert "PASSED" not in capsys.readouterr().out
    main(["check", job, "--place", "XA", *ON, "--all"])
    assert "axle 2 left, axle 2 right: tread depth in the main grooves 5 mm" in capsys.readouterr().out


@pytest.mark.parametrize("width", [40, 80, 120])
def test_no_line_is_too_wide_and_nothing_is_cut(
    width: int, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.delenv("FORCE_COLOR", raising=False)
    main(["check", write(tmp_path, *WORN, pressure="66 psi"), "--place", "XA", *ON, "--all"])
    out = capsys.readouterr().out
    assert all(len(line) <= width for line in out.splitlines())
    assert not re.search(r"…|\.\.\.|\x1b| $", out, re.MULTILINE)
    assert "XA, Road Act 12/2000, art. 12 [text read]" in " ".join(out.split())


def test_json_is_the_full_form(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = write(tmp_path, *WORN)
    assert main(["check", job, "--place", "XA", *ON, "--json"]) == 1
    full = json.loads(capsys.readouterr().out)
    assert (full["form"], full["is_clean"], full["counts"]["fail"]) == ("full", False, 2)
    assert main(["check", job, "--place", "XA", *ON, "--compact"]) == 1
    assert json.loads(capsys.readouterr().out)["form"] == "compact"


def test_a_job_comes_from_standard_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    body = Path(write(tmp_path, *GOOD)).read_bytes()
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(body)))
    assert main(["check", "-", "--place", "XA", *ON]) == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--place", "XA"], "Nothing reads today's date"),
        (["--place", "XA", "--on", "tomorrow"], "is not a day"),
        (["--place", "Germany", *ON], "unknown place 'Germany'"),
        (["--place", "XA", "--used-in", "", *ON], "--used-in"),
        (["--place", "XB", *ON], "broken"),
        (["--place", "XA", "--on", "1999-12-31"], "2000-01-01"),
        (["--plac", "XA", *ON], "No such option"),
    ],
)
def test_bad_usage_ends_with_two_and_says_why(
    words: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", write(tmp_path, *GOOD), *words]) == 2
    printed = capsys.readouterr()
    assert told in printed.err
    assert printed.out == ""


def test_a_faulty_job_ends_with_two_and_all_its_faults(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = write(tmp_path, "4", "4 bar")
    assert main(["check", job, "--place", "XA", *ON]) == 2
    err = capsys.readouterr().err
    assert "assemblies[0].tyre.tread_depth_main_grooves" in err
    assert "assemblies[1].tyre.tread_depth_main_grooves" in err
    assert main(["check", str(tmp_path / "none.json"), "--place", "XA", *ON]) == 2
    assert "cannot be read" in capsys.readouterr().err


def test_an_interrupt_ends_without_a_traceback(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from stemlore.cli import _app

    def interrupted(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(_app, "check", interrupted)
    assert main(["check", write(tmp_path, *GOOD), "--place", "XA", *ON]) == 130


# --- as a process ------------------------------------------------------------------------------

_RUN = "import sys; from stemlore.cli import main; sys.exit(main())"


def process(*words: str, **options: Any) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", _RUN, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options
    )


def test_a_reader_that_goes_away_is_no_error() -> None:
    read, written = os.pipe()
    os.close(read)
    run = subprocess.run(
        [sys.executable, "-c", _RUN, "table", "load_index", "--csv"],
        stdout=written,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(written)
    assert (run.returncode, run.stderr) == (141, b"")


def test_an_output_that_knows_only_ascii_gets_the_page(tmp_path: Path) -> None:
    with process("table", "torques", env={**os.environ, "PYTHONIOENCODING": "ascii"}) as run:
        out, err = run.communicate()
    assert run.returncode == 0, err
    out.decode("ascii")


def test_without_the_extra_it_says_what_to_install() -> None:
    code = f"import sys; sys.modules['rich'] = None; {_RUN.removeprefix('import sys; ')}"
    run = subprocess.run([sys.executable, "-c", code, "packs"], capture_output=True, text=True, check=False)
    assert run.returncode == 2
    assert str(MissingExtraError("the command line", extra="cli")) in run.stderr
    assert "Traceback" not in run.stderr
