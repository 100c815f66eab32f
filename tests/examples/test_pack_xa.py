"""The example distribution of two packs: read where it lies, then really installed."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

import stemlore
from stemlore.cli import main
from stemlore.model import Assembly, Axle, Job, Position, Tyre, Valve, Vehicle
from stemlore.rules import Finding, Outcome, PackFolder, check, rulebook
from stemlore.testing import ConformanceCase, conformance_cases

EXAMPLE = Path(__file__).parents[2] / "examples" / "pack-xa"
XA = PackFolder(EXAMPLE / "src" / "stemlore_pack_xa")
XA_AB = PackFolder(EXAMPLE / "src" / "stemlore_pack_xa_ab")
OWN_PACKS = Path(__file__).parents[2] / "src" / "stemlore" / "packs"
OWN = sorted(file.parent.name for file in OWN_PACKS.glob("*/pack.toml"))

# --- where it lies -----------------------------------------------------------------------------


@pytest.mark.parametrize("case", [*conformance_cases(XA), *conformance_cases(XA_AB, also=[XA])], ids=str)
def test_it_satisfies_what_every_pack_must(case: ConformanceCase) -> None:
    case.check()


def test_the_command_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pack", "check", str(EXAMPLE)]) == 0
    assert capsys.readouterr().out.count("Nothing is wrong") == 2


def findings(job: Job, place: str, on: str) -> dict[str, Finding]:
    report = check(job, rulebook(place, on=on, also=[XA, XA_AB]))
    assert not report.faults
    return {each.rule: each for each in report.findings if str(each.subject) in ("vehicle", "axle 1 left")}


def car(tread: str, *, own: dict[str, Any] | None = None, **wheel: Any) -> Job:
    assemblies = tuple(
        Assembly(
            position=Position.parse(f"axle 1 {side}"), tyre=Tyre(tread_depth_main_grooves=tread), own=wheel
        )
        for side in ("left", "right")
    )
    axles = (Axle(number=1, fitment="single"),)
    return Job(vehicle=Vehicle(category="M1", axles=axles), assemblies=assemblies, own=own or {})


def test_a_province_stands_in_for_its_country_in_winter_alone() -> None:
    worn = car("2 mm")
    winter = findings(worn, "XA-AB", "2026-01-15")
    assert winter["xa_ab.tyre.winter_tread_depth"].outcome is Outcome.FAIL
    assert winter["xa.tyre.tread_depth"].outcome is Outcome.NOT_APPLICABLE
    summer = findings(worn, "XA-AB", "2026-07-15")
    assert summer["xa_ab.tyre.winter_tread_depth"].outcome is Outcome.NOT_APPLICABLE
    assert summer["xa.tyre.tread_depth"].outcome is Outcome.PASS
    assert "xa_ab.tyre.winter_tread_depth" not in findings(worn, "XA", "2026-01-15")


def test_its_law_stands_in_for_the_trades_practice() -> None:
    motorcycle = Job(
        vehicle=Vehicle(category="L", axles=(Axle(number=1, fitment="centre"),)),
        assemblies=(Assembly(position=Position.parse("axle 1 centre"), valve=Valve(cap="dust")),),
    )
    report = check(motorcycle, rulebook("XA", on="2026-01-15", also=[XA]))
    found = {each.rule: each.outcome for each in report.findings}
    assert found["xa.valve.sealing_cap"] is Outcome.FAIL
    assert found["world.valve.sealing_cap"] is Outcome.NOT_APPLICABLE
    elsewhere = check(motorcycle, rulebook("XB", on="2026-01-15", also=[XA])).findings
    assert {each.rule: each.outcome for each in elsewhere}["world.valve.sealing_cap"] is Outcome.FAIL


def test_its_own_field_is_read_with_its_unit_and_asked_for() -> None:
    tight = car("4 mm", own={"xa.chains_carried": True}, **{"xa.chain_clearance": "0.8 cm"})
    found = findings(tight, "XA", "2026-01-15")["xa.tyre.chain_clearance"]
    assert (found.outcome, found.measured, found.margin) == (Outcome.FAIL, 8.0, -1.0)
    asked = check(car("4 mm"), rulebook("XA", on="2026-01-15", also=[XA])).next_readings
    assert "own.xa.chains_carried" in {each.field for each in asked}


@pytest.mark.skipif(find_spec("sphinx") is None or find_spec("furo") is None, reason="needs the extra 'docs'")
def test_its_pages_are_built_without_a_warning(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "sphinx", "-q", "-n", "-W", "-b", "html", "-d", str(tmp_path / "trees")]
    done = subprocess.run(
        [*command, str(EXAMPLE / "docs"), str(tmp_path / "html")],
        capture_output=True,
        text=True,
        env=surround(),
    )
    assert done.returncode == 0, done.stderr
    text = re.sub(r"<[^>]+>", "", (tmp_path / "html" / "index.html").read_text("utf-8"))
    assert "Its least tread depth on 1 January 2026 is 1.6 mm" in " ".join(text.split())
    assert "xa_ab.tyre.winter_tread_depth" in text


# --- installed ---------------------------------------------------------------------------------

installs = pytest.mark.skipif(
    find_spec("hatchling") is None or find_spec("pip") is None,
    reason="builds without isolation: needs hatchling",
)


def surround(*paths: Path, **more: str) -> dict[str, str]:
    """Return an environment in which these folders and this library are on the path."""
    ours = Path(stemlore.__file__).parents[1]
    clean = {name: value for name, value in os.environ.items() if name != "STEMLORE_NO_PLUGINS"}
    return clean | {"PYTHONPATH": os.pathsep.join(map(str, (*paths, ours)))} | more


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Install the example as anyone would, into a folder that is thrown away."""
    root = tmp_path_factory.mktemp("installed")
    shutil.copytree(EXAMPLE, root / "source", ignore=shutil.ignore_patterns("__pycache__", "_build"))
    pip = [sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check", "--no-index"]
    done = subprocess.run(
        [*pip, "--no-deps", "--no-build-isolation", "--target", str(root / "site"), str(root / "source")],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return root / "site"


LOOK = """
import json
from stemlore.rules import discover, rulebook
found = discover()
book = rulebook("XA-AB", on="2026-01-15")
told = {
    "packs": {name: [each.distribution, each.version, each.place] for name, each in found.packs.items()},
    "failed": [[each.name, each.distribution, each.error] for each in found.failed],
    "covered": book.coverage.complete,
    "rules": sorted(name for name in book.rules if name.startswith("xa")),
}
print("told:" + json.dumps(told))
"""


def look(*paths: Path, **more: str) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-c", LOOK], capture_output=True, text=True, env=surround(*paths, **more)
    )
    assert done.returncode == 0, done.stderr
    told = next(line for line in done.stdout.splitlines() if line.startswith("told:"))
    return json.loads(told.removeprefix("told:"))


@installs
def test_once_installed_it_is_found_with_its_distribution_and_version(installed: Path) -> None:
    told = look(installed)
    assert told["packs"]["xa"] == ["stemlore-pack-xa", "2026.1", "XA"]
    assert told["packs"]["xa_ab"] == ["stemlore-pack-xa", "2026.1", "XA-AB"]
    assert told["covered"]
    assert told["rules"] == sorted([*XA.load().rules, *XA_AB.load().rules])


@installs
def test_plugins_switched_off_leave_ours_alone(installed: Path) -> None:
    told = look(installed, STEMLORE_NO_PLUGINS="1")
    assert sorted(told["packs"]) == OWN
    assert not told["covered"]
    assert told["rules"] == []


@installs
def test_every_file_of_the_packs_is_installed(installed: Path) -> None:
    for folder in (XA.path, XA_AB.path):
        there = {path.relative_to(folder) for path in folder.rglob("*") if path.is_file()}
        wanted = {path for path in there if "__pycache__" not in path.parts}
        assert all((installed / folder.name / path).is_file() for path in wanted)
        assert PackFolder(installed / folder.name).load().fingerprint == PackFolder(folder).load().fingerprint


# --- beside a broken one -----------------------------------------------------------------------

FOLDER = "from stemlore.rules import pack_folder\nPACK = pack_folder(__file__)\n"
BROKEN = {
    "raises": ("raise OSError('no disk')\n", "OSError: no disk"),
    "exits": ("print('loading'); raise SystemExit(3)\n", "SystemExit: 3"),
    "recurses": ("def again(): again()\nagain()\n", "RecursionError"),
    "is-empty": (FOLDER, "there is no such file"),
}


@pytest.fixture
def beside(tmp_path: Path) -> Callable[[str], Path]:
    """Install by hand a second distribution, stemlore-pack-xb, that is broken."""

    def install(code: str) -> Path:
        site = tmp_path / "site"
        (site / "stemlore_pack_xb").mkdir(parents=True)
        (site / "stemlore_pack_xb" / "__init__.py").write_text(code)
        info = site / "stemlore_pack_xb-1.0.dist-info"
        info.mkdir()
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: stemlore-pack-xb\nVersion: 1.0\n")
        (info / "entry_points.txt").write_text("[stemlore.packs]\nxb = stemlore_pack_xb:PACK\n")
        return site

    return install


@installs
@pytest.mark.parametrize("kind", BROKEN)
def test_a_broken_distribution_beside_it_is_reported_and_harmless(
    installed: Path, beside: Callable[[str], Path], kind: str
) -> None:
    code, why = BROKEN[kind]
    told = look(installed, beside(code))
    (failed,) = told["failed"]
    assert failed[:2] == ["xb", "stemlore-pack-xb"]
    assert why in failed[2]
    assert told["covered"]
    assert sorted(told["packs"]) == sorted([*OWN, "xa", "xa_ab"])


ASK = """
from stemlore.errors import PackLoadError
from stemlore.rules import rulebook
try:
    rulebook("XB", on="2026-01-15")
except PackLoadError as error:
    print(f"{error} | {type(error.__cause__).__name__}: {error.__cause__}")
"""


def test_broken_and_asked_for_it_is_an_error_with_its_cause(beside: Callable[[str], Path]) -> None:
    site = beside(BROKEN["raises"][0])
    done = subprocess.run([sys.executable, "-c", ASK], capture_output=True, text=True, env=surround(site))
    assert done.stderr == ""
    assert done.stdout.startswith("pack 'xb' cannot be loaded: OSError: no disk (from stemlore-pack-xb)")
    assert done.stdout.endswith("| OSError: no disk\n")


def test_parents_in_a_circle_are_an_error_where_they_are_asked_for_and_harmless_elsewhere(
    beside: Callable[[str], Path],
) -> None:
    site = beside(FOLDER)
    (site / "stemlore_pack_xb" / "pack.toml").write_text(
        'id = "xb"\ntitle = "T"\nversion = "1"\nplace = "XB"\napi = 1\nparents = ["xb"]\n'
    )
    (site / "stemlore_pack_xb" / "sources.toml").write_text("")
    (site / "stemlore_pack_xb" / "rules.toml").write_text(
        '[[rule]]\nid = "xb.valve.cap"\ntitle = "T"\nshape = "forbidden"\nfield = "valve.cap"\nlimit = "none"\n'  # noqa: E501
        'tie = "used_in"\nbasis = "practice"\ngravity = "advise"\ncite = { grade = "practice", at = "trade" }\n'  # noqa: E501
    )
    done = subprocess.run([sys.executable, "-c", ASK], capture_output=True, text=True, env=surround(site))
    assert "its parents run in a circle: xb > xb" in done.stdout
    assert look(site)["failed"] == []
