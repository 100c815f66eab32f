"""The report of an audited fleet: what fails, where, by how much, and what is not known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, StrictUndefined, Template

from stemlore.interchange import SAFETY
from stemlore.pages._fleet_charts import bars, share, stacked, thousands
from stemlore.pages._fleet_parts import about, counted, margin, method, tame, vehicle
from stemlore.rules import Gravity, Outcome

if TYPE_CHECKING:
    from stemlore.audit import AuditRun
    from stemlore.audit._margins import Margins
    from stemlore.audit._overview import Overview
    from stemlore.rules import Report, Rulebook

__all__ = ["audit_report"]

_OUTCOMES = ("fails", "not settled", "clean", "not judged")
_MEANINGS = {
    "fails": "something fails that holds the vehicle or must be put right at this visit",
    "not settled": "nothing is found that must be put right, but not all could be judged: a reading is "
    "missing or cannot be read, a place is not given or has no pack, or a rule broke",
    "clean": "these rules found nothing that must be put right, nothing that counts is unknown, and each "
    "place has a pack",
    "not judged": "no rulebook answers for its place and day",
}
_CLASSES = {"fails": "fail", "not settled": "open", "clean": "clean", "not judged": "none"}
_MOST_RULES = 8
_MOST_NEEDS = 8
_MOST_MARGINS = 6
_MOST_VALUES = 25
_TIES = {
    "registered_in": "Place of registration",
    "used_in": "Place of use",
    "workshop": "Place of the workshop",
    "age": "Age of the vehicle in whole years",
    "tyre_age": "Age of the tyre in whole years",
}


def audit_report(
    run: AuditRun,
    *,
    by: Sequence[str] = ("used_in",),
    title: str = "Audit of a fleet",
    worst: int = 20,
) -> str:
    """Return the report of an audited fleet as one HTML page that needs no network.

    The fleet is judged up to three times: for the counts, for the groups, and
    for margins and the worst vehicles. Memory does not grow with its rows.

    Parameters
    ----------
    run : AuditRun
        What :func:`stemlore.audit.audit_fleet` gave.
    by : sequence of str
        What to group by: places, ages, columns; see
        :meth:`stemlore.audit.AuditRun.summary_by`. A model or depot is a column
        that the mapping keeps.
    title : str
        Heading of the page.
    worst : int
        How many of the vehicles with most failures are told in full.

    Raises
    ------
    ColumnError
        If the fleet has no column that it is to be grouped by.
    """
    from stemlore.audit._margins import has_margin
    from stemlore.audit._overview import margins_and_reports, overview_of

    told = overview_of(run, by, worst=worst)
    rules = _rules(run.books)
    summary = list(run.summary.iter_rows(named=True))
    failing = sorted((row for row in summary if row["fail"]), key=lambda row: -row["fail"])
    shown = [row["rule"] for row in failing if has_margin(rules[row["rule"]].shows)][:_MOST_MARGINS]
    margins: Mapping[str, Margins] = {}
    reports: Mapping[int, Report] = {}
    again = bool(shown or told.worst)
    if again:
        margins, reports = margins_and_reports(run, shown, [row["row"] for row in told.worst])
    return _template().render(
        title=tame(title),
        safety=SAFETY,
        verdict=_verdict(run, told),
        failing=_failing(failing, rules),
        groups=[_group(name, told, rules) for name in by],
        needs=_needs(run, summary),
        margins=[margin(margins[name], rules[name]) for name in shown if name in margins],
        worst=[vehicle(row, reports.get(row["row"])) for row in told.worst],
        failing_vehicles=told.vehicles.get("fails", 0),
        method=method(run, told, summary, rules, again),
    )


@lru_cache(maxsize=1)
def _template() -> Template:
    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    made.filters.update(n=thousands, tame=tame)
    return made.from_string(files("stemlore.pages").joinpath("audit_report.html").read_text("utf-8"))


def _rules(books: Sequence[Rulebook]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for book in books:
        for name, opened in book.rules.items():
            out.setdefault(name, opened)
    return out


# --- verdict ---------------------------------------------------------------------------------


def _verdict(run: AuditRun, told: Overview) -> dict[str, Any]:
    counts = {name: told.vehicles.get(name, 0) for name in _OUTCOMES}
    total = sum(counts.values())
    parts = [
        {
            "name": name,
            "class": _CLASSES[name],
            "count": counts[name],
            "share": share(counts[name], total),
            "meaning": _MEANINGS[name],
        }
        for name in _OUTCOMES
    ]
    return {
        "head": _head(counts, total),
        "word": "FAILS" if counts["fails"] else "CLEAN" if total and counts["clean"] == total else "OPEN",
        "total": total,
        "parts": parts,
        "chart": stacked([(_CLASSES[name], counts[name]) for name in _OUTCOMES]),
        "description": ", ".join(f"{thousands(counts[name])} {name}" for name in _OUTCOMES),
        "also": list(_also(told, counts)),
        "notes": run.notes,
        "law": _law(run),
    }


def _head(counts: Mapping[str, int], total: int) -> str:
    of = f"of {counted(total, 'vehicle')}"
    if not total:
        return "No vehicle was judged: the table has no rows."
    if counts["fails"]:
        verb = "fails" if counts["fails"] == 1 else "fail"
        return f"{thousands(counts['fails'])} {of} {verb}."
    if counts["clean"] == total:
        return f"None {of} fails; all are settled, and each place has a pack."
    left = [(counts["not settled"], "not settled"), (counts["not judged"], "not judged")]
    told = " and ".join(
        f"{thousands(count)} {'is' if count == 1 else 'are'} {name}" for count, name in left if count
    )
    return f"None {of} is found to fail, but {told}."


def _also(told: Overview, counts: Mapping[str, int]) -> Iterator[str]:
    if told.held:
        verb = "does not leave until it is" if told.held == 1 else "do not leave until they are"
        yield f"{counted(told.held, 'vehicle')} {verb} put right (gravity hold)."
    rest = counts["fails"] - told.held
    if rest:
        yield f"{counted(rest, 'vehicle')} more must be put right at this visit (gravity remedy)."
    if told.uncovered:
        verb = "stands" if told.uncovered == 1 else "stand"
        yield (
            f"{counted(told.uncovered, 'vehicle')} {verb} where a place is not given or has no pack: none of "
            "these counts as clean."
        )
    if told.broken:
        yield f"On {counted(told.broken, 'vehicle')} a rule broke: none of these counts as clean."


def _law(run: AuditRun) -> str:
    days = sorted({book.on for book in run.books})
    if not days:
        return "no law could be told"
    span = f"law of {days[0]}" if len(days) == 1 else f"law of {len(days)} days, {days[0]} to {days[-1]}"
    places = list(dict.fromkeys(each.place or "a place not given" for c in run.coverage for each in c.ties))
    named = ", ".join(places[:8]) + (f" and {len(places) - 8} more" if len(places) > 8 else "")
    return f"{span}; {named}"


# --- what fails ------------------------------------------------------------------------------


def _failing(failing: Sequence[Mapping[str, Any]], rules: Mapping[str, Any]) -> dict[str, Any]:
    rows = []
    for row in failing:
        judged = row["pass"] + row["fail"]
        rows.append({**row, **about(rules[row["rule"]]), "share": share(row["fail"], judged)})
    first = rows[:_MOST_RULES]
    return {
        "rows": rows,
        "told": rows[:_MOST_VALUES],
        "first": first,
        "chart": bars((row["title"], [("fail", row["fail"])], thousands(row["fail"])) for row in first),
        "description": "; ".join(f"{row['title']}: {thousands(row['fail'])}" for row in first),
    }


# --- groups ----------------------------------------------------------------------------------


def _group(name: str, told: Overview, rules: Mapping[str, Any]) -> dict[str, Any]:
    vehicles = told.vehicles_by.get(name)
    values = dict(told.groups[name])
    for value in vehicles or {}:
        values.setdefault(value, {})
    rows = [_value(value, counts, vehicles, rules) for value, counts in values.items()]
    rows.sort(key=lambda row: (-row["rank"], row["value"]))
    shown = rows[:_MOST_VALUES]
    heading = _TIES.get(name) or tame(name).replace("_", " ").capitalize()
    if vehicles is None:
        chart = bars((row["value"], [("fail", row["failing"])], thousands(row["failing"])) for row in shown)
        words = [f"{row['value']}: {counted(row['failing'], 'finding')}" for row in shown]
    else:
        chart = bars(
            (
                row["value"],
                [(_CLASSES[each], row["vehicles"][each]) for each in _OUTCOMES],
                f"{thousands(row['vehicles']['fails'])} of {thousands(row['total'])}",
            )
            for row in shown
        )
        words = [
            f"{row['value']}: {thousands(row['vehicles']['fails'])} of {counted(row['total'], 'vehicle')}"
            for row in shown
        ]
    return {
        "heading": heading,
        "rows": shown,
        "more": len(rows) - len(shown),
        "has_vehicles": vehicles is not None,
        "chart": chart,
        "description": "; ".join(words),
    }


def _value(
    value: Any, counts: Mapping[str, Sequence[int]], vehicles: Any, rules: Mapping[str, Any]
) -> dict[str, Any]:
    own = (vehicles or {}).get(value, {})
    fails = dict.fromkeys((each.value for each in Gravity), 0)
    unknown = 0
    for rule, outcomes in counts.items():
        fails[rules[rule].rule.gravity.value] += outcomes[Outcome.FAIL]
        unknown += outcomes[Outcome.UNKNOWN]
    top = max(counts, key=lambda rule: counts[rule][Outcome.FAIL], default=None)
    most = "none"
    if top is not None and counts[top][Outcome.FAIL]:
        most = f"{rules[top].rule.title} ({thousands(counts[top][Outcome.FAIL])})"
    by_outcome = {each: own.get(each, 0) for each in _OUTCOMES}
    total = sum(by_outcome.values())
    return {
        "value": "not told" if value is None else tame(value),
        "vehicles": by_outcome,
        "total": total,
        "share": share(by_outcome["fails"], total),
        "fails": fails,
        "failing": sum(fails.values()),
        "unknown": unknown,
        "most": most,
        "rank": by_outcome["fails"] if vehicles is not None else sum(fails.values()),
    }


# --- what is missing -------------------------------------------------------------------------


def _needs(run: AuditRun, summary: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    rows = list(run.needs().iter_rows(named=True))
    first = rows[:_MOST_NEEDS]
    unknown = sum(row["unknown"] for row in summary)
    return {
        "unknown": unknown,
        "verdicts": sum(row["subjects"] for row in summary),
        "rows": first,
        "more": len(rows) - len(first),
        "settled": first[-1]["settled"] if first else 0,
        "chart": bars(
            (row["meaning"], [("open", row["findings"])], thousands(row["findings"])) for row in first
        ),
        "description": "; ".join(f"{row['meaning']}: {thousands(row['findings'])}" for row in first),
    }
