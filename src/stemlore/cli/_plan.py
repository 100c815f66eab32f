"""A work plan as one page: what to know first, what to fit, renew and set, the steps, what is open."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stemlore.cli._page import Page, counted
from stemlore.interchange import ChoiceRecord, PlanRecord, plan_record
from stemlore.interchange.plan_words import (
    cautions_of,
    detail_in_words,
    gaps_of,
    in_a_row,
    meanings,
    reasons,
    values_of,
    wheels_in_words,
)

if TYPE_CHECKING:  # a check does not load the planning
    from stemlore.workplan import CatalogueItem, WorkPlan

__all__ = ["exit_code", "print_plan", "read_list", "write_sheet"]

COMPLETE, OPEN = 0, 1
_PRACTICE = "practice"
_FAILS = "the rule fails"


def exit_code(plan: WorkPlan) -> int:
    """Return 0 if the plan is complete; 1 if something is left open or stops the work."""
    return COMPLETE if plan.is_complete else OPEN


def read_list(file: Path | None) -> tuple[CatalogueItem, ...] | None:
    """Read the shop's own list, if one is given."""
    if file is None:
        return None
    from stemlore.workplan import read_catalogue

    return read_catalogue(file)


def write_sheet(plan: WorkPlan, target: Path, units: Sequence[str], *, figures: bool) -> None:
    """Write the job sheet, whole or not at all."""
    from stemlore.pages import job_sheet  # needs the extra pages, which the other commands do not

    text = job_sheet(plan, figures=figures, units=units)
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.write_text(text, "utf-8")
        beside.replace(target)
    except OSError as error:
        raise click.UsageError(f"--sheet {target} cannot be written: {error.strerror or error}") from error
    finally:
        beside.unlink(missing_ok=True)


def print_plan(page: Page, plan: WorkPlan | PlanRecord, *, units: Sequence[str] = ()) -> None:
    """Print a plan in the order in which it is read at the vehicle."""
    record = plan_record(plan)
    _head(page, record)
    _notices(page, record)
    _choices(page, record, units)
    _renewals(page, record)
    _set_points(page, record, units)
    _steps(page, record, units)
    _gaps(page, record)


def _head(page: Page, plan: PlanRecord) -> None:
    stops = len(plan.stops)
    if stops:
        page.line("STOP: read what stands against the work before it begins.", style="bold red")
    elif plan.gaps:
        page.line("NOT COMPLETE: something must be measured or looked up.", style="bold yellow")
    else:
        page.line("COMPLETE: parts, values and steps are all told.", style="bold green")
    told = [counted(len(plan.steps), "step")]
    told += [f"{counted(len(gaps_of(plan)), 'thing')} open"] if plan.gaps else []
    told += [counted(stops, "notice that stops the work", "notices that stop the work")] if stops else []
    places = ", ".join(f"{each.tie.words} {each.place or 'a place not given'}" for each in plan.coverage.ties)
    page.line(f"{', '.join(told)}. Law of {plan.on}; {places}.", hang=2)
    for each in plan.coverage.gaps:
        page.line(f"Not covered: {each.note}.", hang=2)


def _notices(page: Page, plan: PlanRecord) -> None:
    page.heading("KNOW FIRST")
    for each in sorted(plan.notices, key=lambda one: not one.stops):
        rule = f" [{each.rule}]" if each.rule else ""
        style = "bold red" if each.stops else ""
        page.line(f"{'STOP: ' if each.stops else ''}{each.text}{rule}", indent=2, hang=2, style=style)


def _choices(page: Page, plan: PlanRecord, units: Sequence[str]) -> None:
    if not plan.choices:
        return
    page.heading("VALVE AND SENSOR")
    alike: dict[tuple[_Line, ...], list[str]] = {}
    for choice in plan.choices:
        alike.setdefault(tuple(_chosen(choice, units)), []).extend(choice.positions)
    for lines, positions in alike.items():
        page.line(_capital(wheels_in_words(positions, plan)), indent=2, style="bold")
        for label, text, style in lines:
            page.labelled(label, text, indent=4, style=style)


_Line = tuple[str, str, str]


def _chosen(choice: ChoiceRecord, units: Sequence[str]) -> Iterator[_Line]:
    """Give what to fit, what else may, and why the others may not."""
    if choice.keep:
        yield "Keep", choice.keep, ""
        return
    if choice.fits:
        first, *others = (f"{each.code}{_carried(each.carried)}" for each in choice.fits)
        yield "Fit", first, "bold"
        yield "or", in_a_row(others), ""
    else:
        yield "Fit", "nothing is known to fit", "bold yellow"
    likely = None if choice.fits else choice.likely
    open_: dict[tuple[str, ...], list[str]] = {}
    for each in choice.undecided:
        code = f"{each.code}{_carried(each.carried)}"
        if each.code == likely:
            yield "Likely", f"{code}; first measure on it: {meanings(each.missing)}", "bold"
        else:
            open_.setdefault(each.missing, []).append(code)
    for paths, codes in open_.items():
        want = f", for want of: {meanings(paths)}" if paths else ""
        yield "Undecided", f"{in_a_row(codes)}{want}", ""
    for told in reasons(choice, units):
        both = zip(told.why, told.rules, strict=True)
        yield "Not", f"{told.codes}: {'; '.join(f'{why or _FAILS} [{rule}]' for why, rule in both)}", ""


def _carried(carried: dict[str, str]) -> str:
    return f" ({', '.join(f'{name} {value}' for name, value in carried.items())})" if carried else ""


def _renewals(page: Page, plan: PlanRecord) -> None:
    if not plan.renewals:
        return
    page.heading("RENEW")
    for each in plan.renewals:
        where = wheels_in_words(each.positions, plan)
        page.line(f"{each.part}: {each.action} ({each.strength}), {where}", indent=2, hang=2)
        page.line(f"{each.reason}{f'; {each.note}' if each.note else ''}", indent=4, hang=2)
        page.labelled("Source", str(each.citation), indent=4)


def _set_points(page: Page, plan: PlanRecord, units: Sequence[str]) -> None:
    if not plan.set_points:
        return
    page.heading("SET")
    for each in plan.set_points:
        shown = values_of(each, units)
        style = "bold" if shown.is_known else "bold yellow"
        page.line(f"{each.title}, {wheels_in_words(each.positions, plan)}: {shown}", indent=2, style=style)
        page.labelled("Allowed", shown.band, indent=4)
        if any(bound is not None for bound in (each.target, each.low, each.high)):  # else nobody tells it
            page.labelled("Note", each.note, indent=4)
            page.labelled("Told by", each.told_by, indent=4)
        page.labelled("Rules", ", ".join(each.rules), indent=4)


def _steps(page: Page, plan: PlanRecord, units: Sequence[str]) -> None:
    page.heading(f"STEPS ({len(plan.steps)})")
    for number, each in enumerate(plan.steps, start=1):
        where = wheels_in_words(each.positions, plan)
        page.line(f"{number:>3}. {each.title}{f' ({where})' if where else ''}", hang=5, style="bold")
        for point in each.values:
            shown = values_of(point, units)
            band = f" (allowed {shown.band})" if shown.band else ""
            place = wheels_in_words(point.positions, plan)
            page.line(f"{point.title}, {place}: {shown}{band}", indent=5, hang=2)
        for detail in each.details:
            page.line(_capital(detail_in_words(detail, plan)), indent=5, hang=2)
        for caution in cautions_of(each):
            page.labelled("Caution", caution, indent=5, style="bold")
        page.labelled("Why", each.reason, indent=5)
        if each.citation.grade != _PRACTICE:
            page.labelled("Source", str(each.citation), indent=5)
    if any(each.citation.grade == _PRACTICE for each in plan.steps):
        page.line("Steps without a source are common practice of the trade.", indent=5)


def _gaps(page: Page, plan: PlanRecord) -> None:
    if not plan.gaps:
        return
    gaps = gaps_of(plan)
    page.heading(f"OPEN ({len(gaps)})", style="bold yellow")
    for each in gaps:
        where = wheels_in_words(each.positions, plan)
        page.line(f"{each.text}{f' ({where})' if where else ''}", indent=2, hang=2)
        page.labelled("Find out", meanings(each.missing), indent=4)
        page.labelled("Rule", each.rule, indent=4)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
