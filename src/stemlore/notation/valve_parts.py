"""Names of valve threads, core chambers and rubber grommets."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, Self

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import Ordered, check_integer, check_mark, refuse
from stemlore.notation._text import Scanner, read_designation

__all__ = ["CoreChamber", "Grommet", "ThreadName"]

# Sources of the lists: ISO 4570-1:1977 and ISO 4570-3:1980 (titles), ISO 9413:2012
# (grommets and the threads they fit), GB 9765-2009 (5CV, 8CV).
_LISTED: Final = frozenset(
    "5V1 5V2 6V1 8V1 8V2 10V1 10V2 11V1 12V1 13V2 15V1 16V1 17V1 17V2 17V3 19V1 20V1 5CV 8CV".split()
)
_CHAMBERS: Final = 4
_FORMS: Final = {
    "ISO": re.compile(r"(?:[5-9]|1\d|2\d)(?:V[1-9]|CV)", re.ASCII),
    "DIN": re.compile(r"Vg ([5-9]|1[0-2])", re.ASCII),
    "JIS": re.compile(r"CTV([1-9]\d?)-([1-9]\d)", re.ASCII),
}


@attrs.frozen(kw_only=True)
class ThreadName(Ordered):
    """The name of a valve thread: ``8V1`` (ISO 4570), ``Vg 8`` (DIN 7756), ``CTV8-32`` (JIS D 9422).

    Names of different lists are never the same value: that one thread goes on
    the other is for a table with its source to say.

    Attributes
    ----------
    scheme : str
        ``ISO``, ``DIN`` or ``JIS``.
    name : str
        The name in one spelling, as :func:`str` writes it.
    """

    scheme: str
    name: str

    def __attrs_post_init__(self) -> None:
        refuse("thread name", self._faults())

    def _faults(self) -> Iterator[Fault]:
        known = list(check_mark("scheme", self.scheme, _FORMS))
        yield from known
        if not known and not (isinstance(self.name, str) and _FORMS[self.scheme].fullmatch(self.name)):
            yield Fault("name", f"{self.name!r} is no name of the scheme {self.scheme}")

    @property
    def is_listed(self) -> bool:
        """Whether a list of ISO 4570, ISO 9413 or GB 9765 that was seen names it."""
        return self.name in _LISTED

    @property
    def threads_per_inch(self) -> int | None:
        """What a JIS name ends with; none elsewhere."""
        return int(self.name.partition("-")[2]) if self.scheme == "JIS" else None

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``8V1``, ``10 v 2``, ``Vg12``, ``CTV 8-32``.

        Raises
        ------
        NotationError
            With the character where reading stopped.
        """
        return read_designation("thread name", text, cls._read, _near_threads)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        start = scanner.at
        if scanner.take("VG"):
            scanner.skip()
            scheme, name = "DIN", f"Vg {scanner.digits()}"
        elif scanner.take("CTV"):
            scanner.skip()
            nominal = scanner.digits()
            scanner.skip()
            if not scanner.take("-"):
                raise scanner.fail("the threads per inch follow a hyphen: CTV8-32")
            scanner.skip()
            scheme, name = "JIS", f"CTV{nominal}-{scanner.digits()}"
        else:
            nominal = scanner.digits()
            scanner.skip()
            letters = scanner.take("V", "CV")
            if not nominal or not letters:
                raise scanner.fail("a thread is named such as 8V1, Vg 8 or CTV8-32")
            scanner.skip()
            scheme, name = "ISO", f"{nominal}{letters}{scanner.digits()}"
        scanner.finish("nothing more belongs to a thread name")
        if not _FORMS[scheme].fullmatch(name):
            raise scanner.fail(f"there is no thread {name}", start)
        return cls(scheme=scheme, name=name)

    def _sort_key(self) -> tuple[str, int, str]:
        return self.scheme, int("".join(re.findall(r"\d+", self.name)[:1])), self.name

    def __str__(self) -> str:
        return self.name


def _near_threads(plain: str) -> Iterator[str]:
    packed = "".join(char for char in plain if char.isascii() and char.isalnum())
    yield packed
    if packed.startswith("V") and packed[1:].isdigit():
        yield f"VG{packed[1:]}"
    if packed.endswith("V") and f"{packed}1" in _LISTED and f"{packed}2" not in _LISTED:
        yield f"{packed}1"


@attrs.frozen
class CoreChamber(Ordered):
    """An ISO core chamber by its number: ``No. 1`` (ISO 20562).

    Attributes
    ----------
    number : int
        1 to 4.
    """

    number: int

    def __attrs_post_init__(self) -> None:
        refuse("core chamber", check_integer("number", self.number, 1, _CHAMBERS))

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``No. 1``, ``no 2``, ``ISO No.3``, ``2``.

        Raises
        ------
        NotationError
            With the character where reading stopped. A core's name such as C1 is refused.
        """
        return read_designation("core chamber", text, cls._read, _near_chambers)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        scanner.take("ISO")
        scanner.skip()
        scanner.take("NO.", "NO", "#")
        scanner.skip()
        start = scanner.at
        figures = scanner.digits()
        if not figures:
            raise scanner.fail("the number of the chamber is missing")
        scanner.finish("nothing more belongs to a core chamber")
        if len(figures) > 1 or not 1 <= int(figures) <= _CHAMBERS:
            raise scanner.fail(f"the chambers are numbered from 1 to {_CHAMBERS}", start)
        return cls(int(figures))

    def __str__(self) -> str:
        return f"No. {self.number}"


def _near_chambers(plain: str) -> Iterator[str]:
    yield plain.replace("NR.", "NO.").replace("NR ", "NO ").replace("N\u00b0", "NO ")


@attrs.frozen
class Grommet(Ordered):
    """A rubber grommet of ISO 9413 by its number: ``B 04``.

    Attributes
    ----------
    number : int
        1 to 99; those seen are 1 to 9.
    """

    number: int

    def __attrs_post_init__(self) -> None:
        refuse("grommet", check_integer("number", self.number, 1, 99))

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``B 04``, ``b4``, ``B-04``.

        Raises
        ------
        NotationError
            With the character where reading stopped.
        """
        return read_designation("grommet", text, cls._read, _near_grommets)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        if not scanner.take("B"):
            raise scanner.fail("B stands before the number of a grommet of ISO 9413; others are not read")
        scanner.skip()
        scanner.take("-")
        scanner.skip()
        start = scanner.at
        figures = scanner.digits()
        scanner.finish("nothing more belongs to a grommet")
        if not figures:
            raise scanner.fail("the number is missing")
        if len(figures) > 2 or int(figures) == 0:
            raise scanner.fail("the number has two figures, from 01", start)
        return cls(int(figures))

    def __str__(self) -> str:
        return f"B {self.number:02d}"


def _near_grommets(plain: str) -> Iterator[str]:
    yield f"B{plain.strip()}" if plain.strip().isdigit() else plain.replace(".", "")
