"""The number of a valve in a scheme of valve numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Self

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import check_integer, check_mark, refuse
from stemlore.notation._text import Scanner, read_designation

__all__ = ["ValveCode"]

_WHAT: Final = "valve number"
_MARKS: Final = {"TRA": "TR"}  # scheme -> what is printed before the number
_MOST_NUMBER: Final = 9999
_MOST_SUFFIX: Final = 4
_LETTERS: Final = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
_FINISH: Final = "CH"  # chrome sleeve: looks only, same valve in every table


@attrs.frozen(kw_only=True)
class ValveCode:
    """A valve number of the Tire and Rim Association: ``TR413``, ``TR600HP``.

    Attributes
    ----------
    number : int
        The number without letters.
    suffix : str
        Letters after it: ``HP``, ``CH``, ``A``; empty for none.
    scheme : str
        Whose numbers they are; ``TRA``.
    """

    number: int
    suffix: str = ""
    scheme: str = "TRA"

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, self._faults())

    def _faults(self) -> Iterator[Fault]:
        yield from check_mark("scheme", self.scheme, _MARKS)
        yield from check_integer("number", self.number, 1, _MOST_NUMBER)
        suffix = self.suffix
        if not isinstance(suffix, str) or len(suffix) > _MOST_SUFFIX or not set(suffix) <= _LETTERS:
            yield Fault("suffix", f"at most {_MOST_SUFFIX} capital letters are needed, not {suffix!r}")

    @property
    def table_key(self) -> str:
        """The number as tables list it: the finish ``CH`` is dropped, ``HP`` stays."""
        return f"{_MARKS[self.scheme]}{self.number}{self.suffix.removesuffix(_FINISH)}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``TR413``, ``tr 413``, ``TR-600 HP``.

        Raises
        ------
        NotationError
            With the character where reading stopped. A bare ``413`` is refused.
        """
        return read_designation(_WHAT, text, cls._read, _near)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        if not scanner.take("TR"):
            raise scanner.fail("TR must stand before the number; other schemes are not read")
        _joint(scanner)
        start = scanner.at
        figures = scanner.digits()
        if not figures:
            raise scanner.fail("the number is missing")
        if figures.startswith("0") or int(figures[:5]) > _MOST_NUMBER:
            raise scanner.fail(f"the number must be from 1 to {_MOST_NUMBER}, without leading zero", start)
        _joint(scanner)
        start = scanner.at
        suffix = scanner.letters()
        if len(suffix) > _MOST_SUFFIX:
            raise scanner.fail(f"more than {_MOST_SUFFIX} letters follow the number", start)
        if not suffix and scanner.plain[start - 1] == "-":
            raise scanner.fail("letters are missing after the hyphen", start)
        scanner.finish("nothing more belongs to a valve number")
        return cls(number=int(figures), suffix=suffix)

    def __str__(self) -> str:
        return f"{_MARKS[self.scheme]}{self.number}{self.suffix}"


def _joint(scanner: Scanner) -> None:
    scanner.skip()
    scanner.take("-")
    scanner.skip()


def _near(plain: str) -> Iterator[str]:
    packed = "".join(char for char in plain if char.isascii() and char.isalnum())
    yield packed
    if packed[:1].isdigit():
        yield f"TR{packed}"
    if packed.startswith("TR"):
        yield f"TR{packed[2:].removeprefix('A').lstrip('0')}"
