"""The commands that begin a pack and check one that is being written."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
import venv
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import pytest

import stemlore
from stemlore.cli import main
from stemlore.rules import PackFolder
from stemlore.testing import conformance_cases

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command; return its code, what it prints on one line, and its errors."""

    def run(*words: object) -> tuple[int, str, str]:
        code = main([str(word) for word in words])
        caught = capsys.readouterr()
        return code, " ".join(caught.out.split()), " ".join(caught.err.split())

    return run


@pytest.fixture
def begun(run: Run, tmp_path: Path) -> Path:
    """Begin a pack of XA; return where it lies."""
    assert run("pack", "new", "XA", tmp_path / "begun")[0] == 0
    return tmp_path / "begun"


def alter(folder: Path, name: str, old: str, new: str) -> None:
    """Exchange a text of the pack begun for XA."""
    path = folder / "src" / "stemlore_pack_xa" / name
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


# --- begin -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "module", "place"),
    [
        ("XA", "stemlore_pack_xa", "XA"),
        ("xa-7", "stemlore_pack_xa_7", "XA-7"),
        ("PT", "stemlore_pack_pt", "PT"),
        ("US-NV", "stemlore_pack_us_nv", "US-NV"),
        ("PT-11", "stemlore_pack_pt_11", "PT-11"),
    ],
)
def test_what_is_begun_has_nothing_wrong_and_says_what_to_replace(
    run: Run, tmp_path: Path, code: str, module: str, place: str
) -> None:
    where = tmp_path / "deep" / "pack"
    told = run("pack", "new", code, where)
    assert told[0] == 0
    assert f"Wrote {module.replace('_', '-')} into" in told[1]
    folder = PackFolder(where / "src" / module)
    assert folder.load().place == place
    for case in conformance_cases(folder):
        case.check()
    checked = run("pack", "check", where)
    assert checked[0] == 0, checked[1]
    assert "Nothing is wrong: 1 rule" in checked[1]
    assert "rules.toml:1: replace it." in checked[1]


def test_its_project_names_the_distribution_and_the_entry_point(begun: Path) -> None:
    project = tomllib.loads((begun / "pyproject.toml").read_text("utf-8"))
    assert project["project"]["name"] == "stemlore-pack-xa"
    assert project["project"]["entry-points"] == {"stemlore.packs": {"xa": "stemlore_pack_xa:PACK"}}
    assert project["build-system"]["build-backend"] == "hatchling.build"


@pytest.mark.parametrize(("code", "parents"), [("US-NV", ["us"]), ("PT-11", []), ("XA", [])])
def test_the_country_is_a_parent_where_it_has_a_pack(
    run: Run, tmp_path: Path, code: str, parents: list[str]
) -> None:
    run("pack", "new", code, tmp_path / "pack")
    (head,) = (tmp_path / "pack").glob("src/*/pack.toml")
    assert [each.id for each in PackFolder(head.parent).load().parents] == parents


@pytest.mark.parametrize("code", ["PT", "US-NV"])
def test_no_figure_is_invented_for_a_real_place(run: Run, tmp_path: Path, code: str) -> None:
    run("pack", "new", code, tmp_path / "pack")
    (head,) = (tmp_path / "pack").glob("src/*/pack.toml")
    pack = PackFolder(head.parent).load()
    assert (dict(pack.parameters), dict(pack.sources)) == ({}, {})
    assert {str(pack.citation(rule.cite).grade) for rule in pack.rules.values()} == {"practice"}
    # what stands there to be filled in is commented, without a figure or a day
    for name in ("sources.toml", "parameters/tread.toml"):
        text = (head.parent / name).read_text("utf-8")
        assert all(line.startswith("#") for line in text.splitlines())
        assert re.search(r"\d{4}-\d\d|\d mm", text) is None


def test_nothing_is_overwritten(run: Run, begun: Path, tmp_path: Path) -> None:
    before = {path: path.read_bytes() for path in begun.rglob("*") if path.is_file()}
    code, _, err = run("pack", "new", "XB", begun)
    assert (code, "is there and not empty; nothing is overwritten" in err) == (2, True)
    assert {path: path.read_bytes() for path in begun.rglob("*") if path.is_file()} == before
    (tmp_path / "file").write_text("")
    assert run("pack", "new", "XB", tmp_path / "file")[0] == 2
    (tmp_path / "empty").mkdir()
    assert run("pack", "new", "XB", tmp_path / "empty")[0] == 0


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("DE", "DE has the pack 'de' already, from stemlore"),
        ("EU", "unknown place 'EU'"),
        ("world", "unknown place 'world'"),
        ("UK", "the United Kingdom is GB"),
        ("Xanadu", "unknown place 'Xanadu'"),
        ("../XA", "unknown place '../XA'"),
    ],
)
def test_a_place_that_takes_no_pack_ends_with_two(run: Run, tmp_path: Path, code: str, why: str) -> None:
    ended, _, err = run("pack", "new", code, tmp_path / "pack")
    assert ended == 2
    assert why in err
    assert not (tmp_path / "pack").exists()


# --- check -------------------------------------------------------------------------------------


def test_everything_wrong_is_told_at_once_with_file_line_and_key(run: Run, begun: Path) -> None:
    alter(begun, "pack.toml", "api = 1", "api = 7")
    alter(begun, "sources.toml", 'issuer = "XA"\n', "")
    alter(begun, "parameters/tread.toml", 'unit = "mm"\n', "")
    alter(begun, "rules.toml", '"at_least"', '"at_leest"')
    alter(begun, "cases.toml", 'expect = "fail"', 'expect = "fails"')
    (begun / "src" / "stemlore_pack_xa" / "released.toml").write_text("x = 1\n")
    code, out, _ = run("pack", "check", begun)
    assert code == 1
    assert "a pack that cannot be read 6 things are wrong:" in out
    for told in (
        "pack.toml:5: api: is 7; this stemlore reads 1",
        "sources.toml:3: road-act.issuer: must be given",
        "parameters/tread.toml:3: min_depth.unit: a number must have a unit",
        "rules.toml:3: xa.tyre.tread_depth: unknown shape 'at_leest' (did you mean at_least?)",
        "cases.toml:13: case[1] xa.tyre.tread_depth: expect: 'fails' is not one",
        "released.toml: x: is not a table with a list of rule ids",
    ):
        assert told in out, told


def test_what_a_pack_does_not_satisfy_is_told_with_what_to_do(run: Run, begun: Path) -> None:
    alter(begun, "cases.toml", '"1.5 mm" }\nexpect = "fail"', '"1.7 mm" }\nexpect = "fail"')
    alter(begun, "sources.toml", "# EXAMPLE", '[spare]\ntitle = "T"\nissuer = "I"\ngrade = "read"\n# EXAMPLE')
    code, out, _ = run("pack", "check", begun)
    assert code == 1
    assert "axle 1 left: pass" in out
    assert "sources.toml [spare]: nothing rests on it; cite it, or take it out" in out


def test_the_folder_of_the_pack_alone_can_be_checked(run: Run, begun: Path) -> None:
    code, out, _ = run("pack", "check", begun / "src" / "stemlore_pack_xa")
    assert (code, "Nothing is wrong" in out) == (0, True)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ('xa = "stem', 'xb = "stem', "no entry point 'xa' in the group stemlore.packs"),
        ("stemlore.packs", "stemlore.pack", "no entry point 'xa' in the group stemlore.packs"),
        ("pack_xa:PACK", "pack_xb:PACK", "names the module stemlore_pack_xb, but the pack lies in"),
        ("[project]", "[project", "pyproject.toml: cannot be read"),
    ],
)
def test_what_keeps_it_from_being_found_is_told(run: Run, begun: Path, old: str, new: str, why: str) -> None:
    project = begun / "pyproject.toml"
    project.write_text(project.read_text("utf-8").replace(old, new, 1), "utf-8")
    code, out, _ = run("pack", "check", begun)
    assert code == 1
    assert why in out


def test_a_module_without_its_file_is_told(run: Run, begun: Path) -> None:
    (begun / "src" / "stemlore_pack_xa" / "__init__.py").unlink()
    code, out, _ = run("pack", "check", begun)
    assert code == 1
    assert "stemlore_pack_xa/__init__.py: there is no such file; write PACK = pack_folder(__file__)" in out


def test_packs_beside_each_other_know_each_other(run: Run, begun: Path, tmp_path: Path) -> None:
    run("pack", "new", "XA-7", tmp_path / "below")
    shutil.move(tmp_path / "below" / "src" / "stemlore_pack_xa_7", begun / "src")
    head = begun / "src" / "stemlore_pack_xa_7" / "pack.toml"
    head.write_text(
        re.sub(r"^# the rules of.*$", 'parents = ["xa"]', head.read_text("utf-8"), flags=re.M), "utf-8"
    )
    project = begun / "pyproject.toml"
    points = 'xa = "stemlore_pack_xa:PACK"\nxa_7 = "stemlore_pack_xa_7:PACK"'
    project.write_text(project.read_text("utf-8").replace('xa = "stemlore_pack_xa:PACK"', points), "utf-8")
    code, out, _ = run("pack", "check", begun)
    assert code == 0, out
    assert out.count("Nothing is wrong") == 2


def test_python_that_breaks_ends_in_a_line(run: Run, begun: Path) -> None:
    rules = begun / "src" / "stemlore_pack_xa" / "rules.py"
    rules.write_text("import a_module_that_is_not_there\n", "utf-8")
    code, out, _ = run("pack", "check", begun)
    assert code == 1
    assert "rules.py:1: ModuleNotFoundError" in out


def test_where_there_is_no_pack_it_ends_with_two(run: Run, tmp_path: Path) -> None:
    code, _, err = run("pack", "check", tmp_path)
    assert (code, "there is no pack.toml in" in err) == (2, True)
    assert run("pack", "check", tmp_path / "nowhere")[0] == 2
    assert run("pack")[0] == 2


def test_nothing_is_left_behind_by_a_check(run: Run, begun: Path) -> None:
    before = {path for path in begun.rglob("*") if "__pycache__" not in path.parts}
    run("pack", "check", begun)
    assert {path for path in begun.rglob("*") if "__pycache__" not in path.parts} == before


def test_the_pack_of_the_how_to_page_is_begun_and_has_nothing_wrong(run: Run, begun: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "howto" / "new_pack.md").read_text("utf-8")
    for name, body in re.findall(r"```\{code-block\} toml\n:caption: (\S+)\n\n(.*?)```", page, re.S):
        (begun / "src" / "stemlore_pack_xa" / name).write_text(body, "utf-8")
    code, out, _ = run("pack", "check", begun)
    assert code == 0, out
    assert "Nothing is wrong: 3 rules, 2 parameters, 1 source" in out
    (told,) = re.findall(r"^rules.toml:\d+: (.*)$", page, re.M)
    alter(begun, "rules.toml", '"forbidden"', '"forbiden"')
    assert told in run("pack", "check", begun)[1]
    # the tree that the page draws is what is written
    (tree,) = re.findall(r"^pack-xa/\n(.*?)```", page, re.S | re.M)
    drawn = {line.split()[0].rstrip("/") for line in tree.splitlines()}
    assert {path.name for path in begun.rglob("*")} >= {Path(name).name for name in drawn}


# --- installed ---------------------------------------------------------------------------------


def test_its_own_tests_pass(begun: Path) -> None:
    ours = Path(stemlore.__file__).parents[1]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"],
        cwd=begun,
        env=os.environ | {"PYTHONPATH": str(ours)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.slow
@pytest.mark.skipif(find_spec("hatchling") is None, reason="builds without isolation: needs hatchling")
def test_it_is_installed_into_an_environment_and_found(begun: Path, tmp_path: Path) -> None:
    """A new environment that sees what is installed here, so that nothing is fetched."""
    home = tmp_path / "environment"
    venv.EnvBuilder(with_pip=False).create(home)
    (python,) = [path for path in (home / "bin" / "python", home / "Scripts" / "python.exe") if path.exists()]
    site = subprocess.run(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.strip()
    # hatchling, pip, this library and what it needs, from the environment of this test
    beside = [
        str(Path(stemlore.__file__).parents[1]),
        *(each for each in sys.path if "site-packages" in each),
    ]
    (Path(site) / "beside.pth").write_text("\n".join(beside), "utf-8")
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("STEMLORE", "PYTHON"))}
    pip = [python, "-m", "pip", "install", "-q", "--disable-pip-version-check", "--no-index", "--no-deps"]
    done = subprocess.run([*pip, "--no-build-isolation", begun], capture_output=True, text=True, env=clean)
    assert done.returncode == 0, done.stderr
    command = [python, "-c", "from stemlore.cli import main; main(['packs'])"]
    out = subprocess.run(command, capture_output=True, text=True, env=clean, check=True).stdout
    assert "place XA; from stemlore-pack-xa 0.1.0" in out
    assert "1 rule, 1 parameter, 1 source" in out
