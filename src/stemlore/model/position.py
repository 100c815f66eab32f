"""Where on a vehicle a wheel sits."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Literal, cast

import attrs

from stemlore.errors import Fault, NotationError, RecordError

__all__ = ["PLACES", "SIDES", "Place", "Position", "Side"]

Side = Literal["left", "centre", "right"]
Place = Literal["single", "outer", "inner"]

SIDES: tuple[Side, ...] = ("left", "centre", "right")
"""Sides as seen in driving direction, in the order of a walk across the axle."""
PLACES: tuple[Place, ...] = ("single", "outer", "inner")
"""Places on one side of an axle: alone, or on dual wheels."""

_WHAT = "position"
_EXAMPLE = "axle 1 left"
_WORDS = {"center": "centre", "middle": "centre"}
_MOST_AXLES = 99


@attrs.frozen(order=False, cache_hash=True)
class Position:
    """One place for a wheel on a vehicle.

    Axles count from the front, sides are seen in driving direction.

    Attributes
    ----------
    axle : int or None
        Number of the axle; None for a carried spare.
    side : {'left', 'centre', 'right'} or None
        Side; ``centre`` for a single wheel in the middle, as on a motorcycle.
    place : {'single', 'outer', 'inner'}
        Which of the wheels on that side.
    spare : bool
        Whether it is carried, not mounted.
    key : tuple of int
        For sorting: axles from the front, left to right, outer before inner; a spare comes last.
    """

    axle: int | None = None
    side: Side | None = None
    place: Place = "single"
    spare: bool = False
    key: tuple[int, int, int] = attrs.field(init=False, eq=False, repr=False)

    def __attrs_post_init__(self) -> None:
        faults = []
        spare: object = self.spare
        if spare is not True and spare is not False:
            faults.append(Fault("spare", f"{spare!r} is neither true nor false"))
        elif spare:
            if self.axle is not None or self.side is not None or self.place != "single":
                faults.append(Fault("spare", "a carried spare has no axle, side or place"))
        else:
            number = self.axle
            if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= _MOST_AXLES:
                faults.append(
                    Fault("axle", f"{number!r} is not an axle's number", "count from 1 at the front")
                )
            if self.side not in SIDES:
                faults.append(Fault("side", f"{self.side!r} is not a side", f"one of {', '.join(SIDES)}"))
            if self.place not in PLACES:
                faults.append(Fault("place", f"{self.place!r} is not a place", f"one of {', '.join(PLACES)}"))
            elif self.side == "centre" and self.place != "single":
                faults.append(Fault("place", "a wheel in the centre is single"))
        if faults:
            raise RecordError("Position", faults)
        object.__setattr__(self, "key", self._key())

    @classmethod
    def at(cls, axle: int, side: Side, *, place: Place = "single") -> Position:
        """Return the position on an axle."""
        return cls(axle, side, place)

    @classmethod
    def from_key(cls, key: tuple[int, int, int]) -> Position:
        """Return the position whose :attr:`key` this is."""
        axle, side, place = key
        return cls(spare=True) if axle > _MOST_AXLES else cls(axle, SIDES[side], PLACES[place])

    @classmethod
    def parse(cls, text: str, /) -> Position:
        """Read a position from words.

        Parameters
        ----------
        text : str
            ``axle 1 left``, ``axle 2 right inner``, ``axle 1 centre`` or ``spare``.

        Raises
        ------
        NotationError
            If it is none of these.

        Examples
        --------
        >>> print(Position.parse("Axle 2 right inner"))
        axle 2 right inner
        """
        if isinstance(text, str):
            return _parsed(text)
        raise NotationError(_WHAT, str(text), 0, "text is needed", suggestion=_EXAMPLE)

    def _key(self) -> tuple[int, int, int]:
        if self.spare:
            return (_MOST_AXLES + 1, 0, 0)
        return (cast(int, self.axle), SIDES.index(cast(Side, self.side)), PLACES.index(self.place))

    def __lt__(self, other: Position) -> bool:
        return self.key < other.key if isinstance(other, Position) else NotImplemented

    def __le__(self, other: Position) -> bool:
        return self.key <= other.key if isinstance(other, Position) else NotImplemented

    def __gt__(self, other: Position) -> bool:
        return self.key > other.key if isinstance(other, Position) else NotImplemented

    def __ge__(self, other: Position) -> bool:
        return self.key >= other.key if isinstance(other, Position) else NotImplemented

    def __str__(self) -> str:
        if self.spare:
            return "spare"
        words = f"axle {self.axle} {self.side}"
        return words if self.place == "single" else f"{words} {self.place}"


_WORD = re.compile(r"\S+")


@lru_cache(maxsize=512)
def _parsed(text: str) -> Position:
    if len(text) > 60:
        raise NotationError(_WHAT, text, 60, "it is too long", suggestion=_EXAMPLE)
    found = [(match.group().lower(), match.start()) for match in _WORD.finditer(text)]
    words = [(_WORDS.get(word, word), start) for word, start in found]
    end = len(text)

    def refuse(index: int, why: str, suggestion: str = _EXAMPLE) -> NotationError:
        return NotationError(
            _WHAT, text, words[index][1] if index < len(words) else end, why, suggestion=suggestion
        )

    if not words:
        raise refuse(0, "it is empty")
    if words[0][0] == "spare":
        if len(words) > 1:
            raise refuse(1, "nothing follows 'spare'", "spare")
        return Position(spare=True)
    if words[0][0] != "axle":
        raise refuse(0, "it starts with 'axle' and its number from the front, or is 'spare'")
    number = words[1][0] if len(words) > 1 else ""
    if not (number.isascii() and number.isdigit() and len(number) <= 3 and 1 <= int(number) <= _MOST_AXLES):
        raise refuse(1, f"an axle's number from 1 to {_MOST_AXLES} is needed")
    side = words[2][0] if len(words) > 2 else ""
    if side not in SIDES:
        raise refuse(2, "a side is needed: left, right or centre", f"axle {int(number)} left")
    place = words[3][0] if len(words) > 3 else "single"
    if place not in PLACES or (side == "centre" and place != "single"):
        raise refuse(3, "only inner or outer may follow a side", f"axle {int(number)} {side}")
    if len(words) > 4:
        raise refuse(4, "nothing more is expected", f"axle {int(number)} {side}")
    return Position(int(number), side, place)
