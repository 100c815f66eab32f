"""The house rules, enforced on the syntax trees."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "stemlore"

# rooms from top to bottom; those on one line do not see each other
STOREYS = (
    ("cli",),
    ("testing", "sphinxext", "pages"),
    ("figures", "interchange"),
    ("audit", "workplan"),
    ("packs",),
    ("rules",),
    ("model", "tables", "formulas"),
    ("notation",),
    ("provenance",),
    ("units",),
    ("errors",),
)
FLOOR = {room: len(STOREYS) - storey for storey, rooms in enumerate(STOREYS) for room in rooms}

# which third-party code a room may import
DOORS = {
    "errors": {"attrs"},
    "units": {"attrs", "pint"},
    "provenance": {"attrs"},
    "notation": {"attrs"},
    "model": {"attrs"},
    "tables": {"attrs"},
    "formulas": {"attrs", "numpy", "scipy"},
    "rules": {"attrs", "importlib_metadata"},
    "packs": set(),
    "workplan": {"attrs"},
    "audit": {"attrs", "polars", "pyarrow", "pyspark"},
    "figures": {"attrs", "matplotlib"},
    "interchange": {"attrs", "msgspec"},
    "pages": {"attrs", "jinja2"},
    "testing": {"attrs", "hypothesis", "pytest"},
    "sphinxext": {"docutils", "sphinx"},
    "cli": {"attrs", "click", "rich"},
}
# a room whose third-party code is one file's business alone
ONE_FILE = {"importlib_metadata": "rules/discovery.py", "pint": "units.py", "pyspark": "audit/spark.py"}
STANDARD = set(__import__("sys").stdlib_module_names) | {"__future__"}
# over the soft limit of 400 lines, each with its reason
LONG_FILES: dict[str, str] = {
    "rules/nodes.py": "a closed list: every node stands in one file",
    "units.py": "the table, its reader and the one door to pint belong together",
    "model/tyre.py": "one record, field by field",
    "rules/report.py": "a finding and its report read each other",
}


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imports_of(path: Path) -> list[tuple[int, str]]:
    found: list[tuple[int, str]] = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            found.append((node.lineno, node.module or ""))
            if node.module == "stemlore":
                found += [(node.lineno, f"stemlore.{alias.name}") for alias in node.names]
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(path: Path) -> None:
    room = room_of(path)
    if room == "__init__":
        return
    assert room in FLOOR, f"{room} has no place in the house"
    for line, name in imports_of(path):
        parts = name.split(".")
        if parts[0] != "stemlore" or len(parts) < 2:
            continue
        other = parts[1]
        if other == room:
            continue
        assert FLOOR[other] < FLOOR[room], f"{path}:{line}: {room} may not see {other}"


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_third_party_doors(path: Path) -> None:
    room = room_of(path)
    for line, name in imports_of(path):
        first = name.split(".")[0]
        if first in STANDARD or first == "stemlore":
            continue
        if room == "__init__":
            pytest.fail(f"{path}:{line}: the front door imports {first}")
        assert first in DOORS[room], f"{path}:{line}: {room} has no door to {first}"
        if first in ONE_FILE:
            assert str(path.relative_to(PACKAGE)) == ONE_FILE[first], (
                f"{path}:{line}: {first} belongs to one file"
            )


def test_our_packs_use_public_names_only() -> None:
    public = set(ast.literal_eval(_all_of(PACKAGE / "rules" / "__init__.py")))
    for path in sorted((PACKAGE / "packs").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("stemlore"):
                assert node.module == "stemlore.rules", f"{path}:{node.lineno}: {node.module}"
                assert {alias.name for alias in node.names} <= public, f"{path}:{node.lineno}"


def _all_of(path: Path) -> ast.expr:
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__":
            return node.value
    raise AssertionError(f"{path} has no __all__")


def test_public_modules_sort_what_they_offer() -> None:
    for path in modules():
        tree = ast.parse(path.read_text("utf-8"))
        for node in tree.body:
            if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__":
                if any(isinstance(part, ast.Starred) for part in ast.walk(node.value)):
                    continue  # the front door makes its list from its table
                names = ast.literal_eval(node.value)
                assert len(names) == len(set(names)), path


def test_files_stay_short() -> None:
    long = {}
    for path in modules():
        count = len(path.read_text("utf-8").splitlines())
        if count > 400:
            long[str(path.relative_to(PACKAGE))] = count
    assert set(long) <= set(LONG_FILES), f"over 400 lines without a reason: {long}"
    assert all(count <= 600 for count in long.values()), long


def test_no_import_at_the_top_level_that_is_not_there() -> None:
    allowed = re.compile(
        r"^(README\.md|DEVELOPERS\.md|pyproject\.toml|src|docs|tests|examples|CHANGELOG\.md|LICENSE|\..*)$"
    )
    strangers = [path.name for path in ROOT.iterdir() if not allowed.match(path.name)]
    assert strangers == []


def test_every_package_says_what_belongs_there() -> None:
    for path in PACKAGE.rglob("__init__.py"):
        assert ast.get_docstring(ast.parse(path.read_text("utf-8"))), path


def test_the_readme_map_matches_the_tree() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    told = set(re.findall(r"^\| `(\w+)` \|", readme, re.M))
    there = {room_of(path) for path in modules()} - {"__init__"}
    assert told == there


def test_no_physical_constant_or_limit_stands_in_packs() -> None:
    """Limits are parameters: a number in a pack's Python is a limit without source."""
    for path in sorted((PACKAGE / "packs").rglob("rules.py")):
        tree = ast.parse(path.read_text("utf-8"))
        dates = {
            id(part)
            for call in ast.walk(tree)
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "date"
            for part in call.args
        }
        for node in ast.walk(tree):
            if id(node) in dates:
                continue
            if (
                isinstance(node, ast.Constant)
                and isinstance(node.value, (int, float))
                and (not isinstance(node.value, bool))
            ):
                assert node.value in (0, 1, 2, 4), f"{path}:{node.lineno}: {node.value}"
