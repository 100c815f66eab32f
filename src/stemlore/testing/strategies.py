"""Hypothesis strategies for readings, records and whole jobs.

Everything drawn is valid by construction and shrinks to what is small and
usual: 205/55 R16, axle 1 left, a job of which nothing is known. With
``messy=True`` readings may also be what no constructor lets in, as columns
and other programs bring it. With ``book=...`` the limits of a rulebook are
drawn often.

Needs Hypothesis (extra ``testing``).
"""

from __future__ import annotations

from stemlore.errors import MissingExtraError

try:
    import hypothesis as _hypothesis  # noqa: F401 - only whether it is there
except ImportError as error:
    raise MissingExtraError("drawing jobs", extra="testing") from error

from stemlore.testing._designations import (
    date_spans,
    load_indices,
    positions,
    rim_sizes,
    service_descriptions,
    speed_symbols,
    tyre_numbers,
    tyre_sizes,
    valve_codes,
)
from stemlore.testing._jobs import (
    assemblies,
    axles,
    conditions,
    events,
    jobs,
    makers,
    sample,
    sensors,
    tyres,
    valves,
    vehicles,
    wheels,
    works,
)
from stemlore.testing._readings import readings

__all__ = [
    "assemblies",
    "axles",
    "conditions",
    "date_spans",
    "events",
    "jobs",
    "load_indices",
    "makers",
    "positions",
    "readings",
    "rim_sizes",
    "sample",
    "sensors",
    "service_descriptions",
    "speed_symbols",
    "tyre_numbers",
    "tyre_sizes",
    "tyres",
    "valve_codes",
    "valves",
    "vehicles",
    "wheels",
    "works",
]
