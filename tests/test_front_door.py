"""The lazy front door, and the stub that types it."""

from __future__ import annotations

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import stemlore

HEAVY = (
    *("pint", "importlib_metadata", "polars", "pyarrow", "numpy", "scipy"),
    *("matplotlib", "sphinx", "hypothesis", "msgspec", "attr", "attrs", "click", "rich", "jinja2"),
)
NAMES = [name for name in stemlore.__all__ if name != "__version__"]
STUB = Path(stemlore.__file__).with_suffix(".pyi")


def in_a_fresh_process(code: str) -> str:
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return run.stdout.strip()


def test_importing_the_package_loads_nothing() -> None:
    code = f"import sys, stemlore; print([name for name in {HEAVY} if name in sys.modules])"
    assert in_a_fresh_process(code) == "[]"
    code = "import sys, stemlore; print([name for name in sys.modules if name.startswith('stemlore.')])"
    assert in_a_fresh_process(code) == "[]"


def test_a_name_loads_its_room_alone() -> None:
    code = (
        "import sys, stemlore; stemlore.Job; print('stemlore.rules' in sys.modules, 'msgspec' in sys.modules)"
    )
    assert in_a_fresh_process(code) == "False False"


@pytest.mark.parametrize("name", NAMES)
def test_every_name_is_that_of_its_room(name: str) -> None:
    found = getattr(stemlore, name)
    home = import_module(f"stemlore.{stemlore._HOME[name]}")  # type: ignore[attr-defined]
    assert found is getattr(home, name)
    assert name in home.__all__
    assert name in dir(stemlore)


def test_the_stub_and_the_table_agree() -> None:
    tree = ast.parse(STUB.read_text("utf-8"))
    imported = {
        alias.name: (node.module or "").removeprefix("stemlore.")
        for node in tree.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert imported == stemlore._HOME  # type: ignore[attr-defined]
    (listed,) = (node.value for node in tree.body if isinstance(node, ast.Assign))
    assert sorted(ast.literal_eval(listed)) == sorted(stemlore.__all__)


def test_the_version_is_that_of_the_distribution() -> None:
    from importlib.metadata import version

    assert stemlore.__version__ == version("stemlore")


def test_a_wrong_name_says_what_comes_near() -> None:
    with pytest.raises(AttributeError, match="did you mean read_job"):
        stemlore.readjob  # type: ignore[attr-defined]  # noqa: B018
    assert not hasattr(stemlore, "nothing_of_the_kind")
