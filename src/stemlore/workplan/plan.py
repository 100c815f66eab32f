"""What :func:`plan_work` answers with."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Literal

import attrs

from stemlore.model import Assembly, Job, Position
from stemlore.provenance import Citation
from stemlore.rules import Finding, Report, Rulebook, check
from stemlore.units import Unit
from stemlore.workplan._records import put
from stemlore.workplan.catalogue import CatalogueItem

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["MAKERS_FIRST", "Candidate", "Choice", "Gap", "Notice", "Renewal", "SetPoint", "Step", "WorkPlan"]

Verdict = Literal["fits", "excluded", "undecided"]

MAKERS_FIRST = (
    "Instructions of the makers of vehicle, wheel, tyre, valve and sensor, local codes and trained, licensed "
    "staff come first. This plan advises; it does not certify that a vehicle is roadworthy."
)


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Candidate:
    """A part of the catalogue, judged in its place.

    Attributes
    ----------
    item : CatalogueItem
        The part.
    verdict : {'fits', 'excluded', 'undecided'}
        Excluded: a rule fails. Undecided: no rule fails, one is unknown for
        want of more than what is set or looked up once the part is chosen.
    rules : tuple of str
        The rules that fail, or those that are unknown.
    assembly : Assembly
        The assembly with the part in place.
    """

    item: CatalogueItem
    verdict: Verdict
    rules: tuple[str, ...]
    assembly: Assembly = attrs.field(repr=False)
    job: Job = attrs.field(repr=False)
    book: Rulebook = attrs.field(repr=False)
    _ask: Callable[[], tuple[str, ...]] = attrs.field(repr=False, default=tuple)

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """The readings that would decide."""
        return self._ask()

    @property
    def is_open_on_itself(self) -> bool:
        """Whether all that is missing can be read on the part, before it is fitted."""
        return all(path.startswith("valve.") for path in self.missing)

    def findings(self) -> tuple[Finding, ...]:
        """Return why, with measured, limit and margin: the findings of the job with the part in place."""
        report = check(put(self.job, [self.assembly]), self.book)
        return tuple(
            each
            for each in report.findings
            if each.rule in self.rules and each.subject.position == self.assembly.position
        )


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Choice:
    """What may be fitted at wheels that are alike.

    Attributes
    ----------
    positions : tuple of Position
        The wheels.
    keep : str
        Why nothing is chosen here, such as a sensor's own valve that stays; else empty.
    fits, undecided : tuple of Candidate
        Parts of the catalogue that fit, or may fit, ranked, best first.
    in_the_way : tuple of str
        Where nothing fits: the rules each of which, were it not for them, would let a part fit.
    """

    positions: tuple[Position, ...]
    keep: str = ""
    fits: tuple[Candidate, ...] = ()
    undecided: tuple[Candidate, ...] = ()
    in_the_way: tuple[str, ...] = ()
    _excluded: Callable[[], tuple[Candidate, ...]] = attrs.field(default=tuple, repr=False)

    @cached_property
    def excluded(self) -> tuple[Candidate, ...]:
        """The parts of the catalogue that do not fit, made when they are asked for."""
        return self._excluded()

    @property
    def deciding(self) -> Mapping[str, tuple[str, ...]]:
        """Where nothing fits: the readings that are missing, and the codes between which each decides."""
        out: dict[str, list[str]] = {}
        for each in () if self.fits else self.undecided:
            for path in each.missing:
                out.setdefault(path, []).append(each.item.code)
        return {path: tuple(codes) for path, codes in out.items()}

    @property
    def best(self) -> Candidate | None:
        """The part that comes first."""
        return self.fits[0] if self.fits else None

    @property
    def likely(self) -> Candidate | None:
        """The part that comes first if what is to be measured on the part itself turns out well."""
        open_ = [each for each in self.undecided if each.missing and each.is_open_on_itself]
        return min(open_, key=lambda each: len(each.missing), default=None)


@attrs.frozen(kw_only=True)
class Renewal:
    """A part that is renewed, kept or looked at, and why."""

    positions: tuple[Position, ...]
    part: str
    action: str
    strength: str
    reason: str
    note: str = ""
    citation: Citation


@attrs.frozen(kw_only=True)
class SetPoint:
    """A value to set.

    Attributes
    ----------
    what : str
        Field of the job that it is, such as ``work.valve_core_torque``.
    title : str
        In words.
    positions : tuple of Position
        The wheels that it is for.
    low, high : float or None
        The band that the rules allow, in ``unit``.
    target : float or None
        What to set; None where only the maker may say.
    unit : Unit
        Of all of these.
    rules : tuple of str
        The rules that the band comes from.
    told_by : str
        Maker's instruction, placard, or the source of the limit.
    note : str
        What else to know, such as what the gauge shows now.
    """

    what: str
    title: str
    positions: tuple[Position, ...]
    unit: Unit
    target: float | None = None
    low: float | None = None
    high: float | None = None
    rules: tuple[str, ...] = ()
    told_by: str = ""
    note: str = ""


@attrs.frozen(kw_only=True)
class Notice:
    """What must be known before work begins, or where work must stop."""

    text: str
    stops: bool = False
    positions: tuple[Position, ...] = ()
    rule: str = ""


@attrs.frozen(kw_only=True)
class Step:
    """One step of the work."""

    key: str
    title: str
    reason: str
    positions: tuple[Position, ...] = ()
    values: tuple[SetPoint, ...] = ()
    details: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    citation: Citation


@attrs.frozen(kw_only=True)
class Gap:
    """Something that the plan cannot choose or set, and why."""

    text: str
    rule: str = ""
    positions: tuple[Position, ...] = ()
    missing: tuple[str, ...] = ()


@attrs.frozen(kw_only=True, eq=False, slots=False)
class WorkPlan:
    """How to do the job right: what to know, choose, renew, set, and in which order.

    Attributes
    ----------
    job, book : Job and Rulebook
        What was planned, by which rules.
    planned : Job
        The job as it will be when the plan was followed.
    notices : tuple of Notice
        Read first.
    choices : tuple of Choice
    renewals : tuple of Renewal
    set_points : tuple of SetPoint
    steps : tuple of Step
        From arrival to hand-over.
    gaps : tuple of Gap
        What the plan cannot say, and why.
    """

    job: Job
    book: Rulebook
    planned: Job
    notices: tuple[Notice, ...]
    choices: tuple[Choice, ...]
    renewals: tuple[Renewal, ...]
    set_points: tuple[SetPoint, ...]
    steps: tuple[Step, ...]
    gaps: tuple[Gap, ...]

    @property
    def is_complete(self) -> bool:
        """Whether nothing is left open and nothing stops the work."""
        return not self.gaps and not any(each.stops for each in self.notices)

    @property
    def asks(self) -> tuple[str, ...]:
        """Readings and makers' figures to get, those of open points first.

        A maker's figure is asked for as well where practice stands in for
        it; then what the outlook still needs.
        """
        practice = (
            f"maker.{each.what.partition('.')[2]}_{end}"
            for each in self.set_points
            if "maker's figure first" in each.note
            for end in ("min", "max")
        )
        open_ = (path for gap in self.gaps for path in gap.missing)
        return tuple(dict.fromkeys((*open_, *practice, *(each.field for each in self.outlook.next_readings))))

    @cached_property
    def outlook(self) -> Report:
        """The report of the job as planned: what ``check`` will say of it."""
        return check(self.planned, self.book)
