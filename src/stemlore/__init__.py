"""stemlore: the checks behind every wheel that leaves a tyre workshop.

The front door: each name is loaded from its room when it is first asked for,
so that importing the package costs nothing. The rooms themselves are
imported by their own names, such as :mod:`stemlore.rules`.
"""

from __future__ import annotations

from typing import Any

_HOME = {
    "Assembly": "model",
    "Axle": "model",
    "Basis": "rules",
    "Event": "model",
    "Finding": "rules",
    "Gravity": "rules",
    "Job": "model",
    "MakerInstruction": "model",
    "Outcome": "rules",
    "Position": "model",
    "Report": "rules",
    "ReportRecord": "interchange",
    "Rulebook": "rules",
    "Rulebooks": "rules",
    "Condition": "model",
    "Sensor": "model",
    "StemloreError": "errors",
    "Tie": "rules",
    "Tyre": "model",
    "Valve": "model",
    "Vehicle": "model",
    "Wheel": "model",
    "Work": "model",
    "audit_fleet": "audit",
    "change": "model",
    "check": "rules",
    "diagnose_many": "workplan",
    "diagnose_pressure": "workplan",
    "discover": "rules",
    "job_to_json": "interchange",
    "plan_from_json": "interchange",
    "plan_to_json": "interchange",
    "plan_work": "workplan",
    "read_catalogue": "workplan",
    "read_job": "interchange",
    "report_from_json": "interchange",
    "report_to_json": "interchange",
    "rulebook": "rules",
    "rulebooks": "rules",
    "schema": "interchange",
    "table": "tables",
}

__all__ = ["__version__", *sorted(_HOME)]


def __getattr__(name: str) -> Any:
    if name == "__version__":
        from importlib.metadata import version

        value: Any = version("stemlore")
    elif name in _HOME:
        from importlib import import_module

        value = getattr(import_module(f"stemlore.{_HOME[name]}"), name)
    else:
        from difflib import get_close_matches

        near = get_close_matches(name, _HOME, n=2, cutoff=0.6)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        raise AttributeError(f"module 'stemlore' has no attribute {name!r}{hint}", name=name)
    globals()[name] = value  # looked up once
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
