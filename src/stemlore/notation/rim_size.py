"""The size designation of a rim, with hump and offset."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final, Self, cast

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import Ordered, as_code, check_mark, check_number, maker_of, refuse, short
from stemlore.notation._text import Scanner, read_designation

__all__ = ["RimSize"]

_WHAT: Final = "rim size"
_PIECES: Final = {"X": "one", "-": "several"}
_JOINTS: Final = {"one": "x", "several": "-"}
_RIM_PIECES: Final = {"one": "single_piece", "several": "multi_piece"}
_PREFIXES: Final = ("", "MT", "W", "DW")  # motorcycle; farm, the second for a double drop centre
_CONTOURS: Final = ("", "SDC", "DT")
_FLANGES: Final = ("", "JJ", "JK", *"BDEFGHJKLPRSTVW")
_HUMPS: Final = ("", "H", "H2", "FH", "FH2", "CH", "EH2", "EH2+", "SL")
_ONE_SIDED: Final = "H1"  # another spelling of H
_DENOMINATORS: Final = (2, 4, 8)

# How far a figure may go before it is no rim at all.
_WIDTHS: Final = (1, 60)
_DIAMETERS: Final = (3, 63)
_OFFSETS: Final = (-300, 300)

_IMPLEMENT: Final = (15.3, 16.1)  # the two diameters that are neither whole nor a half

_SEATS: Final = (5.0, 15.0)
_SEAT_15: Final = (17.5, 19.5, 20.5, 22.5, 24.5)
_SEAT_5: Final = (10, 24)


@attrs.frozen(kw_only=True)
class RimSize(Ordered):
    """A rim size as marked: ``6.5Jx16 H2 ET45``, ``8.25x22.5``, ``MT3.5x17``, ``DW23Bx42``.

    Attributes
    ----------
    width_code : float
        Nominal width in inches.
    diameter_code : float
        Nominal diameter as marked.
    flange : str
        Letters of the flange: ``J``, ``JJ``, ``K``, ``B`` and so on, or empty.
    pieces : str
        ``one`` (written x) or ``several`` (written -).
    hump : str
        ``H``, ``H2``, ``FH``, ``FH2``, ``CH``, ``EH2``, ``EH2+``, ``SL`` or empty.
    offset_mm : float or None
        From the mid-plane of the rim to the mounting face, positive towards the outside.
    prefix : str
        ``MT`` (motorcycle), ``W``, ``DW`` (farm) or empty.
    contour : str
        ``SDC`` (semi drop centre), ``DT`` (divided) or empty.
    marked_seat_angle_deg : float or None
        5 or 15, where it is written with the size.
    """

    width_code: float = attrs.field(converter=as_code)
    diameter_code: float = attrs.field(converter=as_code)
    flange: str = ""
    pieces: str = "one"
    hump: str = ""
    offset_mm: float | None = attrs.field(default=None, converter=attrs.converters.optional(as_code))
    prefix: str = ""
    contour: str = ""
    marked_seat_angle_deg: float | None = attrs.field(
        default=None, converter=attrs.converters.optional(as_code)
    )

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, self._faults())

    def _faults(self) -> Iterator[Fault]:
        yield from check_number("width_code", self.width_code, *_WIDTHS)
        yield from _diameter_faults(self.diameter_code)
        yield from check_mark("flange", self.flange, _FLANGES)
        yield from check_mark("pieces", self.pieces, _JOINTS)
        yield from check_mark("hump", self.hump, _HUMPS)
        if self.offset_mm is not None:
            yield from check_number("offset_mm", self.offset_mm, *_OFFSETS)
        yield from check_mark("prefix", self.prefix, _PREFIXES)
        yield from check_mark("contour", self.contour, _CONTOURS)
        if self.marked_seat_angle_deg not in (None, *_SEATS):
            yield Fault("marked_seat_angle_deg", f"5 or 15 is needed, not {self.marked_seat_angle_deg!r}")
        both = (self.width_code, self.diameter_code)
        if all(isinstance(code, float) for code in both) and self.width_code > self.diameter_code:
            yield Fault("width_code", "wider than the diameter; the width stands first")

    @property
    def seat_angle_deg(self) -> float | None:
        """Bead seat angle as marked, else by custom from the diameter code; none where it cannot be told.

        By custom, for single-piece rims: 15 degrees for the codes 17.5, 19.5, 20.5, 22.5
        and 24.5, 5 degrees for whole codes from 10 to 24. No standard is cited.
        """
        if self.marked_seat_angle_deg is not None:
            return self.marked_seat_angle_deg
        code = self.diameter_code
        if self.pieces != "one":
            return None
        if code in _SEAT_15:
            return 15.0
        return 5.0 if code.is_integer() and _SEAT_5[0] <= code <= _SEAT_5[1] else None

    @property
    def rim_pieces(self) -> str:
        """``single_piece`` or ``multi_piece``: what the joint x or - says, in the words of the wheel."""
        return _RIM_PIECES[self.pieces]

    @property
    def is_half_inch(self) -> bool:
        """Whether the diameter code ends with a half: 16.5 beside 16, 17.5 beside 17."""
        return self.diameter_code % 1 == 0.5

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``6 1/2 J x 16 H2 ET45``, ``6,5Jx16``, ``8.25x22.5``, ``7.5V-20``, ``DW20x38``.

        Raises
        ------
        NotationError
            With the character where reading stopped; diameter before width is refused.
        """
        if cls is RimSize and type(text) is str and (found := _COMMON(text)) is not None:
            width, flange, diameter, hump, offset = found.groups()
            wide, across, out = float(width), float(diameter), None if offset is None else float(offset)
            if 1 <= wide <= across and (out is None or out <= _OFFSETS[1]):
                made = _made(wide, across, flange, "one", hump or "", out, "", "", None)
                return cast("Self", made)
        return read_designation(_WHAT, text, cls._read, _near)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        if scanner.plain.startswith("WM", scanner.at):
            raise scanner.fail("WM counts steps, not inches; write the width in inches, such as 1.85")
        prefix = scanner.take(*_PREFIXES)
        scanner.skip()
        width_at = scanner.at
        width = _inches(scanner, "the width")
        for fault in check_number("width_code", width, *_WIDTHS):
            raise scanner.fail(f"the width {fault.message}", width_at)
        scanner.skip()
        flange_at = scanner.at
        flange = scanner.run(lambda char: "A" <= char <= "Z" and char != "X")
        if flange not in _FLANGES:
            raise scanner.fail(f"{flange} is no flange letter", flange_at)
        scanner.skip()
        joint = scanner.take(*_PIECES)
        if not joint:
            raise scanner.fail("x or - is missing between width and diameter")
        scanner.skip()
        diameter_at = scanner.at
        diameter = _inches(scanner, "the diameter")
        if width > diameter:
            raise scanner.fail("the width stands before the diameter", width_at)
        for fault in _diameter_faults(diameter):
            raise scanner.fail(f"the diameter {fault.message}", diameter_at)
        return cls(
            width_code=width,
            diameter_code=diameter,
            flange=flange,
            pieces=_PIECES[joint],
            prefix=prefix,
            **_marks(scanner),
        )

    def _sort_key(self) -> tuple[float, float, str]:
        return self.diameter_code, self.width_code, str(self)

    def __str__(self) -> str:
        width = f"{self.prefix}{short(self.width_code)}{self.flange}"
        size = f"{width}{_JOINTS[self.pieces]}{short(self.diameter_code)}"
        seat = "" if self.marked_seat_angle_deg is None else f"{short(self.marked_seat_angle_deg)}\u00b0"
        offset = "" if self.offset_mm is None else f"ET{short(self.offset_mm)}"
        return " ".join(part for part in (size, self.contour, seat, self.hump, offset) if part)


# How most sizes are written. What it does not take is read, or refused, in full.
_COMMON: Final = re.compile(
    r"([1-9]\d?(?:\.\d\d?)?)(JJ|[BJK]|)[xX]([1-5]\d(?:\.5)?)(?: (F?H2?|CH|EH2\+?))?(?: ET ?(\d{1,3}))?",
    re.ASCII,
).fullmatch
_made = maker_of(RimSize)


def _diameter_faults(value: Any) -> Iterator[Fault]:
    yield from check_number("diameter_code", value, *_DIAMETERS)
    within = isinstance(value, float) and _DIAMETERS[0] <= value <= _DIAMETERS[1]
    if within and not (value * 2).is_integer() and value not in _IMPLEMENT:
        yield Fault("diameter_code", f"{value:g} is neither whole nor a half")


def _inches(scanner: Scanner, name: str) -> float:
    """Read 6.5, 6,5, 6 1/2 or 6-1/2."""
    start = scanner.at
    figures = scanner.decimal()
    if not figures:
        raise scanner.fail(f"{name} is missing")
    if scanner.peek() == "/":
        raise scanner.fail("put a space between the inches and the fraction", start)
    if len(figures) > 7:
        raise scanner.fail(f"{name} has too many figures", start)
    value = float(figures)
    fraction_at = scanner.at
    scanner.skip()
    scanner.take("-")
    scanner.skip()
    part_at = scanner.at
    top = scanner.digits()
    if not top or not scanner.take("/"):
        scanner.at = fraction_at
        return value
    below = scanner.digits()
    if "." in figures or len(top) > 1 or len(below) > 1 or not below or int(below) not in _DENOMINATORS:
        raise scanner.fail("this is no fraction of an inch", part_at)
    if not 0 < int(top) < int(below):
        raise scanner.fail("the fraction must be less than an inch", part_at)
    return value + int(top) / int(below)


_SEAT: Final = re.compile(r"(15|5) {0,2}(?:(?:\u00b0|DEG) {0,2}(?:DC)?|DC)", re.ASCII)


def _marks(scanner: Scanner) -> dict[str, Any]:
    """Read contour, seat angle, hump and offset, in any order, each at most once."""
    seen: dict[str, Any] = {}
    scanner.skip()
    while not scanner.ended:
        start = scanner.at
        if scanner.take("ET"):
            if "offset_mm" in seen:
                raise scanner.fail("a second offset", start)
            seen["offset_mm"] = _offset(scanner)
        elif seat := scanner.match(_SEAT):
            if "marked_seat_angle_deg" in seen:
                raise scanner.fail("a second seat angle", start)
            seen["marked_seat_angle_deg"] = float(seat[1])
        elif contour := scanner.take(*_CONTOURS):
            if "contour" in seen:
                raise scanner.fail(f"the contour is already given as {seen['contour']}", start)
            seen["contour"] = contour
        elif found := scanner.take(*_HUMPS, _ONE_SIDED):
            if "hump" in seen:
                raise scanner.fail(f"the hump is already given as {seen['hump']}", start)
            if scanner.peek().isdigit():
                raise scanner.fail("this is no hump mark", start)
            seen["hump"] = "H" if found == _ONE_SIDED else found
        else:
            raise scanner.fail("a hump mark or ET and the offset can stand here, nothing else")
        scanner.skip()
    return seen


def _offset(scanner: Scanner) -> float:
    scanner.skip()
    start = scanner.at
    sign = scanner.take("+", "-")
    figures = scanner.decimal()
    if not figures:
        raise scanner.fail("the offset is missing after ET")
    value = float(sign + figures) if len(figures) <= 7 else float("inf")
    for fault in check_number("offset_mm", value, *_OFFSETS):
        raise scanner.fail(f"the offset {fault.message}", start)
    scanner.skip()
    scanner.take("MM")
    return value


_TURNED: Final = re.compile(r"(\d\d?(?:[.,]5)?) ?X ?(\d\d?(?:[.,]\d\d?| 1/2)?) ?([A-Z]{0,2})(.*)", re.ASCII)
_WHEEL: Final = re.compile(r"J?(\d\d)(?: ?M/C)? ?X ?J?(MT ?)(\d(?:[.,]\d\d?)?)", re.ASCII)
_GLUED: Final = re.compile(r"(\d)(\d/\d)", re.ASCII)


def _near(plain: str) -> Iterator[str]:
    yield _GLUED.sub(r"\1 \2", plain, count=1)
    yield plain.replace("*", "X").replace("/", "X")
    if wheel := _WHEEL.fullmatch(plain.strip()):  # a wheel's name, 17xMT3.50
        yield f"{wheel[2]}{wheel[3]}X{wheel[1]}"
    found = _TURNED.match(plain.strip())
    if found:
        yield f"{found[2]}{found[3]}X{found[1]} {found[4]}"
        yield f"{found[2]}X{found[1]}{found[3]} {found[4]}"
