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
from typing import Any, Literal, NoReturn

import attrs

from stemlore.errors import BareNumberError, DimensionError, NodeTruthError, RuleError
from stemlore.model import FieldSpec, field_spec
from stemlore.units import DIMENSIONLESS, Dimension, Unit, measure, read_quantity, settle, unit

__all__ = [
    "UNKNOWN",
    "Aggregate",
    "Age",
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
    "as_node",
    "children",
    "truth",
]

Kind = Literal["number", "word", "flag", "date", "open"]
Operator = Literal["<", "<=", ">", ">="]


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
        return arithmetic("+", self, as_node(other, like=self))

    def __radd__(self, other: object) -> Node:
        return arithmetic("+", as_node(other, like=self), self)

    def __sub__(self, other: object) -> Node:
        return arithmetic("-", self, as_node(other, like=self))

    def __rsub__(self, other: object) -> Node:
        return arithmetic("-", as_node(other, like=self), self)

    def __mul__(self, other: object) -> Node:
        return arithmetic("*", self, as_node(other))

    def __rmul__(self, other: object) -> Node:
        return arithmetic("*", as_node(other), self)

    def __truediv__(self, other: object) -> Node:
        return arithmetic("/", self, as_node(other))

    def __rtruediv__(self, other: object) -> Node:
        return arithmetic("/", as_node(other), self)

    def __pow__(self, other: object) -> Node:
        return arithmetic("**", self, as_node(other))

    def __neg__(self) -> Node:
        return arithmetic("-", Constant(0.0, "number", self.unit or DIMENSIONLESS), self)

    def __lt__(self, other: object) -> Node:
        return compare("<", self, as_node(other, like=self))

    def __le__(self, other: object) -> Node:
        return compare("<=", self, as_node(other, like=self))

    def __gt__(self, other: object) -> Node:
        return compare(">", self, as_node(other, like=self))

    def __ge__(self, other: object) -> Node:
        return compare(">=", self, as_node(other, like=self))

    def __and__(self, other: object) -> Node:
        return And((truth(self), truth(other)))

    def __or__(self, other: object) -> Node:
        return Or((truth(self), truth(other)))

    def __rand__(self, other: object) -> NoReturn:
        truth(other)
        raise NodeTruthError("unreachable")  # pragma: no cover - truth() refuses what is no node

    __ror__ = __rand__

    def __invert__(self) -> Node:
        return Not(truth(self))

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
        return equals(self, as_node(other, like=self))

    def differs(self, other: object) -> Node:
        """Return the condition that they are not the same."""
        return Not(self.equals(other))

    def within(self, low: object, high: object) -> Node:
        """Return the condition low <= self <= high."""
        return within(self, as_node(low, like=self), as_node(high, like=self))

    def one_of(self, *values: object) -> Node:
        """Return the condition that it is one of these words or numbers."""
        return one_of(self, values)


def node(cls: type[Any]) -> type[Any]:
    """Make a class a node: frozen, slotted, structurally equal, hash kept."""
    return attrs.frozen(cls, cache_hash=True, repr=True)


def truth(of: object) -> Node:
    """Return ``of`` if it is a condition, else say what is wrong with it."""
    if not isinstance(of, Node):
        raise NodeTruthError(
            f"{of!r} stands where a condition is needed",
            advice="'==' and 'in' answer at once; use .equals() .differs() .within() .one_of()",
        )
    if of.kind not in ("flag", "open"):
        raise RuleError(f"a {of.kind} stands where a condition is needed", advice="compare it with something")
    return of


# --- leaves ----------------------------------------------------------------------------------


@node
class Field(Node):
    """A field of a record, by path. Dates are spans: see :class:`DateBound`."""

    path: str
    kind: Kind
    unit: Unit | None

    @property
    def spec(self) -> FieldSpec:
        """The field's specification."""
        return field_spec(self.path)


@node
class DateBound(Node):
    """The first or the last day that a date field can mean."""

    path: str
    end: Literal["earliest", "latest"]
    kind: Kind = "date"
    unit: Unit | None = None


@node
class Parameter(Node):
    """A dated, cited value of a pack, by name; known when the rulebook is opened."""

    name: str
    kind: Kind = "open"
    unit: Unit | None = None


@node
class Constant(Node):
    """A fixed value: a number in its unit, a word, a flag or a day; None where it is unknown."""

    value: float | str | bool | date | None
    kind: Kind
    unit: Unit | None = None


@node
class Unknown(Node):
    """A condition that is never known; from comparisons that straddle."""

    kind: Kind = "flag"
    unit: Unit | None = None


UNKNOWN = Unknown()


@node
class Today(Node):
    """The day that ages count at: the event's, else the rulebook's."""

    kind: Kind = "date"
    unit: Unit | None = None


@node
class MonthDay(Node):
    """Month times 100 plus day of that day, for seasons."""

    kind: Kind = "number"
    unit: Unit | None = DIMENSIONLESS


# --- numbers ---------------------------------------------------------------------------------


@node
class Arithmetic(Node):
    """Sum, difference, product, quotient or power of two numbers; not finite = unknown."""

    operator: Literal["+", "-", "*", "/", "**"]
    left: Node
    right: Node
    unit: Unit | None
    kind: Kind = "number"


@node
class Function(Node):
    """exp or log of a plain number; outside its domain = unknown."""

    name: Literal["exp", "log"]
    of: Node
    kind: Kind = "number"
    unit: Unit | None = DIMENSIONLESS


@node
class Settled(Node):
    """A computed number, rounded as readings and limits are, before it is compared."""

    of: Node
    unit: Unit | None
    kind: Kind = "number"


@node
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


@node
class Span(Node):
    """A number known to lie between two bounds; may only be compared."""

    low: Node
    high: Node
    unit: Unit | None
    kind: Kind = "number"


@node
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


@node
class Choose(Node):
    """One of two values by a condition; unknown condition = unknown, unless both agree."""

    condition: Node
    then: Node
    otherwise: Node
    kind: Kind
    unit: Unit | None = None


@node
class FirstKnown(Node):
    """The first of two values that is known."""

    first: Node
    second: Node
    kind: Kind
    unit: Unit | None = None


@node
class Lookup(Node):
    """A value from a reference table; not in the table = unknown."""

    table: str
    column: str
    key: Node
    how: Literal["exact", "stepped", "interpolated"]
    kind: Kind
    unit: Unit | None = None


# --- conditions ------------------------------------------------------------------------------


@node
class Compare(Node):
    """An order between two numbers or two days."""

    operator: Operator
    left: Node
    right: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@node
class Within(Node):
    """low <= value <= high."""

    value: Node
    low: Node
    high: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@node
class Equals(Node):
    """Two values are the same."""

    left: Node
    right: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@node
class OneOf(Node):
    """A value is one of a few constants."""

    value: Node
    options: tuple[float | str, ...]
    kind: Kind = "flag"
    unit: Unit | None = None


@node
class And(Node):
    """All conditions hold (Kleene)."""

    parts: tuple[Node, ...]
    kind: Kind = "flag"
    unit: Unit | None = None


@node
class Or(Node):
    """At least one condition holds (Kleene)."""

    parts: tuple[Node, ...]
    kind: Kind = "flag"
    unit: Unit | None = None


@node
class Not(Node):
    """The condition does not hold (Kleene)."""

    of: Node
    kind: Kind = "flag"
    unit: Unit | None = None


@node
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


# --- making them, with their dimensions checked ----------------------------------------------


def _is_open(*nodes: Node) -> bool:
    return any(part.kind == "open" for part in nodes)


def as_node(value: object, *, like: Node | None = None) -> Node:
    """Turn a value that stands in a rule into a node.

    Text with a unit becomes a number; other text a word; a day a date. A
    bare number is refused where the other side has a unit.
    """
    if isinstance(value, Node):
        return value
    if isinstance(value, bool):
        return Constant(value, "flag")
    if isinstance(value, date):
        return Constant(value, "date")
    if isinstance(value, (int, float)):
        if like is not None and like.kind == "number" and like.unit is not None and like.unit is not DIMENSIONLESS:
            raise BareNumberError(
                f"{value!r} has no unit, and {like.unit} is on the other side",
                advice=f"write '{value} {like.unit}'",
            )
        return Constant(settle(float(value)), "number", DIMENSIONLESS)
    if isinstance(value, str):
        if like is not None and like.kind == "number":
            number = measure(value, like.unit or DIMENSIONLESS)
            return Constant(_known(number), "number", like.unit)
        if like is None or like.kind == "open":
            try:
                number, given = read_quantity(value)
            except (ValueError, TypeError):
                return Constant(value, "word")
            return Constant(settle(number), "number", given)
        return Constant(value, "word")
    raise RuleError(f"{value!r} cannot stand in a rule", advice="use a field, a parameter, text with a unit, or a day")


def _known(number: float | None) -> float:
    if number is None:
        raise RuleError("a constant must be a finite number")
    return number


_DIFFERENCE = unit("delta_degC")


def _temperature_sum(operator: Literal["+", "-"], left: Node, right: Node) -> Node:
    """Return a sum in which temperatures stand: a difference of two is no temperature."""
    a, b = _dimension(left), _dimension(right)
    if (left.unit or DIMENSIONLESS).factor != (right.unit or DIMENSIONLESS).factor:
        raise DimensionError(f"{left.unit} and {right.unit} are different scales", advice="use degC throughout")
    plain = Dimension(temperature=1)
    gap = _DIFFERENCE
    if a.difference and b.difference:
        return Arithmetic(operator, left, right, left.unit)
    if operator == "-" and a == b == plain and left.unit == right.unit:
        return Arithmetic(operator, left, right, gap)
    if a == plain and b.difference:
        return Arithmetic(operator, left, right, left.unit)
    if operator == "+" and a.difference and b == plain:
        return Arithmetic(operator, left, right, right.unit)
    raise DimensionError(
        "two temperatures cannot be added", advice="add a difference, such as '10 delta_degC', to a temperature"
    )


def _dimension(of: Node) -> Dimension:
    return (of.unit or DIMENSIONLESS).dimension


def _number(of: Node, role: str) -> None:
    if of.kind not in ("number", "open"):
        raise DimensionError(f"a {of.kind} cannot be {role}", advice="only numbers can")
    if isinstance(of, Span):
        raise RuleError("a span cannot be computed with", advice="compare it with a limit instead")


def in_unit(of: Node, wanted: Unit) -> Node:
    """Return the node converted to another unit of its dimension."""
    given = of.unit or DIMENSIONLESS
    if given == wanted or _is_open(of):
        return of
    if given.dimension != wanted.dimension:
        raise DimensionError(
            f"{given} is a {given.dimension}, {wanted} is a {wanted.dimension}: they cannot be put together"
        )
    if isinstance(of, Constant) and isinstance(of.value, float):
        from stemlore.units import convert

        return Constant(convert(of.value, given, wanted), "number", wanted)
    if isinstance(of, Span):
        return Span(in_unit(of.low, wanted), in_unit(of.high, wanted), wanted)
    if given.offset or wanted.offset:
        shift = given.offset * (given.factor / wanted.factor) - wanted.offset
        scaled = Arithmetic("*", of, Constant(given.factor / wanted.factor, "number", DIMENSIONLESS), wanted)
        return Arithmetic("+", scaled, Constant(shift, "number", wanted), wanted)
    return Arithmetic("*", of, Constant(given.factor / wanted.factor, "number", DIMENSIONLESS), wanted)


def arithmetic(operator: Literal["+", "-", "*", "/", "**"], left: Node, right: Node) -> Node:
    """Return a sum, difference, product, quotient or power with its unit.

    Raises
    ------
    DimensionError
        If the dimensions do not fit.
    """
    _number(left, "computed with")
    _number(right, "computed with")
    if _is_open(left, right):
        return Arithmetic(operator, left, right, None, "open")
    if operator in ("+", "-"):
        if {_dimension(left).temperature, _dimension(right).temperature} == {1}:
            return _temperature_sum(operator, left, right)
        wanted = left.unit or DIMENSIONLESS
        return Arithmetic(operator, left, in_unit(right, wanted), wanted)
    if operator == "*":
        return Arithmetic(operator, left, right, (left.unit or DIMENSIONLESS) * (right.unit or DIMENSIONLESS))
    if operator == "/":
        return Arithmetic(operator, left, right, (left.unit or DIMENSIONLESS) / (right.unit or DIMENSIONLESS))
    if _dimension(left) != DIMENSIONLESS.dimension or _dimension(right) != DIMENSIONLESS.dimension:
        raise DimensionError("a power takes plain numbers", advice="divide by a reference value first")
    return Arithmetic(operator, in_unit(left, DIMENSIONLESS), in_unit(right, DIMENSIONLESS), DIMENSIONLESS)


def _comparable(left: Node, right: Node) -> tuple[Node, Node]:
    for side in (left, right):
        if side.kind not in ("number", "date", "open"):
            raise DimensionError(f"a {side.kind} has no order", advice="use .equals() or .one_of()")
    left, right = bounds_of(left), bounds_of(right)
    if _is_open(left, right):
        return left, right
    if left.kind != right.kind:
        raise DimensionError(f"a {left.kind} cannot be compared with a {right.kind}")
    if left.kind == "number":
        if isinstance(left, Constant) and not isinstance(right, Constant):
            left = in_unit(left, right.unit or DIMENSIONLESS)
        else:
            right = in_unit(right, left.unit or DIMENSIONLESS)
        left, right = settled(left), settled(right)
    return left, right


def bounds_of(of: Node) -> Node:
    """Return a date field as the span of days that it can mean; anything else as it is."""
    if isinstance(of, Field) and of.kind == "date":
        return Span(DateBound(of.path, "earliest"), DateBound(of.path, "latest"), None, "date")
    return of


def settled(of: Node) -> Node:
    """Wrap a computed number so that it is rounded before it is compared."""
    if isinstance(of, Span):
        return Span(settled(of.low), settled(of.high), of.unit, of.kind)
    if isinstance(of, Choose) and of.kind == "number":
        return Choose(of.condition, settled(of.then), settled(of.otherwise), "number", of.unit)
    if isinstance(of, FirstKnown):
        return FirstKnown(settled(of.first), settled(of.second), of.kind, of.unit)
    if isinstance(of, (Arithmetic, Function, Aggregate)) or (isinstance(of, Lookup) and of.how == "interpolated"):
        return Settled(of, of.unit)
    return of


def compare(operator: Operator, left: Node, right: Node) -> Node:
    """Return an order between two numbers or days, in one unit and rounded."""
    return Compare(operator, *_comparable(left, right))


def within(value: Node, low: Node, high: Node) -> Node:
    """Return low <= value <= high."""
    value = bounds_of(value)
    if isinstance(value, Span):
        return And((compare(">=", value, low), compare("<=", value, high)))
    value_low, low = _comparable(value, low)
    _, high = _comparable(value, high)
    return Within(value_low, low, high)


def equals(left: Node, right: Node) -> Node:
    """Return the condition that two values of one kind are the same."""
    if not _is_open(left, right):
        if left.kind != right.kind:
            raise DimensionError(f"a {left.kind} cannot equal a {right.kind}")
        if left.kind == "number":
            left, right = _comparable(left, right)
        _check_word(left, right)
        _check_word(right, left)
    return Equals(left, right)


def _check_word(of: Node, other: Node) -> None:
    if isinstance(of, Field) and isinstance(other, Constant) and of.spec.words:
        _known_word(of, other.value)


def _known_word(of: Field, value: object) -> None:
    words = of.spec.words
    if words and value not in words:
        raise RuleError(f"{value!r} is not a word of {of.path}", advice=f"one of {', '.join(words)}")


def one_of(value: Node, options: tuple[object, ...]) -> Node:
    """Return the condition that a value is one of these."""
    if not options:
        raise RuleError("one_of() needs at least one value")
    made: list[float | str] = []
    for option in options:
        constant = as_node(option, like=value)
        if not isinstance(constant, Constant) or isinstance(constant.value, (bool, date)):
            raise RuleError(f"{option!r} is not a constant", advice="one_of() takes words or numbers")
        if constant.value is None:
            raise RuleError("one_of() takes known values only")
        if isinstance(value, Field):
            _known_word(value, constant.value)
        made.append(constant.value)
    return OneOf(settled(value) if value.kind == "number" else value, tuple(made))


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
