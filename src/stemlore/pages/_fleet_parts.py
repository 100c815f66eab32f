"""Parts of a fleet's report: margins, single vehicles, and how it was made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from stemlore.pages._fleet_charts import columns, thousands
from stemlore.rules import Gravity
from stemlore.rules.words import in_words
from stemlore.units import DIMENSIONLESS, show, unit

if TYPE_CHECKING:
    from stemlore.audit import AuditRun
    from stemlore.audit._margins import Bin, Margins
    from stemlore.audit._overview import Overview
    from stemlore.rules import Report, Rulebook

__all__ = ["about", "counted", "margin", "method", "tame", "vehicle"]

_MOST_TOLD = 12
"""Findings of one vehicle that are told in full."""


def tame(value: Any) -> str:
    """Write a value of the table; what is no letter for print is marked, not left out."""
    text = str(value)
    return "".join(each if each.isprintable() else "\ufffd" for each in text)


def counted(count: int, one: str, many: str = "") -> str:
    return f"{thousands(count)} {one if count == 1 else many or one + 's'}"


def about(opened: Any) -> dict[str, Any]:
    """Return what is said of a rule: title, gravity and where it stands."""
    return {
        "id": opened.rule.id,
        "title": opened.rule.title,
        "gravity": opened.rule.gravity.value,
        "basis": opened.rule.basis.value,
        "tie": opened.rule.tie.words,
        "citation": str(opened.citation),
        "pack": opened.pack.id,
        "reason": opened.reason,
    }


# --- margins ---------------------------------------------------------------------------------


def margin(of: Margins, opened: Any) -> dict[str, Any]:
    given = DIMENSIONLESS if of.unit is None else unit(of.unit)
    symbol = show(2.0, given).removeprefix("2").strip()
    symbol = (
        "K" if symbol in ("degC", "\u00b0C") else symbol
    )  # a difference of temperatures is no temperature
    bins, width = of.columns()
    made = columns(bins)
    told: list[dict[str, Any]] = [
        {"words": _span(each, symbol), "fail": each.fails, "pass": each.passes}
        for each in bins
        if each.fails or each.passes
    ]
    fails, passes = sum(of.fails.values()), sum(of.passes.values())
    shows = opened.shows
    at_limit = of.fails.get(0, 0) + of.passes.get(0, 0) if of.step == 1 else None
    return {
        **about(opened),
        **made,
        "what": shows.label or in_words(shows.measured),
        "unit": symbol,
        "fails": fails,
        "passes": passes,
        "at_limit": at_limit,
        "bins": told,
        "is_open": bins[0].low is None or bins[-1].high is None,
        "width": _number(width),
        "ticks": [{**each, "text": _number(each["value"])} for each in made["ticks"]],
        "description": "; ".join(
            f"{each['words']}: {thousands(each['fail'])} fail, {thousands(each['pass'])} pass"
            for each in told
        ),
    }


def _number(value: float) -> str:
    text = f"{round(value, 6):g}" if abs(value) < 1e6 else f"{value:,.0f}".replace(",", "\u00a0")
    return text.replace("-", "\u2212")


def _span(each: Bin, symbol: str) -> str:
    words = f" {symbol}" if symbol else ""
    if each.low is None:
        return f"below {_number(each.high or 0.0)}{words}"
    if each.high is None:
        return f"{_number(each.low)}{words} and more"
    return f"{_number(each.low)} to below {_number(each.high)}{words}"


# --- worst vehicles --------------------------------------------------------------------------


def vehicle(row: Mapping[str, Any], report: Report | None) -> dict[str, Any]:
    name = row["vehicle_id"]
    groups: list[dict[str, Any]] = []
    left = 0
    told = 0
    order = {each: number for number, each in enumerate(Gravity)}
    findings = [] if report is None else sorted(report.failing, key=lambda each: order[each.gravity])
    for finding in findings:
        if told == _MOST_TOLD:
            left += 1
            continue
        told += 1
        if not groups or groups[-1]["rule"] != finding.rule:
            groups.append(
                {
                    "rule": finding.rule,
                    "gravity": finding.gravity.value,
                    "meaning": finding.gravity.meaning,
                    "sentences": [],
                    "advice": finding.advice,
                    "caution": finding.caution,
                    "citation": str(finding.citation),
                    "grade": finding.grade.meaning,
                    "instruction": finding.instruction,
                }
            )
        groups[-1]["sentences"].append(finding.sentence())
    return {
        "id": None if name is None else tame(name),
        "row": row["row"],
        "hold": row["fail_hold"],
        "remedy": row["fail_remedy"],
        "advise": row["fail_advise"],
        "unknown": row["unknown_hold"] + row["unknown_remedy"],
        "groups": groups,
        "left": left,
    }


# --- method ----------------------------------------------------------------------------------


def method(
    run: AuditRun,
    told: Overview,
    summary: Sequence[Mapping[str, Any]],
    rules: Mapping[str, Any],
    again: bool,
) -> dict[str, Any]:
    return {
        "rows": run.rows,
        "passes": told.passes + again,
        "books": [_book(book) for book in run.books],
        "packs": _packs(run.books),
        "decisions": sorted({book.decision for book in run.books}),
        "notes": run.notes,
        "flaws": [
            {
                "kind": f.kind,
                "column": f.column,
                "count": f.count,
                "row": f.row,
                "value": f.value,
                "message": f.message,
            }
            for f in told.flaws
        ],
        "faults": list(run.faults.head(10).iter_rows(named=True)),
        "fault_count": run.faults.height,
        "silent": [about(each) for each in rules.values() if each.reason],
        "never": [row for row in summary if row["unknown"] and not row["pass"] and not row["fail"]],
        "rules": [{**row, **about(rules[row["rule"]])} for row in summary],
    }


def _book(book: Rulebook) -> dict[str, Any]:
    first, last = book.epoch
    ties: dict[str, list[str]] = {}
    for each in book.coverage.ties:
        ties.setdefault(each.place or "a place not given", []).append(each.tie.words)
    return {
        "places": "; ".join(f"{place} ({', '.join(words)})" for place, words in ties.items()),
        "gaps": [
            f"{each.tie.words} {each.place or 'a place not given'}: {each.note}"
            for each in book.coverage.gaps
        ],
        "packs": ", ".join(f"{name} {pack.version}" for name, pack in book.packs.items()),
        "on": book.on,
        "same": f"{first or 'the beginning'} to {last or 'the next change'}",
        "rules": len(book.rules),
        "fingerprint": book.fingerprint,
    }


def _packs(books: Sequence[Rulebook]) -> list[dict[str, str]]:
    found = {name: pack for book in books for name, pack in book.packs.items()}
    return [
        {"id": name, "title": pack.title, "version": pack.version, "fingerprint": pack.fingerprint}
        for name, pack in found.items()
    ]
