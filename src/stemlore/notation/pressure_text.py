"""Pressure as people write it: 32 psi, 2,2 bar, 220 kPa."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from stemlore.errors import BareNumberError, NotationError, UnitError, near_misses
from stemlore.units import measure, unit

__all__ = ["parse_pressure"]

_WHAT: Final = "pressure"
_LONGEST: Final = 60
_KPA: Final = unit("kPa")
# spelled without case, spaces and points; what is missing here the units read, or refuse with their reason
_SPELLINGS: Final = {
    "psi": "psi",
    "lbf/in2": "psi",
    "lb/in2": "psi",
    "lbs/in2": "psi",
    "lb/sqin": "psi",
    "lbs/sqin": "psi",
    "bar": "bar",
    "bars": "bar",
    "mbar": "mbar",
    "kpa": "kPa",
    "hpa": "hPa",
    "kgf/cm2": "kgf/cm2",
    "kg/cm2": "kgf/cm2",
    "kp/cm2": "kgf/cm2",
}
_NO_UNIT: Final = "this is no unit of pressure; write bar, kPa or psi"
_MASS: Final = "that is a mass; a pressure in {0} is meant by some, so write {0}"
_REFUSED: Final = {
    **dict.fromkeys(("lb", "lbs", "pound", "pounds", "#"), _MASS.format("psi")),
    **dict.fromkeys(("kg", "kgs", "kilo", "kilos"), _MASS.format("kgf/cm2")),
    **dict.fromkeys(("atm", "atmospheres"), "standard atmosphere to some, technical to others; write bar"),
    "mpa": "MPa is written with a great M and a small a",
    "b": "bar is written in full",
    "k": "kPa is written in full",
}
_FORM: Final = re.compile(r"([+-]?)(\d{0,9})(?:([.,])(\d{0,9}))? {0,3}(.*)", re.ASCII)
_UNIT: Final = re.compile(r"[^\W\d_][^\W\d_./]{0,15}(?:[./][^\W\d_]{1,5}){0,2}")


def parse_pressure(text: str) -> tuple[float, str]:
    """Read one pressure and return it in kilopascals, with the text as given.

    Whether it is gauge or absolute is told by the field that it is for.

    Parameters
    ----------
    text : str
        A number and a unit: ``32 psi``, ``2,2 bar``, ``220kPa``.

    Returns
    -------
    tuple of float and str
        Kilopascals, and what was given without spaces around it.

    Raises
    ------
    NotationError
        With the character and the reason: a bare number, a unit that has two
        meanings (atm, lb), atü and ata, psig and psia, two figures at once.
    """
    if not isinstance(text, str):
        raise NotationError(_WHAT, repr(text)[:_LONGEST], 0, f"text is needed, not {type(text).__name__}")
    if len(text) > _LONGEST:
        raise NotationError(_WHAT, text, _LONGEST, f"longer than {_LONGEST} characters")
    given = text.strip()
    lead = text.index(given)
    if not given:
        raise NotationError(_WHAT, text, 0, "there is nothing to read")
    plain = _plain(given)
    found = _FORM.match(plain)
    if found is None or not (found[2] or found[4]):
        raise NotationError(_WHAT, text, lead, "a number stands first", suggestion=_turned(plain))
    sign, whole, mark, decimals, symbol = found.groups()
    if mark and not decimals:
        raise NotationError(_WHAT, text, lead + found.end(3), "a figure is missing after the decimal mark")
    if sign == "-":
        raise NotationError(_WHAT, text, lead, "a tyre's pressure is not below ambient")
    number = f"{whole or '0'}.{decimals or '0'}"
    return _in_kpa(text, number, symbol.strip(), lead + found.start(5)), given


def _plain(text: str) -> str:
    """Make wide characters and spaces plain, one character for one."""
    return "".join(_plain_char(char) for char in text)


def _plain_char(char: str) -> str:
    if char.isspace():
        return " "
    form = unicodedata.decomposition(char)
    return unicodedata.normalize("NFKC", char) if form.startswith(("<wide>", "<narrow>")) else char


def _turned(plain: str) -> str:
    """Return a unit that stands before its number the right way round, else nothing."""
    found = re.fullmatch(r"(bar|psi|kpa):? {0,3}(\d{1,4}(?:[.,]\d{1,3})?)", plain, re.ASCII | re.IGNORECASE)
    return "" if found is None else f"{found[2].replace(',', '.')} {_SPELLINGS[found[1].lower()]}"


def _in_kpa(text: str, number: str, symbol: str, at: int) -> float:
    if not symbol:
        raise NotationError(_WHAT, text, len(text.rstrip()), "the unit is missing: bar, kPa or psi") from (
            BareNumberError(f"{text[:_LONGEST]!r} has no unit")
        )
    key = symbol.lower().replace(" ", "").replace("\u00b2", "2").rstrip(".")
    known = "MPa" if symbol == "MPa" else _SPELLINGS.get(key) or _SPELLINGS.get(key.replace(".", ""))
    if known is not None:
        return measure(f"{number} {known}", _KPA) or 0.0
    if (why := _REFUSED.get(key)) is not None:
        raise NotationError(_WHAT, text, at, why)
    if any(char.isdigit() for char in symbol):
        raise NotationError(_WHAT, text, at, "one figure with one unit is read; give one of them")
    if not _UNIT.fullmatch(symbol):
        raise NotationError(_WHAT, text, at, _NO_UNIT)
    try:
        return measure(f"{number} {symbol}", _KPA) or 0.0
    except UnitError as error:
        if not error.message.startswith("unknown unit"):  # the units know it, and why not to use it
            raise NotationError(_WHAT, text, at, str(error)) from error
        near = tuple(word for word in near_misses(key, _SPELLINGS, most=1) if word[:1] == key[:1])
        suggestion = f"{float(number):g} {_SPELLINGS[near[0]]}" if near else ""
        raise NotationError(_WHAT, text, at, _NO_UNIT, suggestion=suggestion) from error
