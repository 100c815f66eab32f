"""The size designation of a tyre, with its marks and service description."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, Self

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import as_code, check_mark, check_number, refuse, short
from stemlore.notation._text import Scanner, read_designation
from stemlore.notation.service_description import ServiceDescription

__all__ = ["TyreSize"]

_WHAT: Final = "tyre size"
_SYSTEMS: Final = ("metric",)
_CONSTRUCTIONS: Final = {"R": "radial", "D": "diagonal", "B": "bias_belted"}
_LETTERS: Final = {word: letter for letter, word in _CONSTRUCTIONS.items()}
_SPEED_MARKS: Final = ("", "S", "H", "V", "Z")  # stand before R inside the size
_PREFIXES: Final = ("", "P", "LT", "ST", "T")
_SUFFIXES: Final = ("", "C", "CP", "LT")
# "Reinforced" and "extra load" are one load version. RF stays RF: to some reinforced, to others run-flat.
_SPELLINGS: Final = {
    "XL": "XL",
    "EXTRA LOAD": "XL",
    "EXTRALOAD": "XL",
    "REINFORCED": "XL",
    "HL": "HL",
    "RF": "RF",
}
_VERSIONS: Final = ("", "XL", "HL", "RF")

# How far a figure may go before it is no size at all.
_WIDTHS: Final = (100, 999)
_RATIOS: Final = (15, 105)
_RIMS: Final = (4, 54)
_MOST_RIM_WITHOUT_RATIO: Final = 24.5  # 205-55 is rather a width and a ratio


@attrs.frozen(kw_only=True)
class TyreSize:
    """A tyre size as marked: ``205/55 R16 91V``, ``LT245/75 R16 120/116S``.

    Attributes
    ----------
    width : float
        Nominal section width as marked, in millimetres in the metric system.
    rim_diameter_code : float
        Nominal rim diameter as marked: 16, 16.5, 22.5.
    construction : str
        ``radial``, ``diagonal`` or ``bias_belted``.
    aspect_ratio : float or None
        Nominal, in per cent; none where the size does not print it (``195 R14 C``).
    prefix : str
        ``P``, ``LT``, ``ST``, ``T`` (temporary spare) or empty.
    suffix : str
        ``C``, ``CP``, ``LT`` or empty.
    speed_mark : str
        ``Z``, ``V``, ``H``, ``S`` before the R inside the size, or empty.
    load_version : str
        ``XL`` (extra load, reinforced), ``HL`` (high load), ``RF`` as marked
        (reinforced to some, run-flat to others) or empty.
    service : ServiceDescription or None
        Load index and speed symbol, where given.
    system : str
        How the size is written; ``metric``.
    """

    width: float = attrs.field(converter=as_code)
    rim_diameter_code: float = attrs.field(converter=as_code)
    construction: str = "radial"
    aspect_ratio: float | None = attrs.field(default=None, converter=attrs.converters.optional(as_code))
    prefix: str = ""
    suffix: str = ""
    speed_mark: str = ""
    load_version: str = ""
    service: ServiceDescription | None = None
    system: str = "metric"

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, self._faults())

    def _faults(self) -> Iterator[Fault]:
        yield from check_mark("system", self.system, _SYSTEMS)
        yield from _width_faults(self.width)
        yield from _rim_faults(self.rim_diameter_code)
        if self.aspect_ratio is not None:
            yield from _ratio_faults(self.aspect_ratio)
        yield from check_mark("construction", self.construction, _LETTERS)
        yield from check_mark("prefix", self.prefix, _PREFIXES)
        yield from check_mark("suffix", self.suffix, _SUFFIXES)
        yield from check_mark("speed_mark", self.speed_mark, _SPEED_MARKS)
        yield from check_mark("load_version", self.load_version, _VERSIONS)
        if self.speed_mark and self.construction != "radial":
            yield Fault("speed_mark", "a speed mark inside the size stands before R only")
        if self.load_version == "HL" and self.prefix:
            yield Fault("prefix", "HL stands where the prefix stands; both cannot be written")
        rim = self.rim_diameter_code
        if self.aspect_ratio is None and isinstance(rim, float) and rim > _MOST_RIM_WITHOUT_RATIO:
            yield Fault("aspect_ratio", f"needed with rim diameter code {rim:g}")
        if self.service is not None and not isinstance(self.service, ServiceDescription):
            yield Fault("service", f"a ServiceDescription is needed, not {self.service!r}")

    @property
    def width_mm(self) -> float:
        """Nominal section width in millimetres."""
        return self.width

    @property
    def zr(self) -> bool:
        """Whether ZR stands in the size."""
        return self.speed_mark == "Z"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a size with or without service description and marks.

        Raises
        ------
        NotationError
            With the character where reading stopped, and the nearest form.
        """
        return read_designation(_WHAT, text, cls._read, _near)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        version = scanner.take("HL")
        prefix = "" if version else scanner.take(*_PREFIXES)
        scanner.skip()
        width = _figure(scanner, "the section width", "three figures", *_WIDTHS)
        scanner.skip()
        ratio = None
        if scanner.take("/"):
            scanner.skip()
            ratio = _figure(scanner, "the aspect ratio", "two or three figures", *_RATIOS)
            scanner.skip()
        speed_mark, construction = _construction(scanner)
        scanner.skip()
        rim_at = scanner.at
        rim = scanner.decimal()
        if not rim:
            raise scanner.fail("the rim diameter code is missing")
        if ratio is None and float(rim) > _MOST_RIM_WITHOUT_RATIO:
            raise scanner.fail("too great for a rim diameter code, or the aspect ratio is missing", rim_at)
        for fault in _rim_faults(float(rim)):
            raise scanner.fail(f"the rim diameter code {fault.message}", rim_at)
        suffix, service, version = _marks(scanner, version)
        return cls(
            width=width,
            aspect_ratio=ratio,
            construction=construction,
            rim_diameter_code=float(rim),
            prefix=prefix,
            suffix=suffix,
            speed_mark=speed_mark,
            load_version=version,
            service=service,
        )

    def __str__(self) -> str:
        high_load = self.load_version == "HL"  # printed before the size, the others after it
        ratio = "" if self.aspect_ratio is None else f"/{short(self.aspect_ratio)}"
        parts = (
            f"{'HL' if high_load else self.prefix}{short(self.width)}{ratio}",
            f"{self.speed_mark}{_LETTERS[self.construction]}{short(self.rim_diameter_code)}",
            self.suffix,
            "" if self.service is None else str(self.service),
            "" if high_load else self.load_version,
        )
        return " ".join(part for part in parts if part)


def _whole_faults(name: str, value: object, low: float, high: float) -> Iterator[Fault]:
    yield from check_number(name, value, low, high)
    if isinstance(value, float) and low <= value <= high and not value.is_integer():
        yield Fault(name, f"{value:g} is not a whole number")


def _width_faults(value: object) -> Iterator[Fault]:
    yield from _whole_faults("width", value, *_WIDTHS)


def _ratio_faults(value: object) -> Iterator[Fault]:
    yield from _whole_faults("aspect_ratio", value, *_RATIOS)


def _rim_faults(value: object) -> Iterator[Fault]:
    yield from check_number("rim_diameter_code", value, *_RIMS)
    if isinstance(value, float) and _RIMS[0] <= value <= _RIMS[1] and not (value * 2).is_integer():
        yield Fault("rim_diameter_code", f"{value:g} is neither whole nor a half")


def _figure(scanner: Scanner, name: str, form: str, low: int, high: int) -> int:
    start = scanner.at
    figures = scanner.digits()
    if not figures:
        raise scanner.fail(f"{name} is missing: {form}")
    if len(figures) > len(str(high)) or not low <= int(figures) <= high:
        raise scanner.fail(f"{name} must be from {low} to {high}", start)
    return int(figures)


def _construction(scanner: Scanner) -> tuple[str, str]:
    start = scanner.at
    mark = scanner.take(*(f"{speed}R" for speed in _SPEED_MARKS), "D", "B", "-")
    if not mark:
        raise scanner.fail("the construction is missing: R, D, B or -", start)
    if mark == "-":
        return "", _CONSTRUCTIONS["D"]
    return mark[:-1], _CONSTRUCTIONS[mark[-1]]


def _marks(scanner: Scanner, version: str) -> tuple[str, ServiceDescription | None, str]:
    """Read what follows the rim diameter code, in any order, each at most once."""
    suffix = ""
    service: ServiceDescription | None = None
    scanner.skip()
    while not scanner.ended:
        start = scanner.at
        if scanner.peek().isdigit() or scanner.peek() == "(":
            if service is not None:
                raise scanner.fail("a second service description is not read")
            service = _service(scanner)
        elif found := scanner.take(*_SPELLINGS):
            if version:
                raise scanner.fail(f"the load version is already given as {version}", start)
            version = _SPELLINGS[found]
        elif found := scanner.take(*_SUFFIXES):
            if suffix:
                raise scanner.fail(f"the suffix is already given as {suffix}", start)
            suffix = found
        else:
            raise scanner.fail("a suffix (C, CP, LT), load index, XL, HL or RF can stand here, nothing else")
        scanner.skip()
    return suffix, service, version


def _service(scanner: Scanner) -> ServiceDescription:
    value = ServiceDescription._read(scanner)
    if value.speed_symbol == "C" and scanner.plain[scanner.at - 2] == " ":
        why = "C after a space may be suffix or speed symbol; write C before the index, or 109C"
        raise scanner.fail(why, scanner.at - 1)
    return value


_FIGURES: Final = re.compile(r"(\d{3})(\D{0,3})(\d\d)(\D{0,4})(\d\d(?:[.,]5)?)", re.ASCII)


def _near(plain: str) -> Iterator[str]:
    if "O" in plain:
        yield plain.replace("O", "0")
    found = _FIGURES.search(plain)
    if found is None or set("DB") & set(found[4]):
        return
    before, after = plain[: found.start()].strip(), plain[found.end() :]
    prefix = before if before in (*_PREFIXES, "HL") else ""
    mark = next((f"{speed}R" for speed in _SPEED_MARKS[1:] if f"{speed}R" in found[4]), "R")
    size = f"{prefix}{found[1]}/{found[3]} {mark}{found[5]}"
    words = after.lstrip(" .,-").split()
    for kept in range(len(words), -1, -1):  # as much of the marks as can be read
        if kept or not after[:1].isdigit():
            yield " ".join([size, *words[:kept]])
