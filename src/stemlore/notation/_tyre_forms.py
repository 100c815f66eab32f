"""What the four ways to write a tyre size consist of, and how far a figure may go."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from stemlore.errors import Fault
from stemlore.notation._checks import check_integer, check_mark, check_number, whole_faults
from stemlore.notation.service_description import SPEED_SYMBOLS, ServiceDescription

if TYPE_CHECKING:
    from stemlore.notation.tyre_size import TyreSize

__all__ = [
    "CONSTRUCTIONS",
    "LETTERS",
    "LOAD_RANGES",
    "MOST_METRIC_WITHOUT_RATIO",
    "PLIES",
    "PREFIXES",
    "RATIOS",
    "SIZE_LETTERS",
    "SPEED_MARKS",
    "SUFFIXES",
    "SYSTEMS",
    "TUBES",
    "VERSIONS",
    "WIDTHS",
    "form_faults",
    "has_load_ranges",
    "rim_faults",
    "second_service_fault",
]

SYSTEMS: Final = ("metric", "numeric", "flotation", "alpha_numeric")
CONSTRUCTIONS: Final = {"R": "radial", "D": "diagonal", "B": "bias_belted"}
LETTERS: Final = {word: letter for letter, word in CONSTRUCTIONS.items()}
SPEED_MARKS: Final = ("", "S", "H", "V", "Z")  # stand inside the size; Z before R only
PREFIXES: Final = ("", "P", "LT", "ST", "S", "T", "IF", "VF")
SUFFIXES: Final = ("", "C", "CP", "LT", "ST", "M/C", "MH", "NHS", "IMP", "CFO", "CHO", "NRO")
VERSIONS: Final = ("", "XL", "HL", "RF", "SL", "LL")
LOAD_RANGES: Final = ("", *"ABCDEFGHJLMN")
TUBES: Final = ("", "TL", "TT")
# M begins the motorcycle letters only, so that no two readings of a letter meet.
SIZE_LETTERS: Final = (*"ABCDEFGHJKLN", *(f"M{width}" for width in "HJLMNPRTUV"))
_LEAST_MOTORCYCLE_RATIO: Final = 80

# How far a figure may go before it is no size at all.
WIDTHS: Final = {"metric": (100, 999), "numeric": (1, 70), "flotation": (1, 60)}
RATIOS: Final = (15, 105)
PLIES: Final = (2, 76)
_RIMS: Final = (4, 63)
_IMPLEMENT_RIMS: Final = (15.3, 16.1)  # the two that are neither whole nor a half
_OVERALL: Final = (8, 90)
_MOST_RIM_WITHOUT_RATIO: Final = 24.5  # 205-55 is rather a width and a ratio
# 750 R16 is mostly 7.50 R16 with its point left out: no tyre in millimetres without ratio is so wide.
MOST_METRIC_WITHOUT_RATIO: Final = 395

_ONLY_IN: Final = {
    "overall_diameter_code": ("flotation",),
    "size_letter": ("alpha_numeric",),
    "low_section": ("numeric",),
    "whole_width": ("numeric",),
}


def has_load_ranges(prefix: str, suffix: str, system: str) -> bool:
    """Whether a lone letter after the size is a load range: a C after LT is no suffix."""
    return bool({"LT", "ST"} & {prefix, suffix}) or system in ("flotation", "alpha_numeric")


def second_service_fault(first: ServiceDescription | None, second: ServiceDescription, suffix: str) -> str:
    """Return why a second service description cannot stand here, or nothing.

    Only tyres of commercial and farm vehicles bear one. Elsewhere two may be
    one of two tyres: 91V or 94W.
    """
    if first is None:
        return "the first service description is missing"
    slow = SPEED_SYMBOLS.index("Q")
    single = first.load_index_dual is None and suffix not in ("C", "CP")
    if single and SPEED_SYMBOLS.index(first.speed_symbol) >= slow:
        return "a second service description stands on tyres of commercial and farm vehicles only"
    if second.bracketed or second.speed_symbol in ("W", "Y"):
        return "a second service description bears no W nor Y"
    return ""


def form_faults(size: TyreSize) -> Iterator[Fault]:
    """Yield what is wrong with the fields of a size."""
    yield from check_mark("system", size.system, SYSTEMS)
    yield from check_mark("construction", size.construction, LETTERS)
    yield from check_mark("prefix", size.prefix, PREFIXES)
    yield from check_mark("suffix", size.suffix, SUFFIXES)
    yield from check_mark("speed_mark", size.speed_mark, SPEED_MARKS)
    yield from check_mark("load_version", size.load_version, VERSIONS)
    yield from check_mark("load_range", size.load_range, LOAD_RANGES)
    yield from check_mark("tube", size.tube, TUBES)
    if size.ply_rating is not None:
        yield from check_integer("ply_rating", size.ply_rating, *PLIES)
    for name in ("low_section", "whole_width", "run_flat", "mud_snow"):
        if not isinstance(getattr(size, name), bool):
            yield Fault(name, f"true or false is needed, not {getattr(size, name)!r}")
    yield from rim_faults(size.rim_diameter_code)
    if size.system in SYSTEMS:
        yield from _system_faults(size)
    yield from _mark_faults(size)
    yield from _service_faults(size)


def rim_faults(value: Any) -> Iterator[Fault]:
    """Yield what is wrong with a rim diameter code."""
    yield from check_number("rim_diameter_code", value, *_RIMS)
    within = isinstance(value, float) and _RIMS[0] <= value <= _RIMS[1]
    if within and not (float(value) * 2).is_integer() and value not in _IMPLEMENT_RIMS:
        yield Fault("rim_diameter_code", f"{value:g} is neither whole nor a half")


def _system_faults(size: TyreSize) -> Iterator[Fault]:
    for name, systems in _ONLY_IN.items():
        if size.system not in systems and getattr(size, name) not in (None, "", False):
            yield Fault(name, f"stands in the system {systems[0]} only")
    if size.system == "alpha_numeric":
        yield from _letter_faults(size)
        return
    yield from _width_faults(size)
    if size.system == "flotation":
        yield from check_number("overall_diameter_code", size.overall_diameter_code, *_OVERALL)
        if size.aspect_ratio is not None:
            yield Fault("aspect_ratio", "the system flotation has none")
        rim, overall = size.rim_diameter_code, size.overall_diameter_code
        if isinstance(rim, float) and isinstance(overall, float) and overall <= rim:
            yield Fault("overall_diameter_code", f"{overall:g} is no more than the rim's {rim:g}")
    elif size.aspect_ratio is not None:
        yield from whole_faults("aspect_ratio", size.aspect_ratio, *RATIOS)
    elif size.system == "metric":
        rim, width = size.rim_diameter_code, size.width
        if isinstance(rim, float) and rim > _MOST_RIM_WITHOUT_RATIO:
            yield Fault("aspect_ratio", f"needed with rim diameter code {rim:g}")
        elif isinstance(width, float) and MOST_METRIC_WITHOUT_RATIO < width <= WIDTHS["metric"][1]:
            yield Fault("aspect_ratio", f"needed with a width of {width:g} mm")


def _width_faults(size: TyreSize) -> Iterator[Fault]:
    low, high = WIDTHS[size.system]
    if size.system == "metric":
        yield from whole_faults("width", size.width, low, high)
        return
    yield from check_number("width", size.width, low, high)
    if isinstance(size.width, float) and low <= size.width <= high:
        if round(size.width, 2) != size.width:
            yield Fault("width", f"{size.width:g} has more than two decimals")
        elif size.whole_width and not size.width.is_integer():
            yield Fault("whole_width", f"{size.width:g} is not whole")


def _letter_faults(size: TyreSize) -> Iterator[Fault]:
    yield from check_mark("size_letter", size.size_letter, SIZE_LETTERS)
    yield from whole_faults("aspect_ratio", size.aspect_ratio, *RATIOS)
    if size.width is not None:
        yield Fault("width", "the system alpha_numeric has none")
    if size.prefix:
        yield Fault("prefix", "none stands before a size letter")
    ratio, letter = size.aspect_ratio, size.size_letter
    motorcycle = isinstance(letter, str) and letter.startswith("M") and isinstance(ratio, float)
    if motorcycle and RATIOS[0] <= float(ratio or 0) < _LEAST_MOTORCYCLE_RATIO:
        yield Fault("aspect_ratio", f"motorcycle letters go with {_LEAST_MOTORCYCLE_RATIO} and more")
    if isinstance(ratio, float) and ratio > 99:
        yield Fault("aspect_ratio", "two figures follow a size letter")


def _mark_faults(size: TyreSize) -> Iterator[Fault]:
    if size.speed_mark == "Z" and size.construction != "radial":
        yield Fault("speed_mark", "Z inside the size stands before R only")
    if size.run_flat is True and size.construction != "radial":
        yield Fault("run_flat", "F inside the size stands behind R only")
    if size.load_version == "HL" and (size.prefix or size.system != "metric"):
        yield Fault("prefix", "HL stands where the prefix stands; both cannot be written")
    if size.suffix == "C" and has_load_ranges(size.prefix, "", str(size.system)):
        yield Fault("suffix", "here C is a load range; give it as load_range")


def _service_faults(size: TyreSize) -> Iterator[Fault]:
    right = True
    for name in ("service", "second_service"):
        value = getattr(size, name)
        if value is not None and not isinstance(value, ServiceDescription):
            right = False
            yield Fault(name, f"a ServiceDescription is needed, not {value!r}")
    if right and size.second_service is not None:
        why = second_service_fault(size.service, size.second_service, size.suffix)
        if why:
            yield Fault("second_service", why)
