"""The tree that a rule is made of.

A closed list of nodes. Nothing is computed when a tree is built; the same
tree is walked (:mod:`._walker`), turned into Python text (:mod:`._text`),
into columns (:mod:`stemlore.audit`) and into words.

Python's ``+ - * / < <= > >= & | ~`` build nodes; equality and membership are
methods, because Python's ``==`` and ``in`` must answer at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from types import ModuleType
from typing import Literal, NoReturn

import attrs

from stemlore.errors import NodeTruthError
from stemlore.model import FieldSpec, field_spec
from stemlore.units import DIMENSIONLESS, Unit, unit

__all__ = [
    "UNKNOWN",
    "Age",
    "Aggregate",
    "And",
    "Arithmetic",
    "Choose",
    "Compare",
    "Constant",
    "DateBound",
    "Equals",
    "Field",
    "FirstKnown",
    "Function",
    "InDays",
    "Lookup",
    "MonthDay",
    "Node",
    "Not",
    "OneOf",
    "Or",
    "Parameter",
    "Settled",
    "Span",
    "Step",
    "Today",
    "Unknown",
    "Within",
    "children",
    "walk",
]

Kind = Literal["number", "word", "flag", "date", "open"]
Operator = Literal["<", "<=", ">", ">="]


def _combine() -> ModuleType:
    # late: what puts nodes together needs the classes below
    from stemlore.rules import _combine as module

    return module


def _sum(operator: str, node: Node, other: object, *, swapped: bool = False) -> Node:
    """Join a node and whatever stands on the other side of an arithmetic operator."""
    combine = _combine()
    like = node if operator in "+-" else None
    if isinstance(other, str) and node.unit is not None and node.unit.dimension.temperature:
        like = None  # what is added to a temperature may be a difference: its own unit tells
    another = combine.as_node(other, like=like)
    left, right = (another, node) if swapped else (node, another)
    made: Node = combine.arithmetic(operator, left, right)
    return made


def _order(operator: Operator, node: Node, other: object) -> Node:
    combine = _combine()
    made: Node = combine.compare(operator, node, combine.as_node(other, like=node))
    return made


def _truth(of: object) -> Node:
    made: Node = _combine().truth(of)
    return made


class Node:
    """One part of a tree. See the module's list for what there is.

    Attributes
    ----------
    kind : {'number', 'word', 'flag', 'date', 'open'}
        What it gives; ``open`` until the parameters it names are known.
    unit : Unit or None
        The unit of a number.
    """

    __slots__ = ()

    kind: Kind
    unit: Unit | None

    # --- operators ---------------------------------------------------------------------------
    def __add__(self, other: object) -> Node:
        return _sum("+", self, other)

    def __radd__(self, other: object) -> Node:
        return _sum("+", self, other, swapped=True)

    def __sub__(self, other: object) -> Node:
        return _sum("-", self, other)

    def __rsub__(self, other: object) -> Node:
        return _sum("-", self, other, swapped=True)

    def __mul__(self, other: object) -> Node:
        return _sum("*", self, other)

    def __rmul__(self, other: object) -> Node:
        return _sum("*", self, other, swapped=True)

    def __truediv__(self, other: object) -> Node:
        return _sum("/", self, other)

    def __rtruediv__(self, other: object) -> Node:
        return _sum("/", self, other, swapped=True)

    def __pow__(self, other: object) -> Node:
        return _sum("**", self, other)

    def __neg__(self) -> Node:
        return _sum("*", self, -1.0, swapped=True)

    def __lt__(self, other: object) -> Node:
        return _order("<", self, other)

    def __le__(self, other: object) -> Node:
        return _order("<=", self, other)

    def __gt__(self, other: object) -> Node:
        return _order(">", self, other)

    def __ge__(self, other: object) -> Node:
        return _order(">=", self, other)

    def __and__(self, other: object) -> Node:
        return And((_truth(self), _truth(other)))

    def __or__(self, other: object) -> Node:
        return Or((_truth(self), _truth(other)))

    # what stands on the left is no node: _truth() says what is wrong with it
    def __rand__(self, other: object) -> Node:
        return And((_truth(other), _truth(self)))

    def __ror__(self, other: object) -> Node:
        return Or((_truth(other), _truth(self)))

    def __invert__(self) -> Node:
        return Not(_truth(self))

    def __bool__(self) -> NoReturn:
        raise NodeTruthError(
            "a part of a rule has no truth value until it is judged",
            advice="join conditions with & | ~ and choose(condition, a, b), not with and, or, not, if",
        )

    def __contains__(self, item: object) -> NoReturn:
        raise NodeTruthError("'in' cannot build a rule", advice="use .one_of(...) or .within(low, high)")

    def __iter__(self) -> Iterator[Node]:
        raise NodeTruthError("a part of a rule cannot be looped over", advice="use every(...) or some(...)")

    # --- what Python has no operator for -----------------------------------------------------
    def equals(self, other: object) -> Node:
        """Return the condition that both are the same."""
        combine = _combine()
        made: Node = combine.equals(self, combine.as_node(other, like=self))
        return made

    def differs(self, other: object) -> Node:
        """Return the condition that they are not the same."""
        return Not(self.equals(other))

    def within(self, low: object, high: object) -> Node:
        """Return the condition low <= self <= high."""
        combine = _combine()
        made: Node = combine.within(self, combine.as_node(low, like=self), combine.as_node(high, like=self))
        return made

    def one_of(self, *values: object) -> Node:
        """Return the condition that it is one of these words or numbers."""
        made: Node = _combine().one_of(self, values)
        return made

    # --- what arithmetic formulas ask of whatever they are given -------------------------------
    def chosen(self, then: object, otherwise: object) -> Node:
        """Return one of two values by this condition."""
        from stemlore.rules.build import choose

        return choose(self, then, otherwise)

    def exp(self) -> Node:
        """Return e to the power of this plain number."""
        from stemlore.rules.build import exp

        return exp(self)

    def log(self) -> Node:
        """Return the natural logarithm of this plain number."""
        from stemlore.rules.build import log

        return log(self)

    def in_unit(self, wanted: Unit) -> Node:
        """Return this number in another unit of its dimension."""
        made: Node = _combine().in_unit(self, wanted)
        return made

    def number(self, value: float | None, of: Unit) -> Node:
        """Return a number of a formula, exactly as it stands there; None is unknown."""
        return Constant(value, "number", of)


# --- leaves ----------------------------------------------------------------------------------


@attrs.frozen(order=False, cache_hash=True)
class Field(Node):
    """A field of a record, by path. Dates are spans: see :class:`DateBound`."""

    path: str
    kind: Kind
    unit: Unit | None

    @property
    def spec(self) -> FieldSpec:
        """The field's specification."""
        return field_spec(self.path)


@attrs.frozen(order=False, cache_hash=True)
class DateBound(Node):
    """The first or the last day that a date field can mean."""

    path: str
    end: Literal["earliest", "latest"]
    kind: Kind = "date"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Parameter(Node):
    """A dated, cited value of a pack, by name; known when the rulebook is opened."""

    name: str
    kind: Kind = "open"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Constant(Node):
    """A fixed value: a number in its unit, a word, a flag or a day; None where it is unknown.

    ``origin`` names the parameter that it was put in for.
    """

    value: float | str | bool | date | None
    kind: Kind
    unit: Unit | None = None
    origin: str = ""


@attrs.frozen(order=False, cache_hash=True)
class Unknown(Node):
    """A condition that is never known; from comparisons that straddle."""

    kind: Kind = "flag"
    unit: Unit | None = None


UNKNOWN = Unknown()


@attrs.frozen(order=False, cache_hash=True)
class Today(Node):
    """The day that ages count at: the event's, else the rulebook's."""

    kind: Kind = "date"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class MonthDay(Node):
    """Month times 100 plus day of that day, for seasons."""

    kind: Kind = "number"
    unit: Unit | None = DIMENSIONLESS


@attrs.frozen(order=False, cache_hash=True)
class InDays(Node):
    """Whether that day lies in one of several runs of days, for seasons whose ends move.

    ``edges`` are, in order, the first day of a run and the day after its last;
    unknown before the first edge and from the last one on.
    """

    edges: tuple[date, ...]
    words: str
    origin: str = ""
    kind: Kind = "flag"
    unit: Unit | None = None


# --- numbers ---------------------------------------------------------------------------------


@attrs.frozen(order=False, cache_hash=True)
class Arithmetic(Node):
    """Sum, difference, product, quotient or power of two numbers; not finite = unknown."""

    operator: Literal["+", "-", "*", "/", "**"]
    left: Node
    right: Node
    unit: Unit | None
    kind: Kind = "number"


@attrs.frozen(order=False, cache_hash=True)
class Function(Node):
    """exp or log of a plain number; outside its domain = unknown."""

    name: Literal["exp", "log"]
    of: Node
    kind: Kind = "number"
    unit: Unit | None = DIMENSIONLESS


@attrs.frozen(order=False, cache_hash=True)
class Settled(Node):
    """A computed number, rounded as readings and limits are, before it is compared."""

    of: Node
    unit: Unit | None
    kind: Kind = "number"


@attrs.frozen(order=False, cache_hash=True)
class Age(Node):
    """Calendar years from a day to :class:`Today`.

    Whole years to the last anniversary, then the part of the year that has
    passed. An anniversary of 29 February falls on 28 February in other
    years, as periods end on the last day of a month that lacks the day. A day
    to come is no age: unknown, unless ``clamp`` takes it for today.
    """

    of: Node
    clamp: bool = False
    kind: Kind = "number"
    unit: Unit | None = unit("year")


@attrs.frozen(order=False, cache_hash=True)
class Span(Node):
    """A number known to lie between two bounds; may only be compared."""

    low: Node
    high: Node
    unit: Unit | None
    kind: Kind = "number"


@attrs.frozen(order=False, cache_hash=True)
class Step(Node):
    """A value that depends on a date: ``values[i]`` from ``starts[i]`` on.

    Unknown where the date is missing, before the first start, or where the
    span of the date lies across a start and the values differ.
    """

    path: str
    starts: tuple[date, ...]
    values: tuple[float | str | bool | None, ...]
    kind: Kind
    unit: Unit | None = None
    origin: str = ""


@attrs.frozen(order=False, cache_hash=True)
class Choose(Node):
    """One of two values by a condition; unknown condition = unknown, unless both agree."""

    condition: Node
    then: Node
    otherwise: Node
    kind: Kind
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class FirstKnown(Node):
    """The first of two values that is known."""

    first: Node
    second: Node
    kind: Kind
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Lookup(Node):
    """A value from a reference table; not in the table = unknown."""

    table: str
    column: str
    key: Node
    how: Literal["exact", "stepped", "interpolated"]
    kind: Kind
    unit: Unit | None = None


# --- conditions ------------------------------------------------------------------------------


@attrs.frozen(order=False, cache_hash=True)
class Compare(Node):
    """An order between two numbers or two days."""

    operator: Operator
    left: Node
    right: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Within(Node):
    """low <= value <= high."""

    value: Node
    low: Node
    high: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Equals(Node):
    """Two values are the same."""

    left: Node
    right: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class OneOf(Node):
    """A value is one of a few constants."""

    value: Node
    options: tuple[float | str, ...]
    kind: Kind = "flag"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class And(Node):
    """All conditions hold (Kleene)."""

    parts: tuple[Node, ...]
    kind: Kind = "flag"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Or(Node):
    """At least one condition holds (Kleene)."""

    parts: tuple[Node, ...]
    kind: Kind = "flag"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Not(Node):
    """The condition does not hold (Kleene)."""

    of: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@attrs.frozen(order=False, cache_hash=True)
class Aggregate(Node):
    """Something over the members of a pair, an axle or a vehicle.

    ``every`` and ``some`` take a condition, ``same`` and ``spread`` a value.
    A member that the fitment demands and that is absent is missing: known
    members may settle a fail, never a pass. ``spread_low`` is the spread of
    the known members, ``spread_high`` the spread when all are known.
    """

    how: Literal["every", "some", "same", "spread_low", "spread_high"]
    of: Node
    kind: Kind
    unit: Unit | None = None


def children(of: Node) -> tuple[Node, ...]:
    """Return the parts directly below a node, left to right."""
    match of:
        case And(parts) | Or(parts):
            return parts
        case Arithmetic(_, left, right) | Compare(_, left, right) | Equals(left, right):
            return (left, right)
        case Within(value, low, high):
            return (value, low, high)
        case Choose(condition, then, otherwise):
            return (condition, then, otherwise)
        case FirstKnown(first, second):
            return (first, second)
        case Span(low, high):
            return (low, high)
        case Not() | Settled() | Function() | Age() | Aggregate():
            return (of.of,)
        case Lookup():
            return (of.key,)
        case OneOf(value):
            return (value,)
    return ()


def walk(of: Node) -> Iterator[Node]:
    """Yield a node and everything below it, parents first."""
    yield of
    for part in children(of):
        yield from walk(part)
