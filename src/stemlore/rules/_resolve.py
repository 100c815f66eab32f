"""Opening rules for places and an epoch: parameters put in, parents superseded, functions compiled."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from functools import cached_property
from typing import Literal

import attrs

from stemlore.errors import RuleError, StemloreError, UnknownFieldError
from stemlore.provenance import Citation
from stemlore.rules._combine import in_unit, truth
from stemlore.rules._figures import Measure, compile_figures
from stemlore.rules._guard import guarded
from stemlore.rules._lower import LEVELS, has_aggregate, level_of, lowered
from stemlore.rules._text import Judge, compile_verdicts
from stemlore.rules.build import rebuilt
from stemlore.rules.nodes import Constant, Node, Not, Parameter, children, walk
from stemlore.rules.pack import Pack
from stemlore.rules.parameters import ParameterHistory
from stemlore.rules.places import country_of
from stemlore.rules.rule import Gravity, Rule, Shown, shown_by
from stemlore.units import DIMENSIONLESS

__all__ = ["Compiled", "OpenRule", "RuleGroup", "compile_rules", "open_rules"]


@attrs.frozen(kw_only=True, eq=False)
class OpenRule:
    """A rule with its parameters put in, as it stands in a rulebook.

    Attributes
    ----------
    rule, pack : Rule and Pack
        What it was made from.
    check, when : Node
        Trees without parameters or spans.
    shows : Shown or None
        What a finding shows, spans kept.
    parameters : tuple of ParameterHistory
        The parameters it uses.
    reason : str
        Why it cannot be known on this day, whatever is measured; else empty.
    narrowed_by : tuple of str
        Rules that stand in for it under their condition.
    guarded : bool
        Whether the uncertainty of what is measured counts.
    """

    rule: Rule
    pack: Pack
    check: Node
    when: Node | None
    shows: Shown | None
    parameters: tuple[ParameterHistory, ...]
    reason: str = ""
    narrowed_by: tuple[str, ...] = ()
    guarded: bool = False

    @property
    def citation(self) -> Citation:
        """Source and clause of the rule."""
        return self.pack.citation(self.rule.cite)


def parameters_of(rule: Rule) -> tuple[str, ...]:
    """Return the names of the parameters that a rule uses, in order."""
    names: dict[str, None] = {}
    for tree in (rule.check, rule.when):
        for part in walk(tree) if tree is not None else ():
            if isinstance(part, Parameter):
                names[part.name] = None
    return tuple(names)


def _put_in(of: Node, value_of: Callable[[str], Node]) -> Node:
    """Return a tree with its parameters replaced by their values, dimensions checked anew."""
    if isinstance(of, Parameter):
        return value_of(of.name)
    parts = children(of)
    if not parts:
        return of
    new = tuple(_put_in(part, value_of) for part in parts)
    if all(a is b for a, b in zip(parts, new, strict=True)):
        return of
    return rebuilt(of, new)


def in_force(rule: Rule, parameters: Mapping[str, ParameterHistory], on: date) -> bool:
    """Return whether a rule holds on a day; without dates of its own it follows its parameters."""
    own = [parameters[name] for name in parameters_of(rule) if name in parameters]
    if any(each.ended_on(on) for each in own):
        return False
    starts = rule.starts
    if starts is None and rule.unseen_before is None:
        firsts = [p.first_day for p in own if not p.counts_from and p.first_day is not None]
        starts = max(firsts, default=None)
    return (starts is None or starts <= on) and (rule.ends is None or on <= rule.ends)


def open_rules(
    chosen: Sequence[tuple[Rule, Pack]],
    packs: Iterable[Pack],
    on: date,
    decision: str = "simple",
) -> tuple[OpenRule, ...]:
    """Return the rules as they stand on a day, for a decision rule.

    Raises
    ------
    RuleError
        If a rule names what is not there, or the dimension of a parameter does not fit.
    """
    parameters: dict[str, ParameterHistory] = {}
    for pack in (packs := tuple(packs)):
        parameters.update(pack.parameters)
    current = [(rule, pack) for rule, pack in chosen if in_force(rule, parameters, on)]
    opened = [_open(rule, pack, parameters, on, decision) for rule, pack in current]
    return _superseded(opened, {pack.id: pack for pack in packs})


def _open(
    rule: Rule, pack: Pack, parameters: Mapping[str, ParameterHistory], on: date, decision: str
) -> OpenRule:
    used: dict[str, ParameterHistory] = {}

    def value_of(name: str) -> Node:
        if name not in parameters:
            raise RuleError(
                f"no parameter {name!r} in the packs that are open",
                advice=UnknownFieldError(name, parameters).advice,
            )
        used[name] = parameters[name]
        return parameters[name].node(on)

    try:
        check = truth(_put_in(rule.check, value_of))  # a parameter alone may be no condition
        when = None if rule.when is None else truth(_put_in(rule.when, value_of))
        shows = _shown(rule, check, value_of)
        if decision == "guarded" and rule.uncertainty is not None:
            check = guarded(check, shows, _put_in(rule.uncertainty, value_of))
        closed = lowered(check)
        applies = None if when is None else lowered(when)
    except StemloreError as error:
        raise rule.fault(str(error)) from error
    for tree in (closed, applies):  # again, for parameters that count from a date may lie deeper
        if tree is not None:
            rule.check_level(tree)
    reason = ""
    if rule.unseen_before is not None and on < rule.unseen_before:
        reason = f"seen in force on {rule.unseen_before}; its start is not in the sources"
        closed = Constant(None, "flag")
    for history in used.values():
        reason = reason or history.reason_on(on)
    return OpenRule(
        rule=rule,
        pack=pack,
        check=closed,
        when=applies,
        shows=shows,
        parameters=tuple(used.values()),
        reason=reason,
        guarded=decision == "guarded" and rule.uncertainty is not None,
    )


def _shown(rule: Rule, check: Node, value_of: Callable[[str], Node]) -> Shown | None:
    if rule.shows is None:
        return None
    shows = rule.shows
    found, simple = shown_by(check), shown_by(rule.check)
    if found is not None and simple is not None and attrs.evolve(simple, label=shows.label) == shows:
        return attrs.evolve(found, label=shows.label)
    measured = _put_in(shows.measured, value_of)

    def beside(of: Node) -> Node:
        """Return a limit in the unit of what is measured."""
        limit = _put_in(of, value_of)
        return limit if measured.kind != "number" else in_unit(limit, measured.unit or DIMENSIONLESS)

    upper = None if shows.upper is None else beside(shows.upper)
    return attrs.evolve(shows, measured=measured, limit=beside(shows.limit), upper=upper, apart=True)


def _above(pack: Pack, packs: Mapping[str, Pack]) -> set[str]:
    """Return the ids of the packs above one: parents at any time, the country's, the world's."""
    out: set[str] = set()
    waiting = [pack]
    while waiting:
        each = waiting.pop()
        names = {parent.id for parent in each.parents}
        country = country_of(each.place)
        names |= {
            other.id
            for other in packs.values()
            if other.place == "world" or (country != each.place and other.place == country)
        }
        waiting += [packs[name] for name in names - out if name in packs]
        out |= names
    return out - {pack.id}


def _superseded(opened: list[OpenRule], packs: Mapping[str, Pack]) -> tuple[OpenRule, ...]:
    by_id = {each.rule.id: each for each in opened}
    known = {name: rule for pack in packs.values() for name, rule in pack.rules.items()}
    for child in opened:
        for parent_id in child.rule.supersedes:
            parent_rule = known.get(parent_id)
            owner = parent_id.partition(".")[0]
            above = _above(child.pack, packs)
            if owner in above and owner not in packs:
                continue  # a parent at other times only
            if parent_rule is not None and owner not in above:
                raise child.rule.fault(
                    f"supersedes {parent_id!r}, whose pack is no parent of {child.pack.id!r}",
                    "only a parent's rule can be superseded",
                )
            if parent_rule is None:
                raise child.rule.fault(
                    f"supersedes {parent_id!r}, which no open pack has", "name a rule of a parent"
                )
            if parent_rule.tie is not child.rule.tie:
                raise child.rule.fault(
                    f"supersedes {parent_id!r}, which is tied to {parent_rule.tie}, not {child.rule.tie}"
                )
            if parent_rule.basis == "safety":
                raise child.rule.fault(
                    f"supersedes {parent_id!r}, which is for safety", "safety limits combine"
                )
            # a child not known to be in force leaves the parent's rule as it is
            if parent_id not in by_id or child.reason:
                continue
            parent = by_id[parent_id]
            if child.when is None:
                del by_id[parent_id]
                continue
            apart = parent.rule.subject != child.rule.subject and has_aggregate(child.when)
            if apart or level_of(child.when) > LEVELS.get(parent.rule.subject, 1):
                raise child.rule.fault(
                    f"its condition cannot be judged for {parent_id!r}, whose subject is another"
                )
            outside = Not(child.when)
            when = outside if parent.when is None else parent.when & outside
            by_id[parent_id] = attrs.evolve(
                parent, when=when, narrowed_by=(*parent.narrowed_by, child.rule.id)
            )
    return tuple(by_id.values())


# --- compiled groups -------------------------------------------------------------------------

GroupKind = Literal["vehicle", "axle", "pair", "position", "spare"]


@attrs.frozen(eq=False, slots=False, kw_only=True)
class RuleGroup:
    """The rules of one kind of subject, those that bind first, with their functions."""

    kind: GroupKind
    rules: tuple[OpenRule, ...]
    binding: int
    bodies: tuple[int, ...]

    @property
    def subject(self) -> Literal["vehicle", "axle", "pair", "position"]:
        """The kind of subject; a spare wheel is a position."""
        return "position" if self.kind == "spare" else self.kind

    @cached_property
    def judge(self) -> Judge:
        """The function that gives outcome codes; made at first use."""
        return compile_verdicts(self.subject, [(each.when, _checked(each)) for each in self.rules])

    @cached_property
    def measure(self) -> Measure:
        """The function that gives measured, limit and margin of each rule; made at first use."""
        return compile_figures(self.subject, [each.shows for each in self.rules])

    @cached_property
    def holding(self) -> int:
        """How many rules, the first ones, are of gravity hold."""
        return sum(each.rule.gravity is Gravity.HOLD for each in self.rules)


def _checked(each: OpenRule) -> Node:
    return Constant(True, "flag") if each.rule.body is not None and not each.reason else each.check


@attrs.frozen(eq=False)
class Compiled:
    """All groups of a rulebook."""

    groups: tuple[RuleGroup, ...]
    by_id: Mapping[str, OpenRule]


_WEIGHT = {Gravity.HOLD: 0, Gravity.REMEDY: 1, Gravity.ADVISE: 2}


def compile_rules(opened: Sequence[OpenRule]) -> Compiled:
    """Return the groups of an epoch's rules, ready to judge."""
    groups: list[RuleGroup] = []
    kinds: tuple[GroupKind, ...] = ("vehicle", "axle", "pair", "position", "spare")
    for kind in kinds:
        mine = [
            each
            for each in opened
            if (
                each.rule.subject == kind
                or (kind == "spare" and each.rule.subject == "position" and each.rule.spare)
            )
        ]
        if not mine:
            continue
        mine.sort(key=lambda each: (_WEIGHT[each.rule.gravity], each.rule.id))
        groups.append(
            RuleGroup(
                kind=kind,
                rules=tuple(mine),
                binding=sum(each.rule.gravity is not Gravity.ADVISE for each in mine),
                bodies=tuple(
                    i for i, each in enumerate(mine) if each.rule.body is not None and not each.reason
                ),
            )
        )
    return Compiled(tuple(groups), {each.rule.id: each for each in opened})
