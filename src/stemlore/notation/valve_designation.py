"""Designations of valves beside the numbers of the Tire and Rim Association."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, Self

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import Ordered, check_mark, refuse
from stemlore.notation._text import Scanner, read_designation
from stemlore.notation.valve_code import ValveCode

__all__ = ["ValveDesignation", "parse_valve"]

_WHAT: Final = "valve designation"
_FORMS: Final = {
    "ETRTO": re.compile(r"V[1-9]\.\d\d\.[1-9]\d?", re.ASCII),
    "national": re.compile(r"[1-9]\d{1,2}(?:\.[1-9])? [A-Z]{1,3} [1-9]\d?(?:\.[1-9])?", re.ASCII),
    # TR and two figures are a number of the Tire and Rim Association
    "ISO": re.compile(r"(?!TR)[A-Z]{2} \d\d", re.ASCII),
}


@attrs.frozen(kw_only=True)
class ValveDesignation(Ordered):
    """A valve as ETRTO, national standards or ISO name it: ``V2.03.1``, ``43 GS 11.5``, ``CQ 07``.

    A name tells whose list to look in. That two names of different lists mean
    one valve is for a table with its source to say, and a help to match only.

    Attributes
    ----------
    scheme : str
        ``ETRTO``, ``national`` or ``ISO`` (two letters and two figures, ISO 9413).
    name : str
        The name in one spelling, as :func:`str` writes it.
    """

    scheme: str
    name: str

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, self._faults())

    def _faults(self) -> Iterator[Fault]:
        known = list(check_mark("scheme", self.scheme, _FORMS))
        yield from known
        if not known and not (isinstance(self.name, str) and _FORMS[self.scheme].fullmatch(self.name)):
            yield Fault("name", f"{self.name!r} is no name of the scheme {self.scheme}")

    @property
    def length_mm(self) -> float | None:
        """The length that a national name begins with; the facts here do not say how it is measured."""
        return float(self.name.split()[0]) if self.scheme == "national" else None

    @property
    def hole_class_mm(self) -> float | None:
        """The class of valve hole that a national name ends with: 11.5, 16; no diameter to measure."""
        return float(self.name.split()[2]) if self.scheme == "national" else None

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``V2.03.1``, ``v 2-03-1``, ``43GS11,5``, ``CQ07``.

        Raises
        ------
        NotationError
            With the character where reading stopped. A number such as TR413 is
            a :class:`ValveCode` and refused here.
        """
        return read_designation(_WHAT, text, cls._read, _near)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        if scanner.plain.startswith("TR", scanner.at):
            raise scanner.fail("a TR number is a valve number of its own kind; read it with ValveCode")
        if scanner.peek().isdigit():
            return cls(scheme="national", name=_national(scanner))
        letters_at = scanner.at
        letters = scanner.letters()
        if letters == "V":
            return cls(scheme="ETRTO", name=_etrto(scanner))
        if len(letters) != 2:
            why = "V and figures, a length in millimetres or two letters can stand here"
            raise scanner.fail(why, letters_at)
        scanner.skip()
        start = scanner.at
        figures = scanner.digits()
        if len(figures) != 2:
            raise scanner.fail("two figures follow the two letters", start)
        scanner.finish("nothing more belongs to a valve designation")
        return cls(scheme="ISO", name=f"{letters} {figures}")

    def __str__(self) -> str:
        return self.name


def _part(scanner: Scanner, digits: int, what: str) -> str:
    scanner.skip()
    start = scanner.at
    figures = scanner.digits()
    if not figures:
        raise scanner.fail(f"the {what} is missing")
    if len(figures) > digits:
        raise scanner.fail(f"the {what} has at most {digits} figure{'s' if digits > 1 else ''}", start)
    return figures


def _separator(scanner: Scanner) -> None:
    scanner.skip()
    if not scanner.take(".", "-"):
        raise scanner.fail("a point is missing: V2.03.1" if not scanner.ended else "the number ends too soon")


def _etrto(scanner: Scanner) -> str:
    scanner.skip()
    scanner.take("-", ".")
    start = scanner.at
    series = _part(scanner, 1, "first figure")
    _separator(scanner)
    group = _part(scanner, 2, "second number")
    _separator(scanner)
    last = _part(scanner, 2, "last number")
    scanner.finish("nothing more belongs to a valve designation")
    if series == "0" or last.startswith("0") or len(group) != 2:
        raise scanner.fail("the three parts are one figure, two figures, and a number from 1", start)
    return f"V{series}.{group}.{last}"


def _national(scanner: Scanner) -> str:
    start = scanner.at
    length = _short(scanner.decimal())
    scanner.skip()
    letters_at = scanner.at
    letters = scanner.letters()
    if not 1 <= len(letters) <= 3:
        raise scanner.fail("one to three letters follow the length", letters_at)
    scanner.skip()
    hole_at = scanner.at
    hole = _short(scanner.decimal())
    if not hole:
        raise scanner.fail("the class of valve hole is missing")
    scanner.finish("nothing more belongs to a valve designation")
    form = _FORMS["national"]
    if not form.fullmatch(f"{length} G 11.5"):
        raise scanner.fail("the length is from 10 to 999 mm with at most one decimal", start)
    if not form.fullmatch(f"43 G {hole}"):
        raise scanner.fail("the class of valve hole is from 1 to 99 mm with at most one decimal", hole_at)
    return f"{length} {letters} {hole}"


def _short(figures: str) -> str:
    whole, _, decimals = figures.partition(".")
    decimals = decimals.rstrip("0")
    return f"{whole}.{decimals}" if decimals else whole


_RUN_TOGETHER: Final = re.compile(r"V ?(\d)[ .-]?(\d\d)[ .-]?(\d\d?)", re.ASCII)


def _near(plain: str) -> Iterator[str]:
    if found := _RUN_TOGETHER.fullmatch(plain.strip()):
        yield f"V{found[1]}.{found[2]}.{found[3]}"
    yield "".join(char for char in plain if char not in "-_/:")


def parse_valve(text: str) -> ValveCode | ValveDesignation:
    """Read a valve's name of any scheme; TR numbers are :class:`ValveCode`.

    Raises
    ------
    NotationError
        With the character where reading stopped.
    """
    if isinstance(text, str) and text.strip().startswith(("T", "t", "\uff34", "\uff54")):  # wide ones too
        return ValveCode.parse(text)
    return ValveDesignation.parse(text)
