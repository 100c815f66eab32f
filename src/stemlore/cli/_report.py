"""A report as one page that a fitter reads: what holds, what to put right, what to measure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from stemlore.cli._page import Page, counted
from stemlore.interchange import SAFETY
from stemlore.provenance import Grade
from stemlore.rules import Finding, Gravity, Outcome, Reading, Report, Tie
from stemlore.rules.sentences import shown_in
from stemlore.rules.words import in_words
from stemlore.units import show

__all__ = ["exit_code", "print_report"]

CLEAN, FAILS, BROKE, UNSETTLED = 0, 1, 3, 4
_BINDING = (Gravity.HOLD, Gravity.REMEDY)
_OPTIONS = {Tie.REGISTERED_IN: "--registered-in", Tie.USED_IN: "--used-in", Tie.WORKSHOP: "--workshop"}
_STYLES = {Gravity.HOLD: "bold red", Gravity.REMEDY: "bold yellow", Gravity.ADVISE: "bold"}
_HEADS = {
    Gravity.HOLD: "THE VEHICLE DOES NOT LEAVE UNTIL THIS IS RIGHT",
    Gravity.REMEDY: "TO PUT RIGHT AT THIS VISIT",
    Gravity.ADVISE: "ADVICE FOR THE CUSTOMER",
}


def exit_code(report: Report) -> int:
    """Return 0 if clean; else 1 if something fails, 3 if a rule broke, 4 if it is not settled."""
    if report.is_clean:
        return CLEAN
    if any(each.gravity in _BINDING for each in report.failing):
        return FAILS
    return BROKE if report.faults else UNSETTLED


def print_report(
    page: Page, report: Report, *, units: tuple[str, ...] = (), everything: bool = False, ahead: int = 0
) -> None:
    """Print a report, gravest first."""
    wheels = _running(report)
    _verdict(page, report)
    for gravity in Gravity:
        failing = [each for each in report.failing if each.gravity is gravity]
        if failing:
            page.heading(f"{_HEADS[gravity]} ({counted(len(failing), 'finding')})", style=_STYLES[gravity])
            for group in _by_rule(failing):
                _block(page, group, units, wheels)
    _faults(page, report)
    _readings(page, report.next_readings, wheels)
    _unanswerable(page, report)
    if ahead:
        _ahead(page, report, ahead, wheels)
    if everything:
        _others(page, report, units, wheels)
    _coverage(page, report)
    _sources(page, report)
    page.line()
    page.line(SAFETY)


def _ahead(page: Page, report: Report, days: int, wheels: tuple[str, ...]) -> None:
    """Print what begins to fail within some days, if nothing is altered till then."""
    coming = [turn for turn in report.turns(days=days) if turn.after is Outcome.FAIL]
    page.heading(
        f"WITHIN {counted(days, 'DAY', 'DAYS')} ({counted(len(coming), 'finding')} will begin to fail)"
    )
    groups: dict[tuple[date, str, str], list[str]] = {}
    for turn in coming:
        groups.setdefault((turn.day, turn.rule, turn.title), []).append(turn.subject)
    for (day, rule, title), subjects in groups.items():
        page.line(f"from {day}: {title}", indent=2, hang=2)
        page.line(f"{_wheels(subjects, wheels)} ({rule})", indent=4, hang=2)


# --- the verdict -----------------------------------------------------------------------------


def _verdict(page: Page, report: Report) -> None:
    counts = {gravity: sum(each.gravity is gravity for each in report.failing) for gravity in Gravity}
    unknown = sum(each.gravity in _BINDING for each in report.unknown)
    gaps = len(report.coverage.gaps)
    if counts[Gravity.HOLD]:
        head, style = "HOLD: the vehicle does not leave.", "bold red"
    elif counts[Gravity.REMEDY]:
        head, style = "PUT RIGHT: something must be put right at this visit.", "bold yellow"
    elif report.faults:
        head, style = "NOT SETTLED: a rule broke.", "bold yellow"
    elif not report.is_clean:
        head = "NOT SETTLED: nothing is found that must be put right, but not all could be judged."
        style = "bold yellow"
    else:
        head, style = "CLEAN: these rules found nothing that must be put right.", "bold green"
    told = [
        (counts[Gravity.HOLD], "finding holding it", "findings holding it"),
        (counts[Gravity.REMEDY], "finding to put right", "findings to put right"),
        (counts[Gravity.ADVISE], "finding to tell the customer", "findings to tell the customer"),
        (len(report.faults), "rule that broke", "rules that broke"),
        (unknown, "not settled", "not settled"),
        (gaps, "place not covered", "places not covered"),
        (report.counts[Outcome.PASS], "passed", "passed"),
    ]
    parts = [counted(count, one, many) for count, one, many in told if count or one == "passed"]
    page.line(head, style=style)
    page.line(f"{', '.join(parts)}. Law of {report.book.on}.")
    for note in report.notes:
        page.line(f"Note: {note}.", hang=2)


# --- findings --------------------------------------------------------------------------------


def _by_rule(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Put findings of one rule together, in the order in which they come."""
    groups: dict[str, list[Finding]] = {}
    for each in findings:
        groups.setdefault(each.rule, []).append(each)
    return list(groups.values())


def _running(report: Report) -> tuple[str, ...]:
    """Return the wheels that the vehicle stands on."""
    found = (each.subject for each in report.findings)
    return tuple(
        dict.fromkeys(str(one) for one in found if one.position is not None and one.axle is not None)
    )


def _wheels(subjects: Sequence[str], wheels: Sequence[str]) -> str:
    """Write subjects in words, short where they are all the wheels."""
    if len(wheels) > 2 and set(subjects) == set(wheels):
        return f"all {len(wheels)} wheels"
    return ", ".join(subjects)


def _block(page: Page, findings: Sequence[Finding], units: tuple[str, ...], wheels: Sequence[str]) -> None:
    """Print the findings of one rule: the wheels with what was measured, then what is the same for all."""
    first = findings[0]
    page.line()
    page.line(first.title, indent=2, hang=2, style="bold")
    alike: dict[str, list[str]] = {}
    for each in findings:
        alike.setdefault(_measured(each, units), []).append(_subject(each))
    page.pairs(((_wheels(subjects, wheels), told) for told, subjects in alike.items()), indent=4)
    page.labelled("Do", first.advice, indent=4)
    page.labelled("Caution", first.caution, indent=4, style="bold")
    instructed = dict.fromkeys(each.instruction for each in findings if each.instruction)
    page.labelled("Decided by the maker's instruction", ", ".join(instructed), indent=4)
    for citation in _citations(findings):
        page.labelled("Source", citation, indent=4)
    page.line(f"Rule: {first.rule} ({first.basis}, {first.gravity}; {_place(first)})", indent=4, hang=2)


def _subject(finding: Finding) -> str:
    return str(finding.subject)


def _place(finding: Finding) -> str:
    return f"{finding.tie.words} {finding.place or 'a place not given'}"


def _measured(finding: Finding, units: tuple[str, ...]) -> str:
    """Write what was measured, the limit on its side, and the margin."""
    shows = finding._open.shows
    if shows is None or finding.measured is None:
        return "not met" if finding.outcome is Outcome.FAIL else finding.outcome.word
    given = finding.unit
    told = f"{shows.label or in_words(shows.measured)} {shown_in(finding.measured, given, units)}"
    side = {"least": "at least", "most": "at most", "between": "limit", "equal": "wanted"}[shows.side]
    if finding.limit is not None:
        told += f"; {side} {shown_in(finding.limit, given, units)}{_figures(finding)}"
    if finding.margin is not None:
        margin = _margin(finding, units)
        told += f"; margin {margin}"
    return told


def _figures(finding: Finding) -> str:
    """Add every figure that the source prints, where there are several."""
    for used in finding.parameters:
        if used.value == finding.limit and len(used.figures) > 1:
            return f" ({' / '.join(used.figures)})"
    return ""


def _margin(finding: Finding, units: tuple[str, ...]) -> str:
    margin = float(f"{finding.margin:.3g}")
    unit = finding.unit
    if unit is not None and unit.symbol == "degC":  # a difference of temperatures is no temperature
        return f"{margin:g} K"
    return shown_in(margin, unit, units)


def _citations(findings: Sequence[Finding]) -> list[str]:
    """Return the rule's citation and those of the values used, each once, with grade and days."""
    told = {str(findings[0].citation): None}
    for each in findings:
        for used in each.parameters:
            days = f"from {used.starts}" if used.starts else ""
            days += f"{' ' if days else ''}to {used.ends}" if used.ends else ""
            told.setdefault(f"{used.citation}{f', in force {days}' if days else ''}")
    # the same clause with its days says more than without
    dated = [each for each in told if ", in force " in each]
    return [each for each in told if not any(other.startswith(f"{each}, in force ") for other in dated)]


def _faults(page: Page, report: Report) -> None:
    if not report.faults:
        return
    page.heading(
        f"RULES THAT BROKE ({len(report.faults)}): no verdict, tell who maintains the pack",
        style="bold yellow",
    )
    for fault in report.faults:
        page.line(str(fault), indent=2, hang=2)


def _others(page: Page, report: Report, units: tuple[str, ...], wheels: Sequence[str]) -> None:
    """Print what passes, is not known, and does not apply, a line for each rule."""
    for outcome, head in (
        (Outcome.PASS, "PASSED"),
        (Outcome.UNKNOWN, "NOT KNOWN"),
        (Outcome.NOT_APPLICABLE, "DOES NOT APPLY"),
    ):
        found = [each for each in report.findings if each.outcome is outcome]
        if not found:
            continue
        page.heading(f"{head} ({counted(len(found), 'finding')})")
        for group in _by_rule(found):
            page.line(f"{group[0].title} [{group[0].rule}]", indent=2, hang=2)
            alike: dict[str, list[str]] = {}
            for each in group:
                told = _measured(each, units) if outcome is Outcome.PASS else ""
                alike.setdefault(told if told != "pass" else "", []).append(_subject(each))
            for told, subjects in alike.items():
                page.line(f"{_wheels(subjects, wheels)}{': ' if told else ''}{told}", indent=4, hang=2)


# --- what is not known -----------------------------------------------------------------------


def _readings(page: Page, readings: Sequence[Reading], wheels: Sequence[str]) -> None:
    """Print what to measure, one block for a reading with all its wheels, in the order of the walk."""
    if not readings:
        return
    count = counted(len(readings), "reading")
    page.heading(f"MEASURE OR LOOK UP NEXT ({count}, in the order of a walk round the vehicle)")
    fields: dict[str, list[Reading]] = {}
    for reading in readings:
        fields.setdefault(reading.field, []).append(reading)
    for number, same in enumerate(fields.values(), start=1):
        first = same[0]
        symbol = "" if first.unit is None else show(2.0, first.unit).removeprefix("2").strip()
        unit = f", in {symbol}" if symbol else ""
        places = _wheels([each.subject for each in same if each.subject], wheels)
        page.line(f"{number:>3}. {first.meaning}{unit}{f': {places}' if places else ''}", indent=0, hang=5)
        page.line(first.how, indent=5)


def _unanswerable(page: Page, report: Report) -> None:
    """Print what no reading settles, with the reason."""
    reasons: dict[tuple[str, str], list[Finding]] = {}
    for each in report.unknown:
        if each.reason or not each.missing:
            why = each.reason or "what was read is not in the table, or not fine enough, to judge by"
            reasons.setdefault((each.title, why), []).append(each)
    if not reasons:
        return
    page.heading("NO READING SETTLES THIS")
    for (title, why), found in reasons.items():
        page.line(f"{title}: {why}.", indent=2, hang=2)
        page.line(f"{', '.join(_subject(each) for each in found)} [{found[0].rule}]", indent=4, hang=2)


# --- places and sources ------------------------------------------------------------------------


def _coverage(page: Page, report: Report) -> None:
    coverage = report.coverage
    page.heading("PLACES")
    rows = []
    for each in coverage.ties:
        place = each.place or "not given"
        packs = f"packs {', '.join(each.packs)}" if each.packs else "no packs"
        rows.append(
            (f"{each.tie.words} {place}", packs if each.covered else f"NOT COVERED: {each.note} ({packs})")
        )
    page.pairs(rows, indent=2)
    absent = [_OPTIONS[each.tie] for each in coverage.gaps if each.place is None]
    if absent:
        known = next((each.place for each in coverage.ties if each.place), "DE")
        page.line(
            f"To close the gap give {' and '.join(f'{option} PLACE' for option in absent)}; "
            f"--place {known} gives all three at once. A place is never assumed.",
            indent=2,
        )
    for each in coverage.gaps:
        if each.place is not None:
            page.line(
                f"No option closes the gap for {each.place}: it needs a pack, see 'stemlore packs'.", indent=2
            )


def _sources(page: Page, report: Report) -> None:
    """Say how far the sources behind the verdict can be trusted."""
    decided = [each for each in report.findings if each.outcome in (Outcome.PASS, Outcome.FAIL)]
    if not decided:
        return
    page.heading("SOURCES")
    rules: dict[Grade, set[str]] = {}
    for each in decided:
        rules.setdefault(each.grade, set()).add(each.rule)
    told = [f"{grade.meaning}: {counted(len(rules[grade]), 'rule')}" for grade in Grade if grade in rules]
    page.line(f"What the settled findings rest on, by how the text was seen: {'; '.join(told)}.", indent=2)
    page.line(
        "Each rule with its values and sources: stemlore rules RULE_ID, with the same places and day.",
        indent=2,
    )
