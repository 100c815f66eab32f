"""Where a tyre may lose its air: which place first, and what points to it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from functools import lru_cache
from importlib.resources import files
from typing import Any, Literal

from stemlore.model import Assembly, Valve
from stemlore.provenance import Citation, Grade
from stemlore.tables import Row, sources, table
from stemlore.workplan.pressure_diagnosis import LOSING, Caution, Clue, Inspection, LossVerdict

__all__ = ["PLACES", "Wheels", "cautions", "inspections", "low_share"]

Wheels = Literal["one", "all"]
"""Whether only this wheel of the vehicle loses air, or all do."""

_PRACTICE = Citation(None, "", Grade.PRACTICE)
_FAST: tuple[LossVerdict, ...] = ("puncture or fast loss", "flat")


@lru_cache(maxsize=1)
def _texts() -> Mapping[str, Any]:
    return tomllib.loads(files("stemlore.workplan").joinpath("inspections.toml").read_text("utf-8"))


PLACES: tuple[str, ...] = tuple(_texts()["place"])
"""All places, in the order of least work."""


@lru_cache(maxsize=32)
def _row(name: str, **key: str) -> Row:
    (found,) = (row for row in table(name).rows if all(row[each] == value for each, value in key.items()))
    return found


def _row_of(clue: Mapping[str, Any]) -> Row:
    named = dict(clue["row"])
    return _row(named.pop("table"), **named)


def low_share() -> tuple[float, Citation]:
    """Return the share of the cold pressure at which a tyre counts as run low, and who says so."""
    low = _texts()["low"]
    assert low["unit"] == "%"
    return low["share"] / 100, Citation(sources()[low["source"]], low["at"], Grade(low["grade"]))


# --- what points where -----------------------------------------------------------------------


def _seen(of: Assembly) -> Iterator[str]:
    """Yield clues of damage that was seen; what was not looked at is no clue."""
    for name in ("valve_leaks", "valve_damaged", "wheel_cracked", "wheel_distorted"):
        if getattr(of.condition, name):
            yield name
    if of.condition.cut_to_cord or of.condition.cord_exposed or of.condition.bulge:
        yield "tyre_damaged"


def _code(of: Valve) -> str:
    return of.table_code or ("" if of.code is None else str(of.code))


def _known(of: Assembly, cold_pressure: float | None) -> Iterator[str]:
    """Yield clues of known failures of the parts that are fitted."""
    valve, clues = of.valve, _texts()["clue"]
    for name, clue in clues.items():
        if valve.fitted is None or _code(valve).replace(" ", "") not in clue.get("codes", ()):
            continue
        # wholly within: a valve that may have been fitted later is not called one of these
        if clue["first"] <= valve.fitted.earliest and valve.fitted.latest <= clue["last"]:
            yield name
    clamped = valve.kind == "clamp_in" or of.sensor.mount == "clamp_in"
    if of.sensor.fitted and clamped and valve.core_material == "brass":
        yield "brass_core"
    if valve.kind == "snap_in" and cold_pressure is not None:
        limit = _row_of(clues["snap_in_pressure"])["value"]
        assert isinstance(limit, float)
        if cold_pressure > limit:
            yield "snap_in_pressure"
    if valve.kind in ("snap_in", "high_pressure_snap_in"):
        yield "bending"


def inspections(
    verdict: LossVerdict,
    *,
    shown: bool,
    assembly: Assembly | None,
    cold_pressure: float | None,
    tyre_changed: date | None,
    wheels: Wheels | None,
) -> tuple[Inspection, ...]:
    """Return what to look at, in order.

    Parameters
    ----------
    verdict : str
        What the readings point to.
    shown : bool
        Whether the whole interval of the fall lies above zero.
    assembly : Assembly or None
        What is known of tyre, wheel, valve, sensor and their condition.
    cold_pressure : float or None
        Recommended gauge pressure in kPa.
    tyre_changed : date or None
        Day of the tyre change after which the loss was first seen.
    wheels : {'one', 'all'} or None
        Which wheels of the vehicle lose.

    Returns
    -------
    tuple of Inspection
        All places where air goes, else only those that something seen or a known failure points to.
    """
    names: list[str] = []
    if assembly is not None:
        names += [*_seen(assembly), *_known(assembly, cold_pressure)]
    if tyre_changed is not None:
        names += ["tyre_changed_core", "tyre_changed_base", "tyre_changed_beads"]
    if wheels is not None:
        names.append("one_wheel" if wheels == "one" else "all_wheels")
    if verdict in _FAST:
        names.append("fast")
    by_place: dict[str, list[Clue]] = {place: [] for place in PLACES}
    for name in names:
        text = _texts()["clue"][name]
        cited = _row_of(text).citation if "row" in text else _PRACTICE
        for place in text["places"]:
            by_place[place].append(Clue(statement=text["says"], weight=text["weight"], citation=cited))
    found = [
        Inspection(
            place=place,
            **_texts()["place"][place],
            clues=tuple(sorted(clues, key=lambda each: -each.weight)),
        )
        for place, clues in by_place.items()
    ]
    found.sort(key=lambda each: -each.weight)
    if verdict in LOSING or (shown and verdict == "not enough readings"):
        return tuple(found)
    return tuple(each for each in found if each.weight > 1)


# --- what can hurt ---------------------------------------------------------------------------


def cautions(
    verdict: LossVerdict, *, ran_low: bool | None, looked_at: tuple[Inspection, ...]
) -> tuple[Caution, ...]:
    """Return what can hurt, the weightiest first.

    Parameters
    ----------
    verdict : str
        What the readings point to.
    ran_low : bool or None
        Whether a reading lay at or below the share of :func:`low_share`.
    looked_at : tuple of Inspection
        The places that are looked at.
    """
    share, cited = low_share()
    out: list[Caution] = []
    if ran_low:
        text = (
            f"Do not inflate: a reading lay at or below {share:.0%} of the cold pressure. A tyre that rolled "
            "like that is taken off and looked at inside first, for it may burst when it is filled."
        )
        out.append(Caution(text=text, citation=cited))
    elif ran_low is None or looked_at or verdict in LOSING:
        text = (
            "Read the pressure before any air goes in. A tyre that rolled at or below "
            f"{share:.0%} of its cold pressure is not inflated before it was looked at inside."
        )
        out.append(Caution(text=text, citation=cited))
    if ran_low or ran_low is None or looked_at or verdict in LOSING:
        # the figure is of large wheels; nobody shall read it as a figure of car tyres, nor as safe above
        text = (
            "That share is told for multi-piece wheels of large vehicles; for other tyres no figure was "
            "found, and marks of running low (a ring on the sidewall, rubber dust inside) count at any "
            "pressure."
        )
        out.append(Caution(text=text, citation=cited))
    if verdict in _FAST:
        text = "The vehicle is not driven on this tyre, not even to a workshop."
        out.append(Caution(text=text, citation=_PRACTICE))
    if any(each.place == "bead_seats" for each in looked_at):
        out += _seating()
    out += [Caution(text=each.caution, citation=_PRACTICE) for each in looked_at]
    return tuple(out)


def _seating() -> Iterator[Caution]:
    for scope in ("light vehicles", "truck and bus"):
        row = _row("valve_guidelines", topic="bead seating", scope=scope, item="ceiling")
        text = (
            f"Seating beads, {scope}: never above {row['printed']}; only the maker of that tyre or rim may "
            "set another."
        )
        yield Caution(text=text, citation=row.citation)
