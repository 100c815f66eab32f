"""A rule, and the words it is classed by."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date
from enum import IntEnum, StrEnum
from typing import Any, Literal

import attrs

from stemlore.errors import RuleError
from stemlore.provenance import Grade
from stemlore.rules._combine import truth
from stemlore.rules._lower import LEVELS, level_of
from stemlore.rules.nodes import (
    Aggregate,
    Compare,
    Equals,
    Node,
    Within,
    walk,
)

__all__ = ["Basis", "Cite", "Gravity", "Outcome", "Rule", "Shown", "Tie", "shown_by"]


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


class Basis(StrEnum):
    """What a rule rests on."""

    LAW = "law"
    STANDARD = "standard"
    MAKER = "maker"
    PRACTICE = "practice"
    SAFETY = "safety"


class Gravity(StrEnum):
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


class Tie(StrEnum):
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
    grade: Grade | None = None


@attrs.frozen
class Shown:
    """What a finding shows: what was measured, against which limit, on which side.

    ``side`` is ``least`` (measured must not be below), ``most`` (not above),
    ``between`` (``limit`` and ``upper``) or ``equal``.
    """

    measured: Node
    limit: Node
    side: Literal["least", "most", "between", "equal"]
    upper: Node | None = None


def shown_by(check: Node) -> Shown | None:
    """Return what a simple condition shows; None for a compound one."""
    match check:
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
    shows : Shown or None
        What a finding shows; from the check where it is simple.
    spare : bool
        Whether a carried spare wheel is a subject too.
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
    shows: Shown | None = None
    spare: bool = False
    body: Callable[[Any], bool | None] | None = None
    reads: tuple[str, ...] = ()
    where: str = attrs.field(factory=lambda: _caller())

    def __attrs_post_init__(self) -> None:
        parts = self.id.split(".")
        if len(parts) != 3 or not all(part.replace("_", "").isalnum() and part.islower() for part in parts):
            raise self.fault(f"id {self.id!r} is not of the form pack.subject.aspect, in lower case")
        try:
            truth(self.check)
            if self.when is not None:
                truth(self.when)
        except (TypeError, ValueError) as error:
            raise self.fault(str(error)) from error
        if self.basis is Basis.SAFETY and self.supersedes:
            raise self.fault("a rule of basis safety supersedes nothing")
        deepest = LEVELS.get(self.subject, 1)
        for tree in (self.check, self.when):
            if tree is None:
                continue
            if level_of(tree) > deepest:
                raise self.fault(
                    f"its subject is a {self.subject}, and it reads fields of a wheel or axle",
                    "use every(...), some(...), same(...) or spread(...)",
                )
            if self.subject == "position" and any(isinstance(part, Aggregate) for part in walk(tree)):
                raise self.fault("a single position has no members", "make the axle or vehicle its subject")
        if self.shows is None and (found := shown_by(self.check)) is not None:
            object.__setattr__(self, "shows", found)

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
