"""The conformance kit: what every pack must satisfy, as cases for a test runner.

::

    @pytest.mark.parametrize("case", conformance_cases(PACK), ids=str)
    def test_pack(case):
        case.check()

Cases hold for a pack in a folder, whether it is TOML alone or has rules in
Python; a pack that cannot be read gives one case that fails with everything
that is wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import attrs

from stemlore.errors import PackError, PackLoadError
from stemlore.rules import Pack, PackFolder, Rule, discover
from stemlore.rules.parameters import ParameterHistory
from stemlore.testing import _checks as checks
from stemlore.testing._changes import DAY, other_rules, other_values, shifted_values, turns_of
from stemlore.testing._material import Also, Material, parameters_of
from stemlore.testing._parity import rows_and_columns_agree
from stemlore.testing.cases import read_alike, read_cases
from stemlore.testing.released import released_problems

__all__ = ["ConformanceCase", "conformance_cases"]


@attrs.frozen(eq=False)
class ConformanceCase:
    """One thing that a pack must satisfy.

    Attributes
    ----------
    about : str
        The rule, parameter, source or pack.
    what : str
        What must be so.
    """

    about: str
    what: str
    _problems: Callable[[], Iterator[str]] = attrs.field(repr=False)

    def __str__(self) -> str:
        return f"{self.about}: {self.what}"

    def check(self) -> None:
        """Do nothing where it is so.

        Raises
        ------
        AssertionError
            With everything that is wrong: where, why, and what to do.
        unittest.SkipTest
            Where it needs what is not installed; test runners skip it.
        """
        found = list(self._problems())
        if found:
            raise AssertionError("\n  - ".join([f"{self}: not so", *found]))


def conformance_cases(
    pack: Pack | PackFolder | Path | str,
    *,
    also: Also = (),
    folder: Path | str | None = None,
) -> list[ConformanceCase]:
    """Return everything that a pack must satisfy.

    Parameters
    ----------
    pack : PackFolder, Pack, Path or str
        The pack: what its module offers as ``PACK``, its folder, or a pack
        in memory.
    also : sequence of PackFolder or Pack
        Packs beside it that are not installed, such as its parents.
    folder : Path or str, optional
        Where the cases and the released ids of a pack in memory lie; left
        out, the folder of the installed pack of that id.

    Raises
    ------
    PackLoadError
        If a pack in memory is neither installed nor given its folder.
    """
    if isinstance(pack, Pack):
        where = Path(folder) if folder is not None else _folder_of(pack)
    else:
        where = pack.path if isinstance(pack, PackFolder) else Path(pack)
    try:
        loaded = pack if isinstance(pack, Pack) else PackFolder(where).load()
        cases, alike = read_cases(where), read_alike(where)
    except PackError as error:
        return [ConformanceCase(where.name, "it can be read", partial(_told, error))]
    material = Material(pack=loaded, folder=where, cases=tuple(cases), alike=tuple(alike), also=tuple(also))
    return list(_all(material))


def _folder_of(pack: Pack) -> Path:
    found = discover().packs.get(pack.id)
    if found is None:
        raise PackLoadError(pack.id, "its folder is not known", advice="give folder=...")
    return found.folder.path


def _told(error: PackError) -> Iterator[str]:
    yield from (str(fault) for fault in error.faults)


def _all(of: Material) -> Iterator[ConformanceCase]:
    pack = of.pack
    yield ConformanceCase(pack.id, "it is not empty", partial(_not_empty, of))
    yield ConformanceCase(pack.id, "released rules are not lost", partial(released_problems, pack, of.folder))
    yield ConformanceCase(pack.id, "cases and exceptions are of rules that are there", partial(_known, of))
    yield ConformanceCase(
        pack.id, "the same input has the same fingerprint", partial(checks.fingerprints_agree, of)
    )
    yield ConformanceCase(
        pack.id, "rows and columns agree on random readings", partial(rows_and_columns_agree, of)
    )
    for source in pack.sources.values():
        yield ConformanceCase(
            f"{pack.id}/{source.id}",
            "the source is complete",
            partial(checks.source_is_complete, pack, source),
        )
    for name, history in pack.parameters.items():
        yield ConformanceCase(
            name, "values are cited and dated", partial(checks.values_are_dated, pack, history)
        )
        if of.users(name):
            yield ConformanceCase(
                name, "a changed value makes a case fail", partial(_value_noticed, of, history)
            )
            yield ConformanceCase(name, "a moved day makes a case fail", partial(_day_noticed, of, history))
    for rule in pack.rules.values():
        asked: dict[str, Callable[[], Iterator[str]]] = {
            "it is cited": partial(checks.rule_is_cited, pack, rule),
            "values fit where they are used": partial(checks.dimensions_fit, of, rule),
            "it reads as sentences": partial(checks.words_are_whole, of, rule),
            "its cases hold": partial(checks.cases_hold, of, rule),
            "cases show every outcome": partial(checks.outcomes_are_shown, of, rule),
            "cases show its limit": partial(checks.limit_is_shown, of, rule),
            "cases show each day of change": partial(checks.change_is_shown, of, rule),
            "a change of it makes a case fail": partial(_change_noticed, of, rule),
        }
        for what, problems in asked.items():
            yield ConformanceCase(rule.id, what, problems)


def _not_empty(of: Material) -> Iterator[str]:
    if not of.pack.rules:
        yield "no rule: nothing would ever be checked; write rules.toml or rules.py"
    if not of.cases:
        yield "no case: nothing is proven; write cases.toml"


def _known(of: Material) -> Iterator[str]:
    known = {name for pack in (of.pack, *of.beside.values()) for name in pack.rules}
    for name in sorted({case.rule for case in of.cases} - known):
        yield f"cases.toml: no rule {name!r}"
    for clause in of.pack.clauses:
        if clause.rule and clause.rule not in known:
            yield f"clauses.toml: {clause.says!r} is said to be judged by {clause.rule!r}, which is no rule"
    for each in of.alike:
        rule = of.pack.rules.get(each.rule)
        if rule is None:
            yield f"cases.toml: [[alike]] of {each.rule!r}, which is no rule of the pack"
        elif each.change not in {what for what, _ in _changes(of, rule)}:
            yield f"cases.toml: [[alike]] of {each.rule}: there is no change {each.change!r}"


def _changes(of: Material, rule: Rule) -> Iterator[tuple[str, Pack]]:
    """Yield every change that the kit makes for a rule, with the pack as changed."""
    for what, new in other_rules(rule, of.pack.first_day):
        yield what, of.with_rule(new)
    for name in sorted(parameters_of(rule)):
        if (history := of.pack.parameters.get(name)) is not None:
            for what, _, other in other_values(history, of.users(name)):
                yield f"{name}: {what}", of.with_parameters(other)
            yield from _moves(of, history, rule)


def _unnoticed(of: Material, rule: Rule, what: str, changed: Pack) -> Iterator[str]:
    """Yield the name of a change that no case notices, or that is wrongly said to show nowhere."""
    alike = any(each.rule == rule.id and each.change == what for each in of.alike)
    caught = of.caught(of.cases_of(rule.id, *rule.supersedes), rule, changed)
    if caught and alike:
        yield f"{rule.id}: {what}: a case fails on it; take its [[alike]] out of cases.toml"
    elif not caught and not alike:
        yield f"{rule.id}: {what}: no case fails; write one in cases.toml that tells the two apart"


def _as_it_is(of: Material, rule: Rule) -> Iterator[str]:
    if of.as_it_is(rule):
        yield f"{rule.id}: a case fails on the pack as it is; see its cases first"


def _value_noticed(of: Material, history: ParameterHistory) -> Iterator[str]:
    users = of.users(history.name)
    for rule in users:
        if broken := list(_as_it_is(of, rule)):
            yield from broken
            return
    for what, figure, new in other_values(history, users):
        changed = of.with_parameters(new)
        name = f"{history.name}: {what}"
        blind = [problem for rule in users for problem in _unnoticed(of, rule, name, changed)]
        # a figure that another outweighs changes no outcome: one rule that prints it is enough
        if not figure or len(blind) == len(users):
            yield from blind


def _moves(of: Material, history: ParameterHistory, rule: Rule) -> Iterator[tuple[str, Pack]]:
    """Yield each day of a parameter moved; values of one rule that turn together move together."""
    near = [found for name in parameters_of(rule) if (found := of.pack.parameters.get(name)) is not None]
    for turn in turns_of(history):
        for days in (DAY, -DAY):
            later = rule.starts is not None and rule.starts > max(turn, turn + days)
            refused = of.pack.first_day is not None and turn + days < of.pack.first_day
            if not history.counts_from and (later or refused):
                continue  # no rulebook tells the difference
            what = f"{history.name}: {turn} moved to {turn + days}"
            yield what, of.with_parameters(*(shifted_values(each, turn, days) for each in near))


def _day_noticed(of: Material, history: ParameterHistory) -> Iterator[str]:
    for rule in of.users(history.name):
        if broken := list(_as_it_is(of, rule)):
            yield from broken
            return
        for what, changed in _moves(of, history, rule):
            yield from _unnoticed(of, rule, what, changed)


def _change_noticed(of: Material, rule: Rule) -> Iterator[str]:
    if broken := list(_as_it_is(of, rule)):
        yield from broken
        return
    for what, new in other_rules(rule, of.pack.first_day):
        yield from _unnoticed(of, rule, what, of.with_rule(new))
