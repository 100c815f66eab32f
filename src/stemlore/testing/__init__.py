"""What authors of packs test with: cases as data, the conformance kit, strategies for jobs.

Belongs here: reading and running cases, what every pack must satisfy, ids
once released, random jobs (:mod:`stemlore.testing.strategies`), the plug-in
for pytest (:mod:`stemlore.testing.plugin`). Does not: our own tests.

May import all rooms below. Names are loaded when they are first asked for,
so that the plug-in, which pytest imports wherever this is installed, costs
nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stemlore.testing.cases import Alike, Case, read_alike, read_cases
    from stemlore.testing.conformance import ConformanceCase, conformance_cases
    from stemlore.testing.released import read_released, write_released
else:
    _HOME = {
        "Alike": "cases",
        "Case": "cases",
        "ConformanceCase": "conformance",
        "conformance_cases": "conformance",
        "read_alike": "cases",
        "read_cases": "cases",
        "read_released": "released",
        "write_released": "released",
    }

    def __getattr__(name):
        if name not in _HOME:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}", name=name)
        from importlib import import_module

        value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
        globals()[name] = value  # looked up once
        return value

    def __dir__():
        return sorted({*globals(), *__all__})


__all__ = [
    "Alike",
    "Case",
    "ConformanceCase",
    "conformance_cases",
    "read_alike",
    "read_cases",
    "read_released",
    "write_released",
]
