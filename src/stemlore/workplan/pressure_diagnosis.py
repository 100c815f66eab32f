"""What :func:`diagnose_pressure` answers with."""

from __future__ import annotations

from datetime import date
from typing import Literal

import attrs

from stemlore.formulas import LossEstimate
from stemlore.provenance import Citation

__all__ = [
    "Caution",
    "Clue",
    "Evidence",
    "ExpectedDay",
    "Inspection",
    "LossVerdict",
    "PressureDiagnosis",
    "Relation",
]

LossVerdict = Literal[
    "weather only",
    "permeation only",
    "between published figures",
    "slow leak",
    "puncture or fast loss",
    "flat",
    "pressure has risen",
    "not enough readings",
]
"""What the readings point to.

``between published figures``: faster than was measured through rubber, yet some source calls it
normal. ``flat``: no pressure at a reading, so no rate. ``pressure has risen``: air was added, or a
reading is wrong.
"""

Relation = Literal["slower", "within", "faster", "overlaps", "unknown"]
"""How the fall lies to a published rate: below it, in it, above it, partly, or not known."""


@attrs.frozen(kw_only=True)
class Evidence:
    """A published figure, and how this tyre lies to it.

    Attributes
    ----------
    statement : str
        In words, with both figures.
    relation : str or None
        How the whole interval of the fall lies to the figure; None where no rate is compared.
    low, high : float or None
        The published rate in kPa a day.
    citation : Citation
        Where it was published.
    """

    statement: str
    relation: Relation | None = None
    low: float | None = None
    high: float | None = None
    citation: Citation


@attrs.frozen(kw_only=True)
class ExpectedDay:
    """When a pressure is expected to be reached at the reference, if the loss goes on as it was.

    Attributes
    ----------
    pressure : float
        Gauge pressure in kPa.
    earliest, likely, latest : date or None
        Ends of the span and the day on the line. ``latest`` is None where the readings allow that it
        is never reached, ``earliest`` where it cannot be told at all.
    passed : bool
        Whether the whole span was over at the last reading.
    reason : str
        Why something is None; else empty.
    """

    pressure: float
    earliest: date | None = None
    likely: date | None = None
    latest: date | None = None
    passed: bool = False
    reason: str = ""

    def __str__(self) -> str:
        if self.passed:
            return "passed at the last reading"
        if self.earliest is None:
            return f"cannot be told: {self.reason}"
        if self.latest is None:
            return f"{self.earliest} at the earliest, or never"
        return f"{self.earliest} to {self.latest}"


@attrs.frozen(kw_only=True)
class Clue:
    """Why a place is looked at, or how.

    Attributes
    ----------
    statement : str
        In words.
    weight : int
        3 damage that was seen, 2 a known failure of this very part, 1 what event or way of losing
        points to, 0 no reason for the order.
    citation : Citation
        Where it comes from; common practice is told as such.
    """

    statement: str
    weight: int
    citation: Citation


@attrs.frozen(kw_only=True)
class Inspection:
    """One place to look at.

    Attributes
    ----------
    place : {'valve_core', 'valve_base', 'bead_seats', 'rim', 'tread'}
        Key of the place.
    title, how, caution : str
        Its name, how to look, what can hurt.
    clues : tuple of Clue
        What points to it, weightiest first; empty where it stands in the order of least work.
    """

    place: str
    title: str
    how: str
    caution: str
    clues: tuple[Clue, ...] = ()

    @property
    def weight(self) -> int:
        """Weight of its weightiest clue; 0 where there is none."""
        return max((each.weight for each in self.clues), default=0)


@attrs.frozen(kw_only=True)
class Caution:
    """What can hurt, and who says so."""

    text: str
    citation: Citation


@attrs.frozen(kw_only=True)
class PressureDiagnosis:
    """What dated readings say of one tyre, and what to do.

    Attributes
    ----------
    verdict : str
        One of :data:`LossVerdict`.
    reason, trust : str
        What it was drawn from, and how far to trust it.
    fall, fall_low, fall_high : float or None
        Fall of gauge pressure in kPa a day at the reference, and the ends of its interval. ``fall`` is
        None where temperatures were only bounded.
    confidence : float
        Of the interval.
    pressure : float or None
        Gauge pressure in kPa at the last reading, on the line, at the reference.
    at_temperature, at_ambient : float or None
        The reference: temperature in K and ambient pressure in kPa, absolute; None without readings.
    reference : str
        What the reference was taken from.
    warning, least : ExpectedDay or None
        When the warning pressure and the least pressure are expected; None where they were not given.
    ran_low : bool or None
        Whether a reading lay at or below the share of the cold pressure at which a tyre is looked at
        inside before air goes in; None where that is not known.
    evidence : tuple of Evidence
        Published rates beside the fall, and what weather explains.
    inspections : tuple of Inspection
        What to look at, in order.
    cautions : tuple of Caution
        What can hurt.
    wanted : tuple of str
        What would make the answer surer.
    points : tuple of (date, float)
        Readings used, as gauge pressure in kPa at the reference; without those of bounded temperature.
    used : int
        Readings used.
    left_out : tuple of str
        Readings not used, and why.
    span : float
        Days from the first to the last reading used.
    estimates : tuple of LossEstimate
        What it was drawn from: one, or one for either end of bounded temperatures.
    """

    verdict: LossVerdict
    reason: str
    trust: str
    confidence: float
    fall: float | None = None
    fall_low: float | None = None
    fall_high: float | None = None
    pressure: float | None = None
    at_temperature: float | None = None
    at_ambient: float | None = None
    reference: str = ""
    warning: ExpectedDay | None = None
    least: ExpectedDay | None = None
    ran_low: bool | None = None
    evidence: tuple[Evidence, ...] = ()
    inspections: tuple[Inspection, ...] = ()
    cautions: tuple[Caution, ...] = ()
    wanted: tuple[str, ...] = ()
    points: tuple[tuple[date, float], ...] = ()
    used: int = 0
    left_out: tuple[str, ...] = ()
    span: float = 0.0
    estimates: tuple[LossEstimate, ...] = attrs.field(default=(), repr=False)

    @property
    def is_losing(self) -> bool:
        """Whether the tyre loses air faster than was measured through rubber, or is flat."""
        return self.verdict in LOSING

    @property
    def sources(self) -> tuple[Citation, ...]:
        """All that the answer rests on, each once."""
        cited = [each.citation for each in self.evidence]
        cited += [each.citation for each in self.cautions]
        cited += [clue.citation for each in self.inspections for clue in each.clues]
        return tuple(dict.fromkeys(each for each in cited if each.source is not None))

    def __str__(self) -> str:
        lines = [f"{self.verdict}: {self.reason}"]
        for name, day in (("warning pressure", self.warning), ("least pressure", self.least)):
            if day is not None:
                lines.append(f"{name} {day.pressure:.4g} kPa: {day}")
        if self.inspections:
            lines.append("look at: " + ", ".join(each.title.lower() for each in self.inspections))
        lines += [f"caution: {each.text}" for each in self.cautions]
        return "\n".join(lines)


LOSING: frozenset[LossVerdict] = frozenset(
    {"between published figures", "slow leak", "puncture or fast loss", "flat"}
)
"""Verdicts of a loss that rubber alone was never measured to have."""
