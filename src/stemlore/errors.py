"""Every error that stemlore raises on purpose.

One root, :class:`StemloreError`. Each class also inherits the builtin that it
resembles, keeps its data in attributes, says what, where, why and what to do,
and survives pickling.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any

import attrs

__all__ = [
    "BareNumberError",
    "ColumnError",
    "DayError",
    "DecisionUnavailableError",
    "DimensionError",
    "DocumentError",
    "Fault",
    "FaultyError",
    "LanguageError",
    "MissingExtraError",
    "NodeTruthError",
    "NotInTableError",
    "NotationError",
    "OutOfRangeError",
    "PackError",
    "PackLoadError",
    "RecordError",
    "RuleError",
    "SourceError",
    "StemloreError",
    "TableError",
    "UnitError",
    "UnknownFieldError",
    "UnknownFormulaError",
    "UnknownPlaceError",
    "UnknownRuleError",
    "UnknownTableError",
    "WriteError",
    "near_misses",
]


def near_misses(word: str, known: Iterable[str], *, most: int = 3, alike: float = 0.5) -> tuple[str, ...]:
    """Return the known words that look most like ``word``, best first."""
    return tuple(difflib.get_close_matches(word, list(known), n=most, cutoff=alike))


@attrs.frozen
class Fault:
    """One thing wrong in a record, document, table or pack.

    Attributes
    ----------
    path : str
        Where, from the root of what was read: ``assemblies[2].tyre.pressure``.
    message : str
        What is wrong there, and why.
    advice : str
        What to do about it; empty where the message says it all.
    where : str
        File and line, where there is one.
    """

    path: str
    message: str
    advice: str = ""
    where: str = ""

    def under(self, prefix: str) -> Fault:
        """Return the same fault seen from one level further out."""
        if not prefix:
            return self
        joint = "" if self.path.startswith("[") or not self.path else "."
        return attrs.evolve(self, path=f"{prefix}{joint}{self.path}")

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        head = f"{self.path}: " if self.path else ""
        tail = f" ({self.advice})" if self.advice else ""
        return f"{place}{head}{self.message}{tail}"


def _rebuild(cls: type[StemloreError], args: tuple[Any, ...], data: dict[str, Any]) -> StemloreError:
    error = cls.__new__(cls, *args)
    error.args = args  # an OSError made so would have none
    for name, value in data.items():
        setattr(error, name, value)
    return error


class StemloreError(Exception):
    """Root of all errors of this library."""

    def __reduce__(self) -> tuple[Any, ...]:
        data = dict(self.__dict__)
        if (name := getattr(self, "name", None)) is not None:  # AttributeError keeps it apart
            data["name"] = name
        return _rebuild, (type(self), self.args, data)


class _Told(StemloreError):
    """An error with one message and advice."""

    def __init__(self, message: str, *, advice: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.advice = advice

    def __str__(self) -> str:
        return f"{self.message} ({self.advice})" if self.advice else self.message


class BareNumberError(_Told, TypeError):
    """A number came without a unit where a unit is needed."""


class UnitError(_Told, ValueError):
    """A unit is unknown, or of the wrong dimension, or the text is no quantity."""


class DimensionError(_Told, TypeError):
    """Two parts of a rule cannot be put together: their dimensions differ."""


class NodeTruthError(_Told, TypeError):
    """A part of a rule was used as if it had a truth value, or was looped over."""


class RuleError(_Told, ValueError):
    """A rule is not well made."""


class DayError(_Told, ValueError):
    """A day is not one that this rulebook can answer for."""


class OutOfRangeError(_Told, ValueError):
    """A formula was asked for values outside the range that it holds in."""


class DecisionUnavailableError(_Told, NotImplementedError):
    """The decision rule asked for is not available for these rules."""


class LanguageError(_Told, LookupError):
    """There are no sentences in the language asked for."""


class MissingExtraError(_Told, ImportError):
    """Something needs an optional part that is not installed."""

    def __init__(self, what: str, *, extra: str) -> None:
        super().__init__(
            f"{what} needs the extra '{extra}', which is not installed",
            advice=f"pip install 'stemlore[{extra}]'",
        )
        self.extra = extra


class _Unknown(_Told):
    """Something was asked for by a name that is not known."""

    noun = "name"

    def __init__(self, name: str, known: Iterable[str] = (), *, advice: str = "") -> None:
        near = near_misses(name, known)
        hint = advice or (f"did you mean {' or '.join(near)}?" if near else "")
        super().__init__(f"unknown {self.noun} {name!r}", advice=hint)
        self.asked = name
        self.near = near


class UnknownFieldError(_Unknown, AttributeError):
    """No record has a field of this name."""

    noun = "field"


class UnknownFormulaError(_Unknown, KeyError):
    """There is no formula of this name."""

    noun = "formula"


class UnknownPlaceError(_Unknown, LookupError):
    """A place is not an ISO 3166 code, nor EU, UN or world."""

    noun = "place"


class UnknownRuleError(_Unknown, KeyError):
    """The rulebook holds no rule of this id."""

    noun = "rule"


class UnknownTableError(_Unknown, KeyError):
    """There is no table of this name."""

    noun = "table"


class ColumnError(_Told, LookupError):
    """A table lacks a column that is needed."""


class SourceError(_Told, OSError):
    """A file or table of a fleet cannot be read."""


class WriteError(_Told, OSError):
    """Results cannot be written; nothing half written stands under their names."""


class NotInTableError(_Told, LookupError):
    """A table has no row for these keys; ``nearest`` says which come closest."""

    def __init__(self, table: str, keys: object, nearest: Iterable[object] = ()) -> None:
        self.table = table
        self.keys = keys
        self.nearest = tuple(nearest)
        near = ", ".join(str(key) for key in self.nearest)
        super().__init__(
            f"table {table!r} has no row for {keys}",
            advice=f"nearest: {near}" if near else "",
        )


class NotationError(_Told, ValueError):
    """A designation cannot be read.

    Attributes
    ----------
    text : str
        What was given.
    position : int
        Index of the character where reading stopped.
    suggestion : str
        The nearest valid form, or empty.
    """

    def __init__(self, what: str, text: str, position: int, why: str, *, suggestion: str = "") -> None:
        self.what = what
        self.text = text
        self.position = position
        self.why = why
        self.suggestion = suggestion
        shown = text if len(text) <= 60 else text[:57] + "..."
        super().__init__(
            f"{shown!r} is not a {what}: {why}, at character {position + 1}",
            advice=f"write for example {suggestion!r}" if suggestion else "",
        )


class FaultyError(StemloreError):
    """Several things are wrong at once; ``faults`` lists them all."""

    lead = "faults"

    def __init__(self, what: str, faults: Iterable[Fault]) -> None:
        self.what = what
        self.faults = tuple(faults)
        super().__init__(what)

    def __str__(self) -> str:
        count = len(self.faults)
        lines = "".join(f"\n  {fault}" for fault in self.faults)
        return f"{self.what}: {count} {'fault' if count == 1 else 'faults'}{lines}"


class RecordError(FaultyError, ValueError):
    """A record of the model cannot be made from these values."""


class DocumentError(FaultyError, ValueError):
    """A document cannot be read."""


class TableError(FaultyError, ValueError):
    """A reference table is not well formed."""


class PackError(FaultyError, ValueError):
    """A pack is not well formed."""


class PackLoadError(_Told, ImportError):
    """A pack that was asked for could not be loaded; the cause is chained."""

    def __init__(self, pack: str, why: str, *, advice: str = "") -> None:
        self.pack = pack
        super().__init__(f"pack {pack!r} cannot be loaded: {why}", advice=advice)
