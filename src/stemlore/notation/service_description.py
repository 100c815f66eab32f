"""The service description of a tyre: load index and speed symbol."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Final, Self, cast

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import Ordered, check_integer, check_mark, refuse
from stemlore.notation._text import Scanner, read_designation

__all__ = ["COMMON_SERVICE", "SPEED_SYMBOLS", "ServiceDescription", "common_service"]

_WHAT: Final = "service description"
_MOST_INDEX: Final = 279
SPEED_SYMBOLS: Final = (*(f"A{step}" for step in range(1, 9)), *"BCDEFGJKLMNPQRSTUHVWY")
"""All speed symbols, slowest first; H stands between U and V."""

_ABOVE: Final = ("W", "Y")  # brackets lift these above their speed: W on motorcycles, Y on cars
_ONLY_ABOVE: Final = f"only the speed symbols {' and '.join(_ABOVE)} stand in brackets"


@attrs.frozen
class ServiceDescription(Ordered):
    """Load index, second load index for twin fitment, and speed symbol: ``121/118R``.

    Attributes
    ----------
    load_index : int
        0 to 279; for a single tyre where two are marked.
    load_index_dual : int or None
        For twin (dual) fitment.
    speed_symbol : str
        A1 to A8, B to Y.
    bracketed : bool
        ``(95Y)``, ``(58W)``: made for more than the speed of the symbol.
    """

    load_index: int
    load_index_dual: int | None
    speed_symbol: str
    bracketed: bool = False

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, self._faults())

    def _faults(self) -> Iterator[Fault]:
        yield from check_integer("load_index", self.load_index, 0, _MOST_INDEX)
        if self.load_index_dual is not None:
            yield from check_integer("load_index_dual", self.load_index_dual, 0, _MOST_INDEX)
        yield from check_mark("speed_symbol", self.speed_symbol, SPEED_SYMBOLS)
        if not isinstance(self.bracketed, bool):
            yield Fault("bracketed", f"true or false is needed, not {self.bracketed!r}")
        elif self.bracketed and self.speed_symbol not in _ABOVE:
            yield Fault("bracketed", _ONLY_ABOVE)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``91V``, ``121/118 R``, ``(95Y)``, ``95(Y)``, ``(58W)``.

        Raises
        ------
        NotationError
            With the character where reading stopped.
        """
        if cls is ServiceDescription and type(text) is str and (found := _COMMON(text)) is not None:
            return cast("Self", common_service(*found.groups()))
        return read_designation(_WHAT, text, cls._read_all, _near)

    @classmethod
    def _read_all(cls, scanner: Scanner) -> Self:
        value = cls._read(scanner)
        scanner.finish("nothing more belongs to a service description")
        return value

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        """Read a service description at the place of the scanner."""
        outer = scanner.take("(")
        scanner.skip()
        single = _index(scanner)
        scanner.skip()
        dual = None
        if scanner.take("/"):
            scanner.skip()
            dual = _index(scanner)
            scanner.skip()
        inner_at = scanner.at
        inner = scanner.take("(")
        if outer and inner:
            raise scanner.fail("a second bracket opens", inner_at)
        scanner.skip()
        symbol_at = scanner.at
        symbol = scanner.take(*SPEED_SYMBOLS)
        if not symbol:
            raise scanner.fail("no speed symbol stands here" if scanner.ended else "this is no speed symbol")
        if symbol[-1].isdigit() and scanner.peek().isdigit():
            raise scanner.fail("the speed symbols with A end at A8")
        if outer or inner:
            if symbol not in _ABOVE:
                raise scanner.fail(_ONLY_ABOVE, symbol_at)
            scanner.skip()
            if not scanner.take(")"):
                raise scanner.fail("the bracket is not closed")
        return cls(single, dual, symbol, bool(outer or inner))

    def _sort_key(self) -> tuple[int, int, int, bool]:
        dual = -1 if self.load_index_dual is None else self.load_index_dual
        return self.load_index, dual, SPEED_SYMBOLS.index(self.speed_symbol), self.bracketed

    def __str__(self) -> str:
        second = "" if self.load_index_dual is None else f"/{self.load_index_dual}"
        plain = f"{self.load_index}{second}{self.speed_symbol}"
        return f"({plain})" if self.bracketed else plain


_INDEX: Final = r"(\d\d|1\d\d|2[0-7]\d)"
COMMON_SERVICE: Final = rf"{_INDEX}(?:/{_INDEX})?([B-HJ-NP-WY])"
"""How most service descriptions are written, as three groups."""

_COMMON: Final = re.compile(COMMON_SERVICE, re.ASCII).fullmatch


@lru_cache(maxsize=4096)
def common_service(single: str, dual: str | None, symbol: str, bracketed: bool = False) -> ServiceDescription:
    """Return the service description that a pattern has found."""
    return ServiceDescription(int(single), None if dual is None else int(dual), symbol, bracketed)


def _index(scanner: Scanner) -> int:
    start = scanner.at
    figures = scanner.digits()
    if not figures:
        raise scanner.fail("a load index is missing")
    if len(figures) > 3 or int(figures) > _MOST_INDEX:
        raise scanner.fail(f"the load index ends at {_MOST_INDEX}", start)
    return int(figures)


def _near(plain: str) -> Iterator[str]:
    packed = plain.replace(" ", "")
    yield packed.replace("-", "/")
    figures = packed.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    if figures != packed and figures:  # V91 for 91V
        yield figures + packed[: len(packed) - len(figures)]
    bare = packed.replace("(", "").replace(")", "")
    if bare != packed:
        yield f"({bare})" if bare.endswith(_ABOVE) else bare
