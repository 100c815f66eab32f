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

from stemlore.model import field_spec
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
)

__all__ = ["Judge", "Verdict", "compile_facts", "compile_verdicts"]

SubjectKind = Literal["vehicle", "axle", "pair", "position"]
Judge = Callable[[Any, Any, Any], list[Any]]
Verdict = tuple[Node | None, Node]
"""Condition under which a rule applies (None = always) and what it asks."""

PASS, FAIL, UNKNOWN_CODE, NOT_APPLICABLE = 0, 1, 2, 3
_LEVEL = {"vehicle": 0, "axle": 1, "pair": 1, "position": 2}
_HEAD, _BODY, _MEMBER, _TAIL = range(4)
_INDENT = {_HEAD: "    ", _BODY: "        ", _MEMBER: "            ", _TAIL: "        "}


class _Writer:
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
        if isinstance(of, Arithmetic) and of.operator in "+-*" and not isinstance(of.unit, type(None)):
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
            case Step(path, starts, values):
                span = self.atom(Field(path, "date", None), member)
                bound = f"{self.constant(starts)}, {self.constant(values)}"
                return f"None if {span} is None else kleene.step({bound}, {span}.earliest, {span}.latest)"
            case Age(day, clamp):
                return f"kleene.calendar_years({self.atom(day, member)}, today, {clamp is True})"
            case Aggregate():
                return self.aggregate(of)
            case Arithmetic(operator, left, right):
                return self.arithmetic(operator, self.atom(left, member), self.atom(right, member))
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
        source = f"{self.record(prefix, part)}.{name}"
        if spec.kind == "notation":
            return f"None if {source} is None else str({source})"
        return source

    @staticmethod
    def arithmetic(operator: str, a: str, b: str) -> str:
        if operator == "/":
            return f"kleene.quotient({a}, {b})"
        if operator == "**":
            return f"kleene.power({a}, {b})"
        return f"None if {a} is None or {b} is None else {a} {operator} {b}"

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

    # --- a verdict -------------------------------------------------------------------------
    def verdict(self, when: Node | None, check: Node) -> str:
        """Return an expression for a rule's outcome code."""
        if isinstance(check, (Compare, Within, Equals, OneOf, Not)) and (check, False) not in self.made:
            atoms, test = self.test(check, False)
        else:
            name = self.atom(check)
            atoms, test = [name], name
        unknown = " or ".join(f"{name} is None" for name in dict.fromkeys(atoms))
        code = f"0 if {test} else 1"
        if unknown:
            code = f"2 if {unknown} else {code}"
        if when is None:
            return code
        applies = self.atom(when)
        return f"({code}) if {applies} else 2 if {applies} is None else 3"

    def finish(self, name: str, outputs: Sequence[str], kind: Literal["bytes", "tuple", "rows"]) -> Any:
        """Put the function together, compile it and register its text for tracebacks."""
        head = f"def {name}(job, today, subjects):"
        each = "assembly, axle, maker, _" if self.kind == "position" else "_, axle, members, complete"
        loop = f"    for {each} in subjects:"
        if kind == "rows":
            head = f"def {name}(job, today, subjects, codes_of, first):"
            loop = f"    for at, (({each}), codes) in enumerate(zip(subjects, codes_of), first):"
        body = [head, *self.lines[_HEAD], "    out = []", loop, *self.lines[_BODY]]
        if self.lists:
            body += [f"        {values} = []" for values in self.lists]
            body += ["        for m_assembly, m_axle, m_maker, _m in members:", *self.lines[_MEMBER]]
        body += self.lines[_TAIL]
        joined = ",\n            ".join(outputs)
        comma = "," if len(outputs) == 1 else ""
        whole = f"({joined}{comma})"
        if kind == "rows":
            body.append(f"        out += {whole}")
        else:
            body.append(f"        out.append({'bytes(' + whole + ')' if kind == 'bytes' else whole})")
        body.append("    return out")
        text = "\n".join(body) + "\n"
        filename = f"<stemlore {name} {id(self):x}>"
        linecache.cache[filename] = (len(text), None, text.splitlines(True), filename)
        scope = dict(self.names)
        exec(compile(text, filename, "exec"), scope)  # noqa: S102 - our own text, which holds no data
        return scope[name]


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
    writer = _Writer(kind)
    outputs = [writer.verdict(when, check) for when, check in rules]
    made: Judge = writer.finish(f"judge_{kind}", outputs, "bytes")
    return made


def compile_facts(kind: SubjectKind, values: Sequence[Node | None]) -> Judge:
    """Return a function that gives what these trees come to, as a tuple, for each subject."""
    writer = _Writer(kind)
    outputs = ["None" if value is None else writer.atom(value) for value in values]
    made: Judge = writer.finish(f"measure_{kind}", outputs, "tuple")
    return made
