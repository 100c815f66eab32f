"""What an import brings with it, measured in a process of its own."""

from __future__ import annotations

import subprocess
import sys

HEAVY = {
    "pint",
    "importlib_metadata",
    "polars",
    "pyarrow",
    "numpy",
    "scipy",
    "matplotlib",
    "sphinx",
    "hypothesis",
}


def loaded_after(code: str) -> set[str]:
    script = f"{code}\nimport sys\nprint(' '.join(sorted({{name.split('.')[0] for name in sys.modules}})))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_the_front_door_loads_nothing_heavy() -> None:
    assert loaded_after("import stemlore") & (HEAVY | {"msgspec", "click", "rich"}) == set()


def test_rules_load_nothing_heavy() -> None:
    assert loaded_after("import stemlore.rules, stemlore.model, stemlore.tables") & HEAVY == set()


def test_a_job_with_units_of_the_table_never_loads_pint() -> None:
    code = "from stemlore.model import Tyre; assert Tyre(pressure='2.5 bar').pressure == 250.0"
    assert "pint" not in loaded_after(code)
