"""The service description of a tyre: load index and speed symbol."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Self

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import check_integer, check_mark, refuse
from stemlore.notation._text import Scanner, read_designation

__all__ = ["ServiceDescription"]

_WHAT: Final = "service description"
_MOST_INDEX: Final = 279
_SYMBOLS: Final = (*(f"A{step}" for step in range(1, 9)), *"BCDEFGJKLMNPQRSTUHVWY")
_ABOVE: Final = "Y"  # the one symbol that brackets lift above its speed


@attrs.frozen
class ServiceDescription:
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
        ``(95Y)``: made for more than the speed of the symbol.
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
        yield from check_mark("speed_symbol", self.speed_symbol, _SYMBOLS)
        if not isinstance(self.bracketed, bool):
            yield Fault("bracketed", f"true or false is needed, not {self.bracketed!r}")
        elif self.bracketed and self.speed_symbol != _ABOVE:
            yield Fault("bracketed", f"only the speed symbol {_ABOVE} stands in brackets")

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``91V``, ``121/118 R``, ``(95Y)``, ``95(Y)``.

        Raises
        ------
        NotationError
            With the character where reading stopped.
        """
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
        symbol = scanner.take(*_SYMBOLS)
        if not symbol:
            raise scanner.fail("no speed symbol stands here" if scanner.ended else "this is no speed symbol")
        if symbol[-1].isdigit() and scanner.peek().isdigit():
            raise scanner.fail("the speed symbols with A end at A8")
        if outer or inner:
            if symbol != _ABOVE:
                raise scanner.fail(f"only the speed symbol {_ABOVE} stands in brackets", symbol_at)
            scanner.skip()
            if not scanner.take(")"):
                raise scanner.fail("the bracket is not closed")
        return cls(single, dual, symbol, bool(outer or inner))

    def __str__(self) -> str:
        second = "" if self.load_index_dual is None else f"/{self.load_index_dual}"
        plain = f"{self.load_index}{second}{self.speed_symbol}"
        return f"({plain})" if self.bracketed else plain


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
