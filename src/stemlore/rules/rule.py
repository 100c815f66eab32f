"""A rule, and the words it is classed by."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date, datetime
from enum import IntEnum, StrEnum
from typing import Any, Literal, NoReturn

import attrs

from stemlore.errors import RuleError, near_misses
from stemlore.provenance import Grade
from stemlore.rules._combine import truth
from stemlore.rules._lower import LEVELS, level_of
from stemlore.rules.nodes import (
    Aggregate,
    Compare,
    Constant,
    Equals,
    Node,
    Parameter,
    Step,
    Within,
    walk,
)

__all__ = ["Basis", "Cite", "Gravity", "Outcome", "Rule", "Shown", "Tie", "shown_by"]

SUBJECTS = ("vehicle", "axle", "pair", "position")


class Outcome(IntEnum):
    """What a rule says of one subject."""

    PASS = 0
    FAIL = 1
    UNKNOWN = 2
    NOT_APPLICABLE = 3

    @property
    def word(self) -> str:
        """The outcome in words, as it is printed."""
        return self.name.lower().replace("_", " ")


class _Words(StrEnum):
    """Words of which another one is refused with those there are."""

    @classmethod
    def _missing_(cls, value: object) -> NoReturn:
        near = near_misses(str(value), [each.value for each in cls])
        raise RuleError(
            f"{value!r} is no {cls.__name__.lower()}",
            advice=f"did you mean {near[0]}?" if near else f"one of {', '.join(cls)}",
        )


class Basis(_Words):
    """What a rule rests on."""

    LAW = "law"
    STANDARD = "standard"
    MAKER = "maker"
    PRACTICE = "practice"
    SAFETY = "safety"


class Gravity(_Words):
    """What follows from a failure."""

    HOLD = "hold"
    REMEDY = "remedy"
    ADVISE = "advise"

    @property
    def meaning(self) -> str:
        """What the fitter does."""
        return {
            "hold": "the vehicle does not leave",
            "remedy": "put right at this visit",
            "advise": "tell the customer",
        }[self.value]


class Tie(_Words):
    """What ties a rule to a place."""

    REGISTERED_IN = "registered_in"
    USED_IN = "used_in"
    WORKSHOP = "workshop"

    @property
    def words(self) -> str:
        """The tie as it is printed."""
        return {"registered_in": "registered in", "used_in": "used in", "workshop": "workshop in"}[self.value]


@attrs.frozen
class Cite:
    """A reference to a source of the pack, before the pack is loaded."""

    source: str
    at: str
    grade: Grade | None = attrs.field(default=None, converter=attrs.converters.optional(Grade))


@attrs.frozen
class Shown:
    """What a finding shows: what was measured, against which limit, on which side.

    ``side`` is ``least`` (measured must not be below), ``most`` (not above),
    ``between`` (``limit`` and ``upper``) or ``equal``. ``label`` names what was
    measured where it is computed from several readings. ``apart`` is set when a
    rulebook is opened, where the check asks for more than what is shown: the
    margin of that part alone may then contradict the outcome, and is left out.
    """

    measured: Node
    limit: Node
    side: Literal["least", "most", "between", "equal"]
    upper: Node | None = None
    label: str = ""
    apart: bool = False


def shown_by(check: Node) -> Shown | None:
    """Return what a simple condition shows; None for a compound one."""
    match check:
        case Compare(operator, Constant() | Parameter() | Step() as left, right) if not isinstance(
            right, (Constant, Parameter, Step)
        ):  # written the other way round: what is measured stands on the right
            return Shown(right, left, "least" if operator in ("<", "<=") else "most")
        case Compare("<" | "<=", left, right):
            return Shown(left, right, "most")
        case Compare(_, left, right):
            return Shown(left, right, "least")
        case Within(value, low, high):
            return Shown(value, low, "between", high)
        case Equals(left, right):
            return Shown(left, right, "equal")
    return None


@attrs.frozen(kw_only=True, eq=False)
class Rule:
    """One check, as data.

    Attributes
    ----------
    id : str
        ``pack.subject.aspect``; never reused.
    title : str
        What must be so, as a sentence.
    subject : {'vehicle', 'axle', 'pair', 'position'}
        What it is about.
    check : Node
        What must hold.
    when : Node or None
        Under which condition it applies; None = always.
    tie, basis, gravity
        What ties it to a place, what it rests on, what follows.
    cite : Cite
        Source and clause.
    advice, caution : str
        What to do on a failure, and what can hurt.
    starts, ends : date or None
        Days between which it is in force, both included; None = open.
    unseen_before : date or None
        Day on which it was seen in force, its start not being in the sources;
        before that day it is unknown.
    supersedes : tuple of str
        Rules of a parent that it stands in for under its condition.
    what : str
        Name of what is measured, where it is computed from several readings.
    shows : Shown or None
        What a finding shows; from the check where it is simple.
    spare : bool
        Whether a carried spare wheel is a subject too.
    uncertainty : Node or None
        Expanded uncertainty of what is measured, a parameter as a rule; it
        counts where a rulebook is opened with ``decision="guarded"``.
    body : callable or None
        A Python body instead of a tree, for what no tree can say.
    reads : tuple of str
        Fields that a Python body reads.
    where : str
        File and line of the rule.
    """

    id: str
    title: str
    subject: Literal["vehicle", "axle", "pair", "position"]
    check: Node
    tie: Tie = attrs.field(converter=Tie)
    basis: Basis = attrs.field(converter=Basis)
    gravity: Gravity = attrs.field(converter=Gravity)
    cite: Cite
    when: Node | None = None
    advice: str = ""
    caution: str = ""
    starts: date | None = None
    ends: date | None = None
    unseen_before: date | None = None
    supersedes: tuple[str, ...] = ()
    what: str = ""
    shows: Shown | None = None
    spare: bool = False
    uncertainty: Node | None = None
    body: Callable[[Any], bool | None] | None = None
    reads: tuple[str, ...] = ()
    where: str = attrs.field(factory=lambda: _caller())

    def __attrs_post_init__(self) -> None:
        parts = self.id.split(".")
        if len(parts) != 3 or not all(part.replace("_", "").isalnum() and part.islower() for part in parts):
            raise self.fault(f"id {self.id!r} is not of the form pack.subject.aspect, in lower case")
        if self.subject not in SUBJECTS:
            near = near_misses(str(self.subject), SUBJECTS)
            hint = f"did you mean {near[0]}?" if near else ", ".join(SUBJECTS)
            raise self.fault(f"{self.subject!r} is no subject", hint)
        for name in ("starts", "ends", "unseen_before"):
            day = getattr(self, name)
            if day is not None and (not isinstance(day, date) or isinstance(day, datetime)):
                raise self.fault(f"{name} is {day!r}, which is not a day")
        if self.starts is not None and self.ends is not None and self.ends < self.starts:
            raise self.fault(f"it ends on {self.ends}, before it starts on {self.starts}")
        try:
            truth(self.check)
            if self.when is not None:
                truth(self.when)
        except (TypeError, ValueError) as error:
            raise self.fault(str(error)) from error
        if self.basis is Basis.SAFETY and self.supersedes:
            raise self.fault("a rule of basis safety supersedes nothing")
        for tree in (self.check, self.when):
            if tree is None:
                continue
            self.check_level(tree)
            if self.subject == "position" and any(isinstance(part, Aggregate) for part in walk(tree)):
                raise self.fault("a single position has no members", "make the axle or vehicle its subject")
        if self.uncertainty is not None:
            shown = shown_by(self.check)
            if shown is None or shown.side == "equal":
                raise self.fault("an uncertainty needs a check that compares a reading with a limit")
        if self.shows is None and (found := shown_by(self.check)) is not None:
            object.__setattr__(self, "shows", attrs.evolve(found, label=self.what))

    def check_level(self, tree: Node) -> None:
        """Raise RuleError if a tree reads records below the subject."""
        if level_of(tree) > LEVELS.get(self.subject, 1):
            raise self.fault(
                f"its subject is a {self.subject}, and it reads fields of a wheel or axle",
                "use every(...), some(...), same(...) or spread(...)",
            )

    def fault(self, why: str, advice: str = "") -> RuleError:
        """Return a RuleError that names this rule and where it stands."""
        place = f"{self.where}: " if self.where else ""
        return RuleError(f"{place}rule {self.id}: {why}", advice=advice)

    @property
    def pack(self) -> str:
        """The pack's id, first part of the rule's."""
        return self.id.partition(".")[0]


def _caller() -> str:
    """Return file and line of whoever is making a rule."""
    frame = sys._getframe(1)
    while frame.f_back is not None and (
        frame.f_code.co_filename == __file__ or frame.f_code.co_filename.startswith("<")
    ):
        frame = frame.f_back
    name = frame.f_code.co_filename.replace("\\", "/").rpartition("/stemlore/")[2] or frame.f_code.co_filename
    return f"{name}:{frame.f_lineno}"
