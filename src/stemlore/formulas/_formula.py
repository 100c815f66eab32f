"""A formula: a function with the units, range, sources and worked examples of what it computes.

One body serves floats, arrays, columns, quantities and rule trees; how each
is run stands in :mod:`._running`.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal, overload

import attrs

from stemlore.errors import BareNumberError, Fault, OutOfRangeError, RecordError, RuleError, UnitError
from stemlore.formulas._operators import (
    Number,
    TreePart,
    is_array,
    is_column,
    is_quantity,
    is_tree,
)
from stemlore.formulas._running import as_array, as_column, as_float, as_quantity, as_tree
from stemlore.formulas._units import compound
from stemlore.formulas.constants import Cited, Constant, constant
from stemlore.provenance import Citation, Grade
from stemlore.units import Unit, convert, measure, settle

__all__ = ["Argument", "Estimate", "Formula", "WorkedExample", "define_formula"]

Kind = Literal["arithmetic", "procedure"]


@attrs.frozen
class Argument:
    """One argument of a formula: name, unit that plain numbers are in, meaning."""

    name: str
    unit: Unit
    meaning: str


@attrs.frozen
class WorkedExample:
    """One published case.

    Attributes
    ----------
    given : mapping of str to str or tuple of str
        Arguments as text with units.
    result : str
        What the source prints, with its unit.
    tolerance : str
        Half of the last figure printed, unless the note says otherwise.
    cited : Cited
        Where it is printed.
    note : str
        What else must be known; empty where nothing.
    """

    given: Mapping[str, str | tuple[str, ...]]
    result: str
    tolerance: str
    cited: Cited
    note: str = ""

    @property
    def citation(self) -> Citation:
        """Where it is printed, with the source."""
        return self.cited.citation


@attrs.frozen(eq=False)
class Estimate:
    """What a procedure gives: the value and how far to trust it.

    Attributes
    ----------
    value : float or array
        In ``unit``.
    unit : Unit
        Unit of value and ``within``.
    within : float
        Greatest difference from published figures that is known, or the standard error.
    basis : str
        What ``within`` was found from.
    grade : Grade
        The weakest grade that it rests on.
    """

    value: Any
    unit: Unit
    within: float
    basis: str
    grade: Grade


@attrs.frozen(eq=False, slots=False)
class Formula:
    """A formula with all that is to be known of it.

    Called with plain numbers in the declared units, arrays, columns,
    quantities or parts of a rule's tree. Outside its range a float or
    quantity raises :class:`~stemlore.errors.OutOfRangeError`; in arrays,
    columns and trees the result is missing.

    Attributes
    ----------
    name, subject, kind : str
        ``etrto_standard_load``, ``load``, ``arithmetic`` or ``procedure``.
    summary, doc : str
        First line and whole text of what it does.
    args : tuple of Argument
        In order.
    returns : Unit
        Unit of the result.
    meaning : str
        What the result is.
    valid : str
        The range in words; empty where there is none.
    cited : tuple of Cited
        Where the formula comes from.
    examples : tuple of WorkedExample
        Published cases.
    misfit : str
        Where it is known to differ from what is published; empty where nowhere.
    """

    name: str
    subject: str
    kind: Kind
    summary: str
    doc: str
    args: tuple[Argument, ...]
    returns: Unit
    meaning: str
    valid: str
    cited: tuple[Cited, ...]
    examples: tuple[WorkedExample, ...]
    misfit: str
    body: Callable[..., Number] = attrs.field(repr=False)
    condition: Callable[..., Number] | None = attrs.field(repr=False)
    gives: Unit = attrs.field(repr=False)
    _constants: tuple[tuple[str, str, Unit | None], ...] = attrs.field(repr=False)

    @property
    def sources(self) -> tuple[Citation, ...]:
        """Where the formula comes from."""
        return tuple(each.citation for each in self.cited)

    @property
    def grade(self) -> Grade:
        """The weakest grade among its sources and constants."""
        grades = [each.grade for each in self.cited]
        grades += [each.citation.grade for each in self.constants.values()]
        return min(grades, key=lambda grade: grade.strength)

    @cached_property
    def constants(self) -> Mapping[str, Constant]:
        """Its constants, by their name in the body, in the unit that the body needs."""
        found: dict[str, Constant] = {}
        for name, key, wanted in self._constants:
            one = constant(key)
            if wanted is not None and wanted != one.unit:
                one = attrs.evolve(one, value=convert(one.value, one.unit, wanted), unit=wanted)
            found[name] = one
        return MappingProxyType(found)

    @cached_property
    def signature(self) -> inspect.Signature:
        """The arguments as Python's own signature."""
        either = inspect.Parameter.POSITIONAL_OR_KEYWORD
        return inspect.Signature([inspect.Parameter(each.name, either) for each in self.args])

    @overload
    def __call__(self, *args: float, **named: float) -> float: ...

    @overload
    def __call__(self, *args: TreePart, **named: TreePart) -> TreePart: ...

    @overload
    def __call__(self, *args: Number, **named: Number) -> Number: ...

    def __call__(self, *args: Any, **named: Any) -> Any:
        """Compute from values in the declared units."""
        values = self.signature.bind(*args, **named).arguments
        if self.kind == "procedure":
            return self._run_procedure(values)
        for marks, run in (
            (is_tree, as_tree),
            (is_quantity, as_quantity),
            (is_column, as_column),
            (is_array, as_array),
        ):
            if any(marks(value) for value in values.values()):
                return run(self, values)
        return as_float(self, values)

    def _run_procedure(self, values: Mapping[str, Any]) -> Any:
        if any(is_tree(value) or is_column(value) for value in values.values()):
            raise RuleError(
                f"{self.name} is a procedure and cannot stand in a rule or a column",
                advice="compute it beforehand",
            )
        if any(is_quantity(value) for value in values.values()):
            return self.quantity(**values)[0]
        if any(is_array(value) or isinstance(value, (list, tuple)) for value in values.values()):
            return as_array(self, values)
        return as_float(self, values)

    def quantity(self, **given: Any) -> tuple[Any, Unit]:
        """Compute from text with units, or pint quantities.

        Returns
        -------
        tuple
            Value (of a procedure, its :class:`Estimate`) and unit.

        Raises
        ------
        RecordError
            With every argument that is unknown, missing or unreadable.
        OutOfRangeError
            Outside the range that the formula holds in.
        """
        values = self._read(given)
        if self.kind == "procedure":
            return self._run_procedure(values), self.returns
        return settle(as_float(self, values)), self.returns

    def _read(self, given: Mapping[str, Any]) -> dict[str, Any]:
        names = [each.name for each in self.args]
        faults = [
            Fault(name, "is no argument", f"the arguments are {', '.join(names)}")
            for name in given
            if name not in names
        ]
        values: dict[str, Any] = {}
        for each in self.args:
            if each.name not in given:
                faults.append(Fault(each.name, f"is needed: {each.meaning}", f"in {each.unit}"))
                continue
            try:
                values[each.name] = _measured(given[each.name], each.unit)
            except (BareNumberError, UnitError) as error:
                faults.append(Fault(each.name, error.message, error.advice))
        if faults:
            raise RecordError(f"arguments of {self.name}", faults)
        return values

    def expected(self, example: WorkedExample) -> tuple[float, float]:
        """Return what an example prints and its tolerance, in the unit of the result."""
        value, tolerance = (_printed(text, self.returns) for text in (example.result, example.tolerance))
        return value, tolerance

    def refuse(self, values: Mapping[str, Any], why: str = "") -> OutOfRangeError:
        """Return the error for values outside the range."""
        told = ", ".join(
            f"{each.name} = {values[each.name]:g} {each.unit}"
            if isinstance(values[each.name], (int, float))
            else f"{each.name} = {values[each.name]}"
            for each in self.args
        )
        return OutOfRangeError(
            f"{self.name} does not hold for {told}", advice=why or self.valid or "check the values"
        )


def _printed(text: str, wanted: Unit) -> float:
    number, _, symbol = text.partition(" ")
    return convert(float(number), compound(symbol), wanted)


def _measured(value: object, wanted: Unit) -> Any:
    if isinstance(value, (list, tuple)):
        return [_measured(each, wanted) for each in value]
    number = measure(value, wanted)
    if number is None:
        raise UnitError("is not a finite number", advice="leave out what was not measured")
    return number


def define_formula(
    *,
    args: Mapping[str, tuple[str, str]],
    returns: tuple[str, str],
    sources: Iterable[Cited],
    examples: Iterable[WorkedExample],
    kind: Kind = "arithmetic",
    valid: Callable[..., Number] | None = None,
    constants: Mapping[str, str | tuple[str, str]] | None = None,
    gives: str = "",
    misfit: str = "",
    name: str = "",
    doc: str = "",
    subject: str = "",
) -> Callable[[Callable[..., Number]], Formula]:
    """Make a formula of a function; its docstring is the formula's text.

    Parameters
    ----------
    args : mapping
        Name to unit and meaning, in order.
    returns : tuple of str
        Unit and meaning of the result.
    sources, examples : iterable
        Where it comes from and published cases.
    kind : {'arithmetic', 'procedure'}
        Arithmetic: Python's operators and ours only, for trees too.
    valid : callable
        Condition over any of the arguments and constants; its docstring says it in words.
    constants : mapping
        Parameter of the body to the constant's name, or to name and unit.
    gives : str
        Unit that the body's result is in, where it is not the one to return.
    misfit : str
        Where it is known to differ from what is published.
    name, doc, subject : str
        Name, text and subject of the formula, where they are not the function's and its file's.
    """
    listed = [(key, (told,) if isinstance(told, str) else told) for key, told in (constants or {}).items()]

    def make(body: Callable[..., Number]) -> Formula:
        text = doc or inspect.getdoc(body) or ""
        return Formula(
            name=name or body.__name__,
            subject=subject or body.__module__.rpartition(".")[2],
            kind=kind,
            summary=text.partition("\n")[0],
            doc=text,
            args=tuple(Argument(key, compound(unit), meaning) for key, (unit, meaning) in args.items()),
            returns=compound(returns[0]),
            meaning=returns[1],
            valid=(inspect.getdoc(valid) or "") if valid else "",
            cited=tuple(sources),
            examples=tuple(examples),
            misfit=misfit,
            body=body,
            condition=valid,
            gives=compound(gives or returns[0]),
            constants=tuple(
                (key, told[0], compound(told[1]) if len(told) > 1 else None) for key, told in listed
            ),
        )

    return make
