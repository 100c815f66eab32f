"""Pages about formulas: the list, one with its sources, and a result with how far to trust it."""

from __future__ import annotations

from collections.abc import Sequence

from stemlore.cli._page import Page, counted
from stemlore.errors import BareNumberError, UnitError
from stemlore.formulas import Argument, Estimate, Formula, compute, formula, formulas
from stemlore.units import DIMENSIONLESS, Unit, convert, show, unit

__all__ = ["print_formula", "print_formulas", "print_result"]


def print_formulas(page: Page) -> None:
    """Print every formula by subject."""
    found = formulas()
    page.line(f"{counted(len(found), 'formula', 'formulas')}. Show one: stemlore compute NAME.")
    for subject in dict.fromkeys(each.subject for each in found.values()):
        page.heading(subject.replace("_", " "))
        page.pairs(
            ((each.name, each.summary) for each in found.values() if each.subject == subject), indent=2
        )


def print_formula(page: Page, name: str) -> None:
    """Print one formula: arguments, range, sources, worked examples."""
    found = formula(name)
    page.heading(found.name)
    page.line(found.summary, indent=2)
    page.line()
    page.pairs(((f"{each.name}=", _argument(each)) for each in found.args), indent=2)
    page.line()
    page.labelled("Gives", f"{found.meaning}, in {_symbol(found.returns)}", indent=2)
    page.labelled("Range", found.valid or "everywhere", indent=2)
    page.labelled("Known misfit", found.misfit, indent=2)
    for source in found.sources:
        page.labelled("Source", str(source), indent=2)
    for each in found.examples:
        given = " ".join(f"{key}={value!r}" for key, value in each.given.items())
        page.labelled("Example", f"{given} gives {each.result}", indent=2)


def print_result(page: Page, name: str, values: Sequence[str], wanted: str | None) -> None:
    """Print what a formula comes to, its range, grade and sources."""
    found = formula(name)
    value, given = compute(name, **_read(found, values))
    if isinstance(value, Estimate):
        page.line(f"{found.meaning}: {_shown(float(value.value), given, wanted)}", style="bold")
        page.labelled("Trust", f"within {value.within:g} {_symbol(value.unit)}: {value.basis}", indent=2)
    else:
        page.line(f"{found.meaning}: {_shown(float(value), given, wanted)}", style="bold")
    page.labelled("Range", found.valid, indent=2)
    page.labelled("Known misfit", found.misfit, indent=2)
    page.labelled("Weakest grade", found.grade.meaning, indent=2)
    for source in found.sources:
        page.labelled("Source", str(source), indent=2)


def _read(found: Formula, values: Sequence[str]) -> dict[str, object]:
    """Split key=value; a plain number stands for an argument without unit."""
    plain = {each.name for each in found.args if each.unit is DIMENSIONLESS}
    read: dict[str, object] = {}
    for text in values:
        key, joint, value = text.partition("=")
        if not joint:
            raise UnitError(f"{text!r} is not key=value", advice="such as hot_pressure='2.8 bar'")
        read[key.strip()] = f"{value} 1" if key in plain and _is_number(value) else value
    return read


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _shown(value: float, given: Unit, wanted: str | None) -> str:
    if wanted is None:
        return show(value, given)
    if unit(wanted).dimension != given.dimension:
        raise BareNumberError(f"the result is in {_symbol(given)}", advice=f"{wanted} does not fit")
    return show(convert(value, given, unit(wanted)), unit(wanted))


def _argument(of: Argument) -> str:
    return f"{of.meaning}, in {_symbol(of.unit)}"


def _symbol(of: Unit) -> str:
    return "plain numbers" if of is DIMENSIONLESS else str(of)
