"""The numbers that formulas need, each with unit, edition and citation.

Read from ``data/constants.csv`` and ``data/sources.csv`` when first asked
for. Nothing known from memory only stands there.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType

import attrs

from stemlore.errors import Fault, TableError, UnitError
from stemlore.formulas._units import compound
from stemlore.provenance import Citation, Grade, Source
from stemlore.units import Unit

__all__ = ["Cited", "Constant", "constant", "constants", "read_constants", "read_sources", "sources"]

_GRADES = {grade.value: grade for grade in Grade if grade is not Grade.MEMORY}


@attrs.frozen
class Constant:
    """One number of a formula.

    Attributes
    ----------
    name : str
        Such as ``us76.sea_level_pressure``.
    value : float
        As the source prints it.
    unit : Unit
        The unit it is printed in.
    edition : str
        Edition of the publication that fixes it; empty where there is none.
    citation : Citation
        Where it was seen.
    """

    name: str
    value: float
    unit: Unit
    edition: str
    citation: Citation


@attrs.frozen
class Cited:
    """One place in a source of this room, by the source's id."""

    source: str
    at: str
    grade: Grade

    @property
    def citation(self) -> Citation:
        """The citation with its source."""
        return Citation(sources()[self.source], self.at, self.grade)


def _rows(text: str) -> list[tuple[int, dict[str, str]]]:
    return [(line, row) for line, row in enumerate(csv.DictReader(io.StringIO(text)), start=2)]


def read_sources(text: str) -> Mapping[str, Source]:
    """Read sources from CSV text.

    Raises
    ------
    TableError
        With every row that has no title, issuer or grade.
    """
    faults: list[Fault] = []
    found: dict[str, Source] = {}
    for line, row in _rows(text):
        where = f"sources.csv:{line}"
        if row["grade"] not in _GRADES:
            faults.append(Fault(row["id"], f"grade {row['grade']!r} does not ship", where=where))
        elif not row["title"] or not row["issuer"] or row["id"] in found:
            faults.append(Fault(row["id"], "needs an id of its own, a title and an issuer", where=where))
        else:
            found[row["id"]] = Source(
                id=row["id"],
                title=row["title"],
                issuer=row["issuer"],
                number=row["number"],
                edition=row["edition"],
                url=row["url"],
                read_on=date.fromisoformat(row["read_on"]) if row["read_on"] else None,
                language=row["language"],
                grade=_GRADES[row["grade"]],
            )
    if faults:
        raise TableError("sources of formulas", faults)
    return MappingProxyType(found)


def read_constants(text: str, known: Mapping[str, Source]) -> Mapping[str, Constant]:
    """Read constants from CSV text.

    Raises
    ------
    TableError
        With every row whose value, unit, source or grade is wrong.
    """
    faults: list[Fault] = []
    found: dict[str, Constant] = {}
    for line, row in _rows(text):
        name, where = row["name"], f"constants.csv:{line}"
        why = _what_is_wrong(row, known, found)
        if why:
            faults.append(Fault(name, why, where=where))
            continue
        cited = Citation(known[row["source"]], row["at"], _GRADES[row["grade"]])
        found[name] = Constant(name, float(row["value"]), compound(row["unit"]), row["edition"], cited)
    if faults:
        raise TableError("constants of formulas", faults)
    return MappingProxyType(found)


def _what_is_wrong(row: dict[str, str], known: Mapping[str, Source], found: Mapping[str, Constant]) -> str:
    if row["name"] in found:
        return "stands twice"
    try:
        if not math.isfinite(float(row["value"])):
            return "the value is not finite"
        compound(row["unit"])
    except UnitError as error:
        return error.message
    except ValueError:
        return f"{row['value']!r} is not a number"
    if row["source"] not in known or not row["at"]:
        return "needs a source and the place in it"
    if row["grade"] not in _GRADES:
        return f"grade {row['grade']!r} does not ship"
    return ""


def _text(name: str) -> str:
    return files("stemlore.formulas").joinpath("data", name).read_text("utf-8")


@lru_cache(maxsize=1)
def sources() -> Mapping[str, Source]:
    """Return the sources of formulas and constants, by id."""
    return read_sources(_text("sources.csv"))


@lru_cache(maxsize=1)
def constants() -> Mapping[str, Constant]:
    """Return all constants by name."""
    return read_constants(_text("constants.csv"), sources())


def constant(name: str) -> Constant:
    """Return one constant."""
    return constants()[name]
