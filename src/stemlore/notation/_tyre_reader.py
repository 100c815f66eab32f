"""Reading of a tyre size character by character, and what was perhaps meant."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final

from stemlore.notation._checks import whole_faults
from stemlore.notation._text import Scanner
from stemlore.notation._tyre_forms import (
    CONSTRUCTIONS,
    LOAD_RANGES,
    MOST_METRIC_WITHOUT_RATIO,
    PREFIXES,
    RATIOS,
    SPEED_MARKS,
    WIDTHS,
    has_load_ranges,
    rim_faults,
    second_service_fault,
)
from stemlore.notation.service_description import ServiceDescription

__all__ = ["near_sizes", "read_size"]

_RADIAL: Final = tuple(f"{speed}{r}" for speed in SPEED_MARKS for r in ("R", "RF"))
_BELTED: Final = tuple(f"{speed}B" for speed in SPEED_MARKS if speed != "Z")
_BARE: Final = ("S", "H", "V")  # 4.00 H18: the speed mark in place of the hyphen
_LETTERED: Final = re.compile(r"(M[HJLMNPRTUV]|[A-HJ-LN](R?)) ?(\d\d)(?!\d)", re.ASCII)
_PLY: Final = re.compile(r"(\d{1,2}) {0,2}-? {0,2}(?:PR|P\.R\.|PLY)(?: {0,2}RATING)?", re.ASCII)
_RANGE: Final = re.compile(r"(?:LR|LOAD {0,2}RANGE|/) {0,2}-? {0,2}([A-Z])", re.ASCII)
_RIM: Final = re.compile(r" ?(\d\d)", re.ASCII)
_LONE: Final = re.compile(r"[A-Z](?![A-Z])", re.ASCII)
_BARE_RANGES: Final = tuple("BCDEFG")

# "Reinforced" and "extra load" are one load version. RF stays RF: to some reinforced, to others run-flat.
_MARKS: Final = {
    **{word: ("load_version", word) for word in ("XL", "HL", "RF", "SL", "LL")},
    **dict.fromkeys(("EXTRA LOAD", "EXTRALOAD", "REINFORCED", "REINF.", "REINF"), ("load_version", "XL")),
    **{word: ("suffix", word) for word in ("CP", "LT", "ST", "M/C", "MH", "NHS", "IMP", "CFO", "CHO", "NRO")},
    "MC": ("suffix", "M/C"),
    **dict.fromkeys(("TL", "TUBELESS"), ("tube", "TL")),
    **dict.fromkeys(("TT", "TUBE TYPE", "TUBETYPE"), ("tube", "TT")),
    **dict.fromkeys(("M+S", "M&S", "M/S", "M-S", "M.S.", "M.S", "M S", "MS"), ("mud_snow", True)),
    **{letter: ("letter", letter) for letter in _BARE_RANGES},
}
_NAMES: Final = {
    "load_version": "load version",
    "load_range": "load range",
    "ply_rating": "ply rating",
    "tube": "mark TL or TT",
    "mud_snow": "mark M+S",
    "letter": "letter",
}


def read_size(scanner: Scanner) -> dict[str, Any]:
    """Read a whole size and return the fields that it gives."""
    seen: dict[str, Any] = {}
    start = scanner.at
    if lettered := scanner.match(_LETTERED):
        _read_letter(scanner, seen, lettered, start)
    else:
        if scanner.take("HL"):
            seen["load_version"] = "HL"
        else:
            seen["prefix"] = scanner.take(*PREFIXES)
        scanner.skip()
        _read_widths(scanner, seen)
    scanner.skip()
    _read_rim(scanner, seen)
    _read_marks(scanner, seen)
    return seen


def _read_letter(scanner: Scanner, seen: dict[str, Any], found: re.Match[str], start: int) -> None:
    ratio = int(found[3])
    for fault in whole_faults("aspect_ratio", float(ratio), *RATIOS):
        raise scanner.fail(f"the aspect ratio {fault.message}", found.start(3))
    inside = found[2] or ""
    seen |= {
        "system": "alpha_numeric",
        "size_letter": found[1].removesuffix(inside) if inside else found[1],
        "aspect_ratio": ratio,
    }
    scanner.skip()
    _read_construction(scanner, seen)
    if inside:
        if seen["construction"] == "bias_belted" or scanner.plain[scanner.at - 1] == "D":
            raise scanner.fail("the R behind the letter says radial already", start + 1)
        seen["construction"] = "radial"


def _read_widths(scanner: Scanner, seen: dict[str, Any]) -> None:
    start = scanner.at
    figures = scanner.decimal()
    if not figures:
        raise scanner.fail("the section width is missing: three figures, or inches")
    whole = figures.partition(".")[0]
    system = "metric" if len(whole) > 2 else "numeric"
    after = scanner.at
    scanner.skip()
    if system == "numeric" and scanner.take("X"):
        seen |= {"system": "flotation", "overall_diameter_code": float(figures)}
        scanner.skip()
        after = scanner.at
        figures = scanner.decimal()
        if not figures:
            raise scanner.fail("the section width is missing after the overall diameter")
        seen["width"] = _checked_width(scanner, figures, "flotation", after)
    else:
        seen |= {"system": system, "width": _checked_width(scanner, figures, system, start)}
        if system == "numeric":
            seen["whole_width"] = "." not in figures
            if scanner.peek() == "L" and not scanner.plain.startswith("LT", scanner.at):
                scanner.at += 1
                seen["low_section"] = True
                scanner.skip()
        if scanner.take("/"):
            seen["aspect_ratio"] = _read_ratio(scanner)
    scanner.skip()
    joint_at = scanner.at
    mark = _read_construction(scanner, seen)
    if system == "metric" and "aspect_ratio" not in seen:
        _refuse_inches(scanner, seen["width"], mark, start, joint_at)


def _checked_width(scanner: Scanner, figures: str, system: str, start: int) -> float:
    low, high = WIDTHS[system]
    least = "three figures" if system == "metric" else "inches"
    if len(figures) > 5 or not low <= float(figures) <= high:
        raise scanner.fail(f"the section width must be from {low} to {high}, {least}", start)
    return float(figures)


def _read_ratio(scanner: Scanner) -> int:
    scanner.skip()
    start = scanner.at
    figures = scanner.digits()
    if not figures:
        raise scanner.fail("the aspect ratio is missing: two or three figures")
    if len(figures) > 3 or not RATIOS[0] <= int(figures) <= RATIOS[1]:
        raise scanner.fail(f"the aspect ratio must be from {RATIOS[0]} to {RATIOS[1]}", start)
    return int(figures)


def _refuse_inches(scanner: Scanner, width: float, mark: str, start: int, joint_at: int) -> None:
    """Refuse what may be millimetres, or inches without their point: 600-16, 750 R16."""
    if not mark.endswith(("-", "R")) or not width.is_integer():
        return
    rim = _RIM.match(scanner.plain, scanner.at)
    if rim is not None and int(rim[1]) > 24:  # 205-55: the ratio is meant; told at that place
        return
    if width > MOST_METRIC_WITHOUT_RATIO or (mark == "-" and width >= 200 and width % 25 == 0):
        why = f"{width:g} may be millimetres, or {width / 100:.2f} inches without the point"
        raise scanner.fail(why, start)


def _read_construction(scanner: Scanner, seen: dict[str, Any]) -> str:
    start = scanner.at
    mark = scanner.take(*_RADIAL, *_BELTED, *_BARE, "D", "-")
    if not mark:
        raise scanner.fail("the construction is missing: R, D, B or -", start)
    letters = mark.removesuffix("F")
    seen["run_flat"] = letters != mark
    if mark in ("-", *_BARE):
        seen |= {"construction": "diagonal", "speed_mark": mark.removesuffix("-")}
    else:
        seen |= {"construction": CONSTRUCTIONS[letters[-1]], "speed_mark": letters[:-1]}
    return mark


def _read_rim(scanner: Scanner, seen: dict[str, Any]) -> None:
    start = scanner.at
    figures = scanner.decimal()
    if not figures:
        raise scanner.fail("the rim diameter code is missing")
    rim = float(figures) if len(figures) <= 6 else float("inf")
    if seen["system"] == "metric" and "aspect_ratio" not in seen and rim > 24.5:
        raise scanner.fail("too great for a rim diameter code, or the aspect ratio is missing", start)
    for fault in rim_faults(rim):
        more = "; rims in millimetres are not read" if 300 < rim < 1000 else ""
        raise scanner.fail(f"the rim diameter code {fault.message}{more}", start)
    if rim >= seen.get("overall_diameter_code", float("inf")):
        raise scanner.fail("the rim is no smaller than the tyre", start)
    seen["rim_diameter_code"] = rim


def _read_marks(scanner: Scanner, seen: dict[str, Any]) -> None:
    """Read what follows the rim diameter code, in any order, each at most once."""
    letter_at = second_at = scanner.at
    scanner.skip()
    while not scanner.ended:
        start = scanner.at
        if found := scanner.match(_PLY):
            _put(scanner, seen, "ply_rating", int(found[1]), start)
        elif found := scanner.match(_RANGE):
            if found[1] not in LOAD_RANGES:
                raise scanner.fail(f"there is no load range {found[1]}", found.start(1))
            _put(scanner, seen, "load_range", found[1], start)
        elif scanner.peek().isdigit() or scanner.peek() in ("(", "/"):
            if "service" in seen:
                second_at = start
            _read_service(scanner, seen)
        elif mark := scanner.take(*_MARKS):
            field, value = _MARKS[mark]
            letter_at = start if field == "letter" else letter_at
            _put(scanner, seen, field, value, start)
        elif _LONE.match(scanner.plain, scanner.at):
            lone = scanner.peek()
            why = f"{lone} alone: a speed symbol needs its load index, a load range is written LR {lone}"
            raise scanner.fail(why)
        else:
            raise scanner.fail(
                "a suffix (C, CP, LT), load index, XL, HL, RF, ply rating, load range, TL, TT or M+S "
                "can stand here, nothing else"
            )
        scanner.skip()
    _settle_letter(scanner, seen, letter_at)
    if "second_service" in seen:
        why = second_service_fault(seen["service"], seen["second_service"], seen.get("suffix", ""))
        if why:
            raise scanner.fail(why, second_at)


def _put(scanner: Scanner, seen: dict[str, Any], field: str, value: Any, start: int) -> None:
    if field in seen:
        given = "" if field == "mud_snow" else f" as {seen[field]}"
        raise scanner.fail(f"the {_NAMES.get(field, field)} is already given{given}", start)
    seen[field] = value


def _settle_letter(scanner: Scanner, seen: dict[str, Any], start: int) -> None:
    """Tell what a lone letter is: after LT or ST a load range, else C is a suffix."""
    letter = seen.pop("letter", None)
    if letter is None:
        return
    if has_load_ranges(seen.get("prefix", ""), seen.get("suffix", ""), seen["system"]):
        _put(scanner, seen, "load_range", letter, start)
    elif letter == "C":
        _put(scanner, seen, "suffix", letter, start)
    else:
        raise scanner.fail(f"{letter} alone may be load range or speed symbol; write LR {letter}", start)


def _read_service(scanner: Scanner, seen: dict[str, Any]) -> None:
    """Read a first service description, or a second one after a stroke or in brackets."""
    if "service" not in seen:
        value = ServiceDescription._read(scanner)
        if value.speed_symbol == "C" and scanner.plain[scanner.at - 2] == " ":
            why = "C after a space may be suffix or speed symbol; write C before the index, or 109C"
            raise scanner.fail(why, scanner.at - 1)
        seen["service"] = value
        return
    if "second_service" in seen:
        raise scanner.fail("a third service description is not read")
    if scanner.take("/"):
        scanner.skip()
    opened = scanner.take("(")
    seen["second_service"] = ServiceDescription._read(scanner)
    scanner.skip()
    if opened and not scanner.take(")"):
        raise scanner.fail("the bracket is not closed")


_FIGURES: Final = re.compile(r"(\d{3})(\D{0,3})(\d\d)(\D{0,4})(\d\d(?:[.,]5)?)", re.ASCII)
_POINTLESS: Final = re.compile(r"^ ?(\d{1,2})(\d\d) ?(-|R) ?([12]\d(?!\d)(?:[.,]5)?)", re.ASCII)
_POINTLESS_RIM: Final = re.compile(r"(?<=[R-])( ?(?:16|17|19|22|24))5(?!\d)", re.ASCII)
_STROKE_FLOTATION: Final = re.compile(r"^( ?(?:LT)?\d\d)/(\d{1,2}[.,]\d)", re.ASCII)


_MOST_WORDS: Final = 8


def near_sizes(plain: str) -> Iterator[str]:
    """Give sizes that were perhaps meant."""
    if "O" in plain:
        yield plain.replace("O", "0")
    if _POINTLESS.match(plain):
        yield _POINTLESS.sub(r"\1.\2\3\4", plain)
    yield _STROKE_FLOTATION.sub(r"\1X\2", plain)
    yield _POINTLESS_RIM.sub(r"\1.5", plain)
    yield plain.replace("(", " ").replace(")", " ")
    found = _FIGURES.search(plain)
    if found is None or set("DB") & set(found[4]):
        return
    before, after = plain[: found.start()].strip(), plain[found.end() :]
    prefix = before if before in (*PREFIXES, "HL") else ""
    mark = next((f"{speed}R" for speed in SPEED_MARKS[1:] if f"{speed}R" in found[4]), "R")
    size = f"{prefix}{found[1]}/{found[3]} {mark}{found[5]}"
    words = after.lstrip(" .,-").split()
    for kept in range(min(len(words), _MOST_WORDS), -1, -1):  # as much of the marks as can be read
        if kept or not after[:1].isdigit():
            yield " ".join([size, *words[:kept]])
