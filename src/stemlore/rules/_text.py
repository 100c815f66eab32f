"""Python text made from trees: one function for each kind of subject.

The text holds no data: constants are bound by index (``k3``), names come from
counters. Each part that several rules share is computed once; parts that
read the vehicle alone stand before the loop over subjects. A condition is
two-valued behind a test for None.

Functions have the form ``judge(job, today, subjects) -> list`` and give, for
each subject, what the outputs asked for come to.
"""

from __future__ import annotations

import linecache
from collections.abc import Callable, Sequence
from typing import Any, Literal

from stemlore.model import field_spec, own_reader
from stemlore.rules import _kleene as kleene
from stemlore.rules._lower import has_aggregate, level_of
from stemlore.rules._walker import lookup_table
from stemlore.rules.nodes import (
    Age,
    Aggregate,
    And,
    Arithmetic,
    Choose,
    Compare,
    Constant,
    DateBound,
    Equals,
    Field,
    FirstKnown,
    Function,
    InDays,
    Lookup,
    MonthDay,
    Node,
    Not,
    OneOf,
    Or,
    Settled,
    Step,
    Today,
    Unknown,
    Within,
    children,
)

__all__ = ["Judge", "Verdict", "Writer", "compile_verdicts"]

SubjectKind = Literal["vehicle", "axle", "pair", "position"]
Judge = Callable[[Any, Any, Any], list[Any]]
Verdict = tuple[Node | None, Node]
"""Condition under which a rule applies (None = always) and what it asks."""

PASS, FAIL, UNKNOWN_CODE, NOT_APPLICABLE = 0, 1, 2, 3
_LEVEL = {"vehicle": 0, "axle": 1, "pair": 1, "position": 2}
_HEAD, _BODY, _MEMBER, _TAIL = range(4)
TAIL = _TAIL
_INDENT = {_HEAD: "    ", _BODY: "        ", _MEMBER: "            ", _TAIL: "        "}


class Writer:
    """Collects the lines of one function."""

    def __init__(self, kind: SubjectKind) -> None:
        self.level = _LEVEL[kind]
        self.kind = kind
        self.names: dict[str, Any] = {"kleene": kleene, "_floor": kleene.settled}
        self.lines: dict[int, list[str]] = {part: [] for part in range(4)}
        self.made: dict[tuple[Any, bool], str] = {}
        self.records: set[tuple[int, str]] = set()
        self.lists: list[str] = []
        self.count = 0
        self.rule_of_line: list[tuple[int, int, int]] = []
        self.rule = -1

    # --- names ---------------------------------------------------------------------------
    def constant(self, value: Any) -> str:
        name = f"k{len(self.names)}"
        self.names[name] = value
        return name

    def fresh(self) -> str:
        self.count += 1
        return f"t{self.count}"

    def line(self, part: int, text: str) -> None:
        self.lines[part].append(_INDENT[part] + text)

    def place(self, of: Node, member: bool) -> int:
        """Return which part of the function a node belongs to."""
        if has_aggregate(of):
            return _TAIL
        level = level_of(of)
        if level == 0:
            return _HEAD
        return _BODY if level <= self.level and not (member and self.level == 0) else _MEMBER

    # --- records -------------------------------------------------------------------------
    def record(self, prefix: str, part: int) -> str:
        """Return the local name of a record, loading it at first use."""
        inner = part == _MEMBER
        if prefix == "vehicle":
            source, name, part = "job.vehicle", "vehicle", _HEAD
        elif prefix == "event":
            source, name, part = "job.event", "event", _HEAD
        elif prefix in ("axle", "maker", "assembly"):
            return f"m_{prefix}" if inner else prefix
        else:
            name = f"m_{prefix}" if inner else prefix
            source = f"{'m_' if inner else ''}assembly.{prefix}"
        if (part, name) not in self.records:
            self.records.add((part, name))
            self.line(part, f"{name} = {source}")
        return name

    # --- values --------------------------------------------------------------------------
    def atom(self, of: Node, member: bool = False) -> str:
        """Return a name for what a node gives, writing the lines that compute it."""
        part = self.place(of, member)
        key = (of, part == _MEMBER)
        name = self.made.get(key)
        if name is None:
            name = self.made[key] = self.write(of, part, member)
        return name

    def write(self, of: Node, part: int, member: bool) -> str:
        match of:
            case Constant(None) | Unknown():
                return "None"
            case Constant(value):
                return self.constant(value)
            case Today():
                return "today"
        text = self.expression(of, part, member)
        name = self.fresh()
        self.line(part, f"{name} = {text}")
        if isinstance(of, Arithmetic) and of.operator in "+-*":
            self.line(part, f"if {name} is not None and {name} - {name} != 0: {name} = None")
        return name

    def expression(self, of: Node, part: int, member: bool) -> str:
        match of:
            case Field(path):
                return self.load(path, part)
            case DateBound(path, end):
                span = self.atom(Field(path, "date", None), member)
                return f"None if {span} is None else {span}.{end}"
            case MonthDay():
                return "kleene.month_day(today)"
            case InDays(edges):
                return f"kleene.in_days({self.constant(edges)}, today)"
            case Step(path, starts, values):
                span = self.atom(Field(path, "date", None), member)
                bound = f"{self.constant(starts)}, {self.constant(values)}"
                return f"None if {span} is None else kleene.step({bound}, {span}.earliest, {span}.latest)"
            case Age(day, clamp):
                return f"kleene.calendar_years({self.atom(day, member)}, today, {clamp is True})"
            case Aggregate():
                return self.aggregate(of)
            case Arithmetic(operator, left, right):
                whole = _may_be_whole(left) and _may_be_whole(right)
                return self.arithmetic(
                    operator, self.atom(left, member), self.atom(right, member), whole=whole
                )
            case Function(name, inner):
                return f"kleene.{'exponential' if name == 'exp' else 'logarithm'}({self.atom(inner, member)})"
            case Settled(inner):
                return f"kleene.settled({self.atom(inner, member)})"
            case Choose(condition, then, otherwise):
                c, a, b = (self.atom(each, member) for each in (condition, then, otherwise))
                return f"{a} if {c} or (({a} == {b}) and {c} is None) else {b} if {c} is False else None"
            case FirstKnown(first, second):
                a, b = self.atom(first, member), self.atom(second, member)
                return f"{b} if {a} is None else {a}"
            case Lookup():
                return self.lookup(of, self.atom(of.key, member))
            case And(parts):
                return self.joined([self.atom(each, member) for each in parts], "False", "True", "and")
            case Or(parts):
                return self.joined([self.atom(each, member) for each in parts], "True", "False", "or")
        atoms, test = self.test(of, member)
        return f"{_none(atoms)}{test}"

    def test(self, of: Node, member: bool) -> tuple[list[str], str]:
        """Return the names that may be None and a two-valued test for when none is."""
        match of:
            case Compare(operator, left, right):
                a, b = self.atom(left, member), self.atom(right, member)
                return self.maybe((left, a), (right, b)), f"{a} {operator} {b}"
            case Within(value, low, high):
                x, a, b = (self.atom(each, member) for each in (value, low, high))
                return self.maybe((value, x), (low, a), (high, b)), f"{a} <= {x} <= {b}"
            case Equals(left, right):
                a, b = self.atom(left, member), self.atom(right, member)
                return self.maybe((left, a), (right, b)), f"{a} == {b}"
            case OneOf(value, options):
                x = self.atom(value, member)
                known: Any = frozenset(options)
                return self.maybe((value, x)), f"{x} in {self.constant(known)}"
            case Not(inner):
                x = self.atom(inner, member)
                return [x], f"not {x}"
        x = self.atom(of, member)
        return [x], x

    @staticmethod
    def maybe(*pairs: tuple[Node, str]) -> list[str]:
        return [
            name
            for node, name in pairs
            if name == "None" or not isinstance(node, (Constant, Today, MonthDay))
        ]

    def load(self, path: str, part: int) -> str:
        prefix, _, name = path.partition(".")
        spec = field_spec(path)
        if prefix == "own":
            record = "job" if spec.level == "vehicle" else self.record("assembly", part)
            return f"{self.constant(own_reader(path))}({record}.own)"
        source = f"{self.record(prefix, part)}.{name}"
        if spec.kind == "notation":
            return f"None if {source} is None else str({source})"
        return source

    @staticmethod
    def arithmetic(operator: str, a: str, b: str, *, whole: bool) -> str:
        if operator == "/":
            return f"kleene.quotient({a}, {b})"
        if operator == "**":
            return f"kleene.power({a}, {b})"
        # two whole numbers are computed with as floats, which every reading can
        left = f"float({a})" if whole else a
        return f"None if {a} is None or {b} is None else {left} {operator} {b}"

    def lookup(self, of: Lookup, key: str) -> str:
        rows = lookup_table(of)
        if of.how == "exact":
            return f"{self.constant(rows.get)}({key})"
        call = "stepped" if of.how == "stepped" else "interpolated"
        return f"kleene.{call}({self.constant(rows[0])}, {self.constant(rows[1])}, {key})"

    @staticmethod
    def joined(atoms: list[str], short: str, full: str, word: str) -> str:
        """Return Kleene's and / or: ``short`` settles it, ``full`` if all are known."""
        settles = " or ".join(f"{name} is {short}" for name in atoms)
        unknown = " or ".join(f"{name} is None" for name in atoms)
        return f"{short} if {settles} else None if {unknown} else {full}"

    def aggregate(self, of: Aggregate) -> str:
        inner = self.atom(of.of, member=True)
        values = f"v{len(self.lists)}"
        self.lists.append(values)
        self.line(_MEMBER, f"{values}.append({inner})")
        match of.how:
            case "every":
                return f"kleene.all_true({values} if complete else [*{values}, None])"
            case "some":
                return f"kleene.any_true({values} if complete else [*{values}, None])"
            case "same":
                return f"kleene.same({values}, complete)"
        return f"kleene.spread({values}, complete, low={of.how == 'spread_low'})"

    # --- verdicts --------------------------------------------------------------------------
    def verdicts(self, rules: Sequence[Verdict]) -> None:
        """Write the lines that fill in the codes of all rules, those of one condition together.

        Codes begin as passes, so that a rule that passes writes nothing. What
        a condition on the vehicle alone rules out is filled in once a job.
        """
        blocks: dict[str, list[int]] = {}
        lines: dict[int, list[str]] = {}
        outside: set[str] = set()
        for index, (when, check) in enumerate(rules):
            lines[index] = self.verdict(index, check)
            applies = ""
            if when is not None:
                applies = self.atom(when)
                if self.place(when, False) == _HEAD:
                    outside.add(applies)
            blocks.setdefault(applies, []).append(index)
        self.line(_HEAD, f"start = bytearray({len(rules)})")
        for applies, mine in blocks.items():
            inner = [line for index in mine for line in lines[index]]
            if not applies:
                for line in inner:
                    self.line(_TAIL, line)
                continue
            if inner:
                self.line(_TAIL, f"if {applies}:")
            for line in inner:
                self.line(_TAIL, f"    {line}")
            known = f"2 if {applies} is None else 3"
            if applies in outside:
                self.line(_HEAD, f"if not {applies}:")
                self.line(_HEAD, f"    for at in {self.constant(tuple(mine))}: start[at] = {known}")
            else:
                fill = " = ".join(f"c[{index}]" for index in mine)
                self.line(_TAIL, f"{'else' if inner else f'if not {applies}'}: {fill} = {known}")

    def verdict(self, index: int, check: Node) -> list[str]:
        """Return the lines that fill in one rule's code where it does not pass."""
        if isinstance(check, (Compare, Within, Equals, OneOf, Not)) and (check, False) not in self.made:
            atoms, test = self.test(check, False)
        else:
            name = self.atom(check)
            atoms, test = [name], name
        fails = f"if not {test}: c[{index}] = 1"
        unknown = " or ".join(f"{name} is None" for name in dict.fromkeys(atoms))
        return [f"if {unknown}: c[{index}] = 2", f"el{fails}"] if unknown else [fails]

    def finish(self, name: str, arguments: str, begin: str, add: str) -> Any:
        """Put the function together, compile it and register its text for tracebacks.

        ``begin`` stands first for each subject, ``add`` says what it gives.
        """
        each = "assembly, axle, maker, _" if self.kind == "position" else "_, axle, members, complete"
        loop = f"    for {each} in subjects:"
        if arguments:
            loop = f"    for ({each}), {arguments} in zip(subjects, {arguments}_of):"
            arguments = f", {arguments}_of"
        # as arguments, constants are loaded like locals
        constants = [each for each in self.names if each.startswith("k") and each[1:].isdigit()]
        arguments += "".join(f", {each}={each}" for each in constants)
        body = [f"def {name}(job, today, subjects{arguments}):", *self.lines[_HEAD], "    out = []", loop]
        body += [f"        {begin}", *self.lines[_BODY]]
        if self.lists:
            body += [f"        {values} = []" for values in self.lists]
            body += ["        for m_assembly, m_axle, m_maker, _m in members:", *self.lines[_MEMBER]]
        body += [*self.lines[_TAIL], f"        out.append({add})", "    return out"]
        text = "\n".join(body) + "\n"
        filename = f"<stemlore {name} {id(self):x}>"
        linecache.cache[filename] = (len(text), None, text.splitlines(True), filename)
        scope = dict(self.names)
        exec(compile(text, filename, "exec"), scope)  # noqa: S102 - our own text, which holds no data
        return scope[name]


def _may_be_whole(of: Node) -> bool:
    """Return whether a number may be an int."""
    match of:
        case Field(path):
            return field_spec(path).kind == "integer"
        case Constant(value):
            return isinstance(value, int)
        case Choose() | FirstKnown():
            return any(_may_be_whole(part) for part in children(of) if part.kind == "number")
    return isinstance(of, (Lookup, Step))


def _none(atoms: Sequence[str]) -> str:
    tests = " or ".join(f"{name} is None" for name in dict.fromkeys(atoms))
    return f"None if {tests} else " if tests else ""


def compile_verdicts(kind: SubjectKind, rules: Sequence[Verdict]) -> Judge:
    """Return a function that gives the outcome codes of all rules, as bytes, for each subject.

    Parameters
    ----------
    kind : str
        Kind of subject.
    rules : sequence of (when, check)
        Trees without spans or open parameters.
    """
    writer = Writer(kind)
    writer.verdicts(rules)
    made: Judge = writer.finish(f"judge_{kind}", "", "c = start.copy()", "bytes(c)")
    return made
