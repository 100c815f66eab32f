"""An audited fleet as a page: what holds vehicles, what to put right, what to measure, how sure it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from stemlore.cli._page import Page, counted
from stemlore.interchange import SAFETY
from stemlore.rules import Gravity, Tie

__all__ = ["Told", "fleet_code", "print_fleet"]

CLEAN, FAILS, BROKE, UNSETTLED = 0, 1, 3, 4
_MOST, _MOST_GROUPS = 12, 20
_HOLD, _REMEDY, _ADVISE = (each.value for each in Gravity)
_STYLES = {_HOLD: "bold red", _REMEDY: "bold yellow", _ADVISE: "bold"}
_HEADS = {
    _HOLD: "THESE VEHICLES DO NOT LEAVE UNTIL THIS IS RIGHT",
    _REMEDY: "TO PUT RIGHT AT THIS VISIT",
    _ADVISE: "ADVICE FOR THE CUSTOMER",
}
_OUTCOMES = ("pass", "fail", "unknown", "not_applicable")
_OPTIONS = {Tie.REGISTERED_IN: "--registered-in", Tie.USED_IN: "--used-in", Tie.WORKSHOP: "--workshop"}


@attrs.frozen(kw_only=True, eq=False)
class Told:
    """What was counted of a fleet beside its summary.

    Attributes
    ----------
    vehicles : mapping
        How many vehicles are ``fails``, ``not settled``, ``clean``, ``not judged``.
    held : mapping
        How many vehicles something fails on, by gravity.
    quality : mapping
        How many cells are wrong, by column and kind.
    groups : mapping
        A summary by each name that was asked for.
    changes : mapping or None
        How many findings another day's law alters, by rule, before and after.
    other_day : str
        That day.
    written : str
        Where the tables stand and which; empty where nowhere.
    """

    vehicles: Mapping[str, int]
    held: Mapping[str, int]
    quality: Mapping[tuple[str | None, str], int]
    groups: Mapping[str, Any]
    changes: Mapping[tuple[str, str | None, str | None], int] | None
    other_day: str
    written: str


def fleet_code(run: Any, told: Told) -> int:
    """Return 0 if every vehicle is clean; else 1 if one fails, 3 if a rule broke, 4 if it is not settled."""
    if told.vehicles.get("fails"):
        return FAILS
    if run.faults.height:
        return BROKE
    settled = run.complete and sum(told.vehicles.values()) == told.vehicles.get("clean", 0) > 0
    return CLEAN if settled else UNSETTLED


def print_fleet(page: Page, run: Any, told: Told) -> None:
    """Print a fleet, gravest first."""
    rows = list(run.summary.iter_rows(named=True))
    _verdict(page, run, told, rows)
    for gravity, head in _HEADS.items():
        failing = [row for row in rows if row["fail"] and row["gravity"] == gravity]
        if failing:
            count = counted(sum(row["fail"] for row in failing), "finding")
            page.heading(f"{head} ({count})", style=_STYLES[gravity])
            page.pairs([(f"{row['fail']}", f"{row['title']} [{row['rule']}]") for row in failing], indent=2)
    _faults(page, run)
    _needs(page, run)
    for name, table in told.groups.items():
        _group(page, name, table)
    _changes(page, told)
    _quality(page, told)
    _places(page, run)
    if told.written:
        page.line()
        page.line(told.written)
    page.line()
    page.line(SAFETY)


def _verdict(page: Page, run: Any, told: Told, rows: Sequence[Mapping[str, Any]]) -> None:
    code, total = fleet_code(run, told), sum(told.vehicles.values())
    of = f"of {counted(total, 'vehicle')}"
    if held := told.held.get(_HOLD):
        head = f"HOLD: {held} {of} {'does' if held == 1 else 'do'} not leave."
        style = "bold red"
    elif code == FAILS:
        head, style = f"PUT RIGHT: on {told.held.get(_REMEDY, 0)} {of} something must be.", "bold yellow"
    elif code == BROKE:
        head, style = "NOT SETTLED: a rule broke.", "bold yellow"
    elif code == UNSETTLED:
        head = "NOT SETTLED: nothing is found that must be put right, but not all could be judged."
        style = "bold yellow"
    else:
        head, style = "CLEAN: these rules found nothing that must be put right.", "bold green"
    page.line(head, style=style)
    states = ("fails", "not settled", "clean", "not judged")
    counts = ", ".join(
        f"{told.vehicles.get(each, 0)} {_STATES[each]}" for each in states if each in _always(told)
    )
    page.line(f"{counted(total, 'vehicle')}, {counted(run.rows, 'row')}: {counts}.")
    findings = ", ".join(f"{sum(row[key] for row in rows)} {_WORDS[key]}" for key in _OUTCOMES)
    page.line(f"{counted(len(rows), 'rule')}, findings: {findings}. {_law(run)}")
    for note in run.notes:
        page.line(f"Note: {note}.", hang=2)


_STATES = {"fails": "with a fail", "not settled": "not settled", "clean": "clean", "not judged": "not judged"}
_WORDS = {"pass": "passed", "fail": "failed", "unknown": "not known", "not_applicable": "do not apply"}


def _always(told: Told) -> tuple[str, ...]:
    return ("fails", "not settled", "clean", *(["not judged"] if told.vehicles.get("not judged") else ()))


def _law(run: Any) -> str:
    days = sorted({book.on for book in run.books})
    if len(run.books) == 1:
        return f"Law of {days[0]}."
    span = " to ".join(dict.fromkeys(str(each) for each in (days[:1] + days[-1:])))
    return f"Law of each row: {counted(len(run.books), 'rulebook')}{', ' if span else ''}{span}."


def _faults(page: Page, run: Any) -> None:
    faults = run.faults
    if not faults.height:
        return
    page.heading(
        f"RULES THAT BROKE ({faults.height}): no verdict, tell who maintains the pack", style="bold yellow"
    )
    for row in faults.head(_MOST).iter_rows(named=True):
        words = f"{row['rule']} on {row['position']} of vehicle {row['vehicle_id']}: {row['error']}"
        page.line(words, indent=2, hang=2)


def _needs(page: Page, run: Any) -> None:
    needs = list(run.needs().iter_rows(named=True))
    if not needs:
        return
    first = f"; the first {_MOST} of {len(needs)}" if len(needs) > _MOST else ""
    page.heading(f"MEASURE OR LOOK UP NEXT, in this order (how many findings lack it{first})")
    page.pairs(
        [(f"{row['findings']}", f"{row['meaning']} [{row['column']}]") for row in needs[:_MOST]], indent=2
    )


def _group(page: Page, name: str, table: Any) -> None:
    rows = list(table.iter_rows(named=True))
    if len(rows) > _MOST_GROUPS:  # else in their own order, as of ages
        rows.sort(key=lambda row: -row["fail"])
    first = f" (the first {_MOST_GROUPS} of {len(rows)})" if len(rows) > _MOST_GROUPS else ""
    page.heading(f"BY {name.upper().replace('_', ' ')}{first}")
    _table(
        page,
        (name, "failed", "not known", "passed", "do not apply"),
        [
            (
                "not told" if row[name] is None else str(row[name]),
                *(str(row[key]) for key in ("fail", "unknown", "pass", "not_applicable")),
            )
            for row in rows[:_MOST_GROUPS]
        ],
    )


def _changes(page: Page, told: Told) -> None:
    if told.changes is None:
        return
    count = counted(sum(told.changes.values()), "finding")
    page.heading(f"UNDER THE LAW OF {told.other_day} ({count} would be another: what packs know of)")
    rules: dict[str, list[str]] = {}
    fails: set[str] = set()
    for (rule, before, after), number in sorted(told.changes.items(), key=lambda each: -each[1]):
        words = f"{before or 'not in force'} -> {after or 'not in force'}: {number}"
        rules.setdefault(rule, []).append(words)
        if "fail" in (before, after):
            fails.add(rule)
    order = sorted(rules, key=lambda rule: (rule not in fails, rule))  # what begins or ceases to fail first
    for rule in order:
        page.line(f"{rule}  {'; '.join(rules[rule])}", indent=2, hang=4)


def _quality(page: Page, told: Told) -> None:
    if not told.quality:
        return
    page.heading("DATA QUALITY (cells listed here count as missing; columns not known are not read)")
    rows = sorted(told.quality.items(), key=lambda each: -each[1])
    page.pairs(
        [(f"{count}", f"{kind}{f': {column}' if column else ''}") for (column, kind), count in rows], indent=2
    )


def _places(page: Page, run: Any) -> None:
    if len(run.coverage) != 1:  # of several, the notes tell those without a pack
        return
    (coverage,) = run.coverage
    page.heading("PLACES")
    rows = []
    for each in coverage.ties:
        packs = f"packs {', '.join(each.packs)}" if each.packs else "no packs"
        covered = packs if each.covered else f"NOT COVERED: {each.note} ({packs})"
        rows.append((f"{each.tie.words} {each.place or 'not given'}", covered))
    page.pairs(rows, indent=2)
    absent = [_OPTIONS[each.tie] for each in coverage.gaps if each.place is None]
    if absent:
        known = next((each.place for each in coverage.ties if each.place), "DE")
        page.line(
            f"To close the gap give {' and '.join(f'{option} PLACE' for option in absent)}; "
            f"--place {known} gives all three at once. A place is never assumed.",
            indent=2,
        )


def _table(page: Page, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Add a table: the first column to the left, numbers to the right."""
    wide = [max(len(row[at]) for row in (heads, *rows)) for at in range(len(heads))]
    for row in (heads, *rows):
        cells = [
            f"{row[0]:<{wide[0]}}",
            *(f"{cell:>{width}}" for cell, width in zip(row[1:], wide[1:], strict=True)),
        ]
        page.line("  ".join(cells), indent=2)
