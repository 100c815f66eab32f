"""Limits that tables and formulas tell for a step: balance, twins, when the monitoring must warn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from stemlore.errors import NotationError
from stemlore.formulas import compute, formulas
from stemlore.model import Job
from stemlore.notation import TyreSize
from stemlore.tables import Row, table
from stemlore.workplan.plan import SetPoint

__all__ = ["limits_at"]

_BALANCED = {
    "passenger": (),
    "light truck": ("recheck, else all weights off and anew",),
    "off-road car": ("imbalance that may stay", "weights in one plane"),
}
"""Rows of the table that are limits of the finished wheel; none named means all of that vehicle."""


def limits_at(key: str, job: Job, points: Sequence[SetPoint], packs: Sequence[str]) -> Iterator[str]:
    """Yield the limits of a step in words, each with its source.

    Parameters
    ----------
    key : str
        The step.
    job : Job
        As planned.
    points : sequence of SetPoint
        What is set.
    packs : sequence of str
        Packs in force where the vehicle is registered.
    """
    if key == "balance":
        yield from _balance(job)
    elif key == "refit_wheel":
        yield from _twins(job)
    elif key == "relearn":
        yield from _warnings(job, points, packs)


def _balance(job: Job) -> Iterator[str]:
    category = job.vehicle.category
    if category not in ("M1", "N1"):
        yield "limit of imbalance: only the maker tells it for this vehicle"
        return
    kind = "off-road car" if job.vehicle.off_road else "passenger" if category == "M1" else "light truck"
    for row in table("balance_limits").rows:
        if row["vehicle"] == kind and (not _BALANCED[kind] or row["item"] in _BALANCED[kind]):
            yield f"{row['item']}: {row['printed']} ({row.citation})"


@lru_cache(maxsize=1)
def _spacings() -> Mapping[str, Row]:
    """Return the rows that tell a distance of twins, by the size as a tyre's own is written."""
    out: dict[str, Row] = {}
    for row in table("tyre_rims").rows:
        try:
            size = TyreSize.parse(str(row["size"]))
        except NotationError:
            continue  # a size of a kind that no tyre of a job can have
        if row["dual_spacing_min_mm"] is not None:
            out[size.designation] = row
    return out


def _twins(job: Job) -> Iterator[str]:
    twins = [each for each in job.assemblies if each.position.place in ("inner", "outer")]
    for size in dict.fromkeys(each.tyre.size_designation for each in twins):
        row = None if size is None else _spacings().get(size)
        if row is not None:
            least = f"at least {row['dual_spacing_min_mm']:g} mm ({row['printed']})"
            yield f"centres of twins of {row['size']} stand {least} apart on the design rim ({row.citation})"
        else:
            yield "distance of the twins: not known for this size; only the maker tells it. They never touch"


def _warnings(job: Job, points: Sequence[SetPoint], packs: Sequence[str]) -> Iterator[str]:
    if job.vehicle.category not in ("M1", "N1"):
        return
    name = "warning_pressure_us" if "us" in packs else "warning_pressure_un" if "un" in packs else ""
    if not name:
        return
    source = "; ".join(str(each) for each in formulas()[name].sources)
    for point in points:
        if point.what != "tyre.pressure" or not point.target:  # of no pressure there is no share
            continue
        value, unit = compute(name, pressure=f"{point.target} {point.unit}")
        if value is not None and value == value:
            where = ", ".join(map(str, point.positions))
            told = f"{value:.0f} {unit} at the latest, for {point.target:g} {point.unit} in use"
            yield f"the lamp must light at {told}: {where} ({source})"
