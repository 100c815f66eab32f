"""Which missing fields could still change an unknown outcome, in columns.

The same walk as :func:`stemlore.rules._walker.missing_fields` takes for one
subject. It hangs on nothing but which parts of a tree are known, and which
way choices went. So columns give those bits alone; few patterns of bits
occur, and the tree is walked once for each.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from stemlore.audit._aggregates import MEMBER, RUNNING
from stemlore.audit._polars import pl
from stemlore.audit.columns import Reader
from stemlore.model import field_spec
from stemlore.rules.nodes import (
    UNKNOWN,
    Aggregate,
    Choose,
    Constant,
    DateBound,
    Field,
    Node,
    Or,
    Step,
    children,
    walk,
)

__all__ = ["AXLES", "FITMENT", "Pattern"]

FITMENT, AXLES = "axle.fitment", "vehicle.axles"
_BITS = 62
_SEEN = {
    "vehicle": ("vehicle",),
    "axle": ("vehicle", "axle"),
    "pair": ("vehicle", "axle"),
    "position": ("vehicle", "axle", "position"),
}
Asked = Callable[[str, Any, Any], bool]
"""Whether a bit is set: its kind, the node or path it is about, and a path where there is one."""


class Pattern:
    """The bits on which it hangs what a rule lacks on a subject where it is not known.

    Parameters
    ----------
    reader : Reader
        Reads trees for the rule's kind of subject.
    trees : sequence of Node
        Its condition and its check.
    reads : sequence of str
        Fields that its Python body reads.
    """

    def __init__(self, reader: Reader, trees: Sequence[Node], reads: Sequence[str] = ()) -> None:
        self.reader = reader
        self.trees = tuple(trees)
        self.reads = tuple(reads)
        self._bits: dict[tuple[str, Any, Any], pl.Expr] = {}
        self._number: dict[tuple[str, Any, Any], int] = {}
        self._seen: dict[int, tuple[str, ...]] = {}

        def ask(kind: str, about: Any, path: Any) -> bool:
            key = (kind, about, path)
            if key not in self._bits:
                self._bits[key] = self._expression(kind, about, path)
            return True

        for _ in _lacking(self.trees, ask, every=True):
            pass
        for path in self.reads:
            ask("silent", path, None)
        if reader.subject != "vehicle":
            ask("untold", None, None)
            ask("numbered", None, None)
        self._number = {key: bit for bit, key in enumerate(self._bits)}

    def columns(self) -> list[pl.Expr]:
        """Return the bits as whole numbers, 62 in each."""
        bits = list(self._bits.values())
        out = []
        for start in range(0, len(bits), _BITS):
            some = [
                expr.cast(pl.UInt64) * pl.lit(1 << at, dtype=pl.UInt64)
                for at, expr in enumerate(bits[start : start + _BITS])
            ]
            out.append(pl.sum_horizontal(some).alias(f"bits {start // _BITS}"))
        return out

    def lacking(self, numbers: Sequence[int]) -> tuple[str, ...]:
        """Return the fields that are missing by what :meth:`columns` gave for a row."""
        bits = sum(number << (_BITS * at) for at, number in enumerate(numbers))
        found = self._seen.get(bits)
        if found is None:
            found = self._seen[bits] = self._lacking(bits)
        return found

    def _lacking(self, bits: int) -> tuple[str, ...]:
        def ask(kind: str, about: Any, path: Any) -> bool:
            return bool(bits >> self._number[kind, about, path] & 1)

        if self.reader.subject != "vehicle" and ask("untold", None, None):
            return (FITMENT,) if ask("numbered", None, None) else (AXLES,)
        silent = (path for path in self.reads if ask("silent", path, None))
        return tuple(sorted({*_lacking(self.trees, ask), *silent}, key=_walk_order))

    def _expression(self, kind: str, about: Any, path: Any) -> pl.Expr:
        columns, subject = self.reader.columns, self.reader.subject
        match kind:
            case "null":
                return self.reader.read(about).is_null()
            case "true":
                return self.reader.read(about).fill_null(False)
            case "no date":
                return self._half_told(about)
            case "silent":
                spec = field_spec(about)
                if spec.level not in _SEEN[subject]:  # a body does not see it from such a subject
                    return pl.lit(True)
                return self._half_told(about) if spec.kind == "date" else columns.field(about).is_null()
            case "unsure":
                low, high = columns.bound(about, "earliest"), columns.bound(about, "latest")
                return (low != high).fill_null(False)
            case "numbered":
                return pl.col("axle_number").is_not_null()
            case "untold":
                if subject == "axle":
                    return pl.col("axle_number").is_null()
                return pl.col("unstated").fill_null(False)
            case "member":
                return self._member(about, path)
        declared = pl.col("vehicle_axle_count").is_not_null()
        incomplete = ~columns.windows.complete(subject)
        if kind == "no axles":
            return incomplete & ~declared
        untold = pl.col(RUNNING) & declared & pl.col("axle_number").is_not_null()
        return incomplete & columns.windows.any_of(untold & pl.col("axle_fitment").is_null(), subject)

    def _half_told(self, path: str) -> pl.Expr:
        """Return whether a date lacks its first or its last day: with one of them alone it is not known."""
        return self.reader.columns.bound(path, "earliest").is_null() | (
            self.reader.columns.bound(path, "latest").is_null()
        )

    def _member(self, of: Aggregate, path: str) -> pl.Expr:
        """Return whether any member lacks a field that its part of an aggregate hangs on."""
        inner = Pattern(Reader(self.reader.columns, "position"), (of.of,))
        lacks = inner.whether(path)
        return self.reader.columns.windows.any_of(pl.col(MEMBER) & lacks, self.reader.subject)

    def whether(self, path: str) -> pl.Expr:
        """Return the condition that a field is missing, for small trees."""
        return _or(self._paths_of(self.trees[0], path))

    def _paths_of(self, of: Node, path: str) -> list[pl.Expr]:
        own = self.reader.read(of).is_null()
        match of:
            case Field(name) | DateBound(name):
                return [own] if name == path else []
            case Step(name):
                unsure = self._expression("unsure", name, None)
                return [own & (self._expression("no date", name, None) | unsure)] if name == path else []
        parts: list[pl.Expr] = []
        if isinstance(of, Or) and UNKNOWN in of.parts:
            known = ~_or([self.reader.read(each).is_null() for each in of.parts if each != UNKNOWN])
            if path in _dates(of):
                parts.append(known & self._expression("unsure", path, None))
            inner = _or([each for part in of.parts for each in self._paths_of(part, path)])
            parts.append(~known & inner)
        elif isinstance(of, Choose):
            chosen = self.reader.read(of.condition)
            parts += self._paths_of(of.condition, path)
            for part, apart in ((of.then, chosen.fill_null(True)), (of.otherwise, ~chosen.fill_null(False))):
                parts += [apart & each for each in self._paths_of(part, path)]
        else:
            parts += [each for part in children(of) for each in self._paths_of(part, path)]
        return [own & _or(parts)] if parts else []


def _or(parts: Sequence[pl.Expr]) -> pl.Expr:
    out = pl.lit(False)
    for part in parts:
        out = out | part
    return out


def _dates(of: Node) -> tuple[str, ...]:
    return tuple(dict.fromkeys(part.path for part in walk(of) if isinstance(part, (DateBound, Step))))


def _lacking(parts: Sequence[Node], ask: Asked, *, every: bool = False) -> Iterator[str]:
    """Yield the fields that parts lack which are not known; with ``every``, ask for all there is to ask."""
    for part in parts:
        if isinstance(part, Constant) and part.value is not None:
            continue
        if ask("null", part, None):
            yield from _of(part, ask, every)


def _of(of: Node, ask: Asked, every: bool) -> Iterator[str]:
    match of:
        case Field(path) | DateBound(path):
            yield path
        case Step(path):
            no_date, unsure = ask("no date", path, None), ask("unsure", path, None)
            if no_date or unsure:
                yield path
        case Or(parts) if UNKNOWN in parts:
            told = [part for part in parts if part != UNKNOWN]
            asked = [ask("null", part, None) for part in told]
            if every or not any(asked):
                yield from (path for path in _dates(of) if ask("unsure", path, None))
            if every or any(asked):
                yield from _lacking(told, ask, every=every)
        case Aggregate():
            inner = dict.fromkeys(path for part in walk(of.of) for path in _read(part))
            yield from (path for path in inner if ask("member", of, path))
            if ask("no fitment", of, None):
                yield FITMENT
            if ask("no axles", of, None):
                yield AXLES
        case Choose(condition, then, otherwise):
            if ask("null", condition, None) or every:
                yield from _lacking((condition, then, otherwise), ask, every=every)
            if every or not ask("null", condition, None):
                chosen = ask("true", condition, None)
                yield from _lacking((then if chosen else otherwise,), ask, every=every)
        case _:
            yield from _lacking(children(of), ask, every=every)


def _read(of: Node) -> tuple[str, ...]:
    return (of.path,) if isinstance(of, (Field, DateBound, Step)) else ()


def _walk_order(path: str) -> tuple[int, str]:
    """Return vehicle first, then axle, then wheel, as a finding of the counter lists them."""
    prefix = path.partition(".")[0]
    return (0 if prefix in ("vehicle", "event") else 1 if prefix == "axle" else 2, path)
