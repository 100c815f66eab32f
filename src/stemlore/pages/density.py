"""How dense a job sheet is set, so that it stands on one page of A4 and can still be read."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import attrs

__all__ = ["FLOOR", "LEVELS", "LONG", "Level", "Pages", "page_height", "paged"]

FLOOR = 7.5
"""Points of the smallest text on a sheet; smaller is not read at arm's length."""


@attrs.frozen
class Level:
    """One way to set a sheet.

    Attributes
    ----------
    size : float
        Points of the text.
    others : int
        How many reasons against other parts are told; the plan has them all.
    figures : int
        How many sections are drawn.
    is_brief : bool
        Name who tells a value without the title of the work, and refer to the step where a caution of the
        same words stands instead of telling it again.
    columns : int
        How many tables of steps stand side by side.
    """

    size: float
    others: int = 3
    figures: int = 2
    is_brief: bool = False
    columns: int = 1

    @property
    def small(self) -> float:
        """Points of the small text."""
        return max(FLOOR, round(0.92 * self.size, 2))


_ROOMIEST_FIRST = (
    Level(9.0),
    Level(8.6),
    Level(8.2),
    Level(8.0, figures=1),
    Level(8.0, others=1, figures=1),
    Level(8.0, others=0, figures=1, is_brief=True),
    Level(7.8, others=1, figures=1),
    Level(7.8, others=0, figures=1, is_brief=True),
    Level(7.5, others=1, figures=1),
    Level(7.5, others=0, figures=1, is_brief=True),
)
LEVELS = tuple(attrs.evolve(each, columns=columns) for each in _ROOMIEST_FIRST for columns in (1, 2))
"""From the roomiest to the densest; the first that fits is taken."""
LONG = Level(8.0, others=1, figures=1)
"""For a sheet that no level brings onto one page."""

# the sizes below are those of job_sheet.html, in millimetres
PAGE = 287.0
WIDE = 196.0
FIGURE = 62.0  # and as much text beside it as is left
_GAP = 4.0
_SPARE = 3.0  # other printers, other rounding
_LINE = 1.14
_POINT = 25.4 / 72
_HEAD, _FIELDS, _HEADING, _SIGN = 6.0, 5.4, 1.25, 6.2
_KNOW, _OPEN = 1.8, 1.2  # frame and room around a box
_ROW, _CELL = 0.5, 0.6
_NUMBER, _BOX, _BLANK = 4.8, 4.0, 17.0
BOX = 3.7  # column of a wheel beside the steps
_GUTTER = 2.6
_TITLE, _SET = 46.0, 31.0  # columns of the table of values

# widths of the letters from the space to the tilde, in thousandths of the size, in the widest face
# that the page asks for; with a narrower one there is more room
_PLAIN = (
    "286 360 414 754 572 855 702 247 351 351 450 754 286 325 286 303 572 572 572 572 572 572 572 572 572 572 "
    "303 303 754 754 754 478 900 615 617 628 693 568 518 697 677 265 265 590 501 776 673 708 542 708 625 571 "
    "549 659 615 890 616 549 616 351 303 351 754 450 450 551 571 495 571 554 316 571 570 250 250 521 250 876 "
    "570 550 571 571 370 469 353 570 532 736 532 532 472 572 303 572 754"
)
_BOLD = (
    "313 410 469 754 626 901 785 275 411 411 470 754 342 374 342 329 626 626 626 626 626 626 626 626 626 626 "
    "360 360 754 754 754 522 900 696 686 660 747 615 615 738 753 334 334 697 573 896 753 765 659 765 693 648 "
    "614 730 696 993 694 651 652 411 329 411 754 450 450 607 644 533 644 610 391 644 641 308 308 598 308 938 "
    "641 618 644 644 444 536 430 641 586 831 580 586 523 641 329 641 754"
)
_WIDTHS = {
    is_bold: {chr(32 + index): int(each) for index, each in enumerate(text.split())}
    for is_bold, text in ((False, _PLAIN), (True, _BOLD))
}
_OTHER = 700  # a letter that is not in the table

Run = tuple[str, bool, float]
"""Text, whether it is bold, and its size in points."""


Pages = list[list[tuple[int, int]]]
"""For each page its columns of steps, each with the first step and the one after its last."""


def page_height(sheet: Mapping[str, Any], level: Level) -> float:
    """Return how high all of it would stand on one page, in millimetres, as estimated.

    Words are set in lines by the widths of their letters, as a browser does.
    """
    steps = _steps(sheet, level)
    return _above(sheet, level) + _deepest(steps, _columns(steps, 0, level)) + _below(sheet, level)


def paged(sheet: Mapping[str, Any], level: Level) -> Pages:
    """Return which steps stand on which page and in which column."""
    steps = _steps(sheet, level)
    if page_height(sheet, level) <= PAGE - _SPARE or not steps:
        return [_columns(steps, 0, level)]
    pages: Pages = []
    start, room = 0, PAGE - _SPARE - _above(sheet, level)
    while start < len(steps):
        end = start + 1  # a step that fills a page has to stand somewhere
        while end < len(steps) and _deepest(steps, _columns(steps[: end + 1], start, level)) <= room:
            end += 1
        columns = _columns(steps[:end], start, level)
        if end == len(steps) and end - start > 1 and _deepest(steps, columns) + _below(sheet, level) > room:
            end -= 1  # who signs sees at least one step
            columns = _columns(steps[:end], start, level)
        pages.append(columns)
        start, room = end, PAGE - _SPARE - _HEAD - _heading(level) - _thead(sheet, level)
    return pages


def _columns(steps: Sequence[float], start: int, level: Level) -> list[tuple[int, int]]:
    """Part the steps from the start to the end where the columns come out most alike."""
    end = len(steps)
    if level.columns == 1 or end - start < 2:
        return [(start, end)]
    half = min(range(start + 1, end), key=lambda at: max(sum(steps[start:at]), sum(steps[at:end])))
    return [(start, half), (half, end)]


def _deepest(steps: Sequence[float], columns: Iterable[tuple[int, int]]) -> float:
    return max(sum(steps[first:last]) for first, last in columns)


def _line(level: Level) -> float:
    return level.size * _LINE * _POINT


def _small(level: Level) -> float:
    return level.small * _LINE * _POINT


def _heading(level: Level) -> float:
    return 1.21 * level.size * _POINT + _HEADING


def _above(sheet: Mapping[str, Any], level: Level) -> float:
    """Return the height of all that stands before the steps, with the head of their table."""
    plain = level.size
    know = [*sheet["stops"], *sheet["stops"], *sheet["notices"]]  # what stops the work is set larger
    texts = [sheet["plan"].safety, *(f"KNOW FIRST {each.text}" for each in know)]
    if sheet["head"]["uncovered"]:
        texts.append(f"NOT CHECKED {sheet['head']['uncovered']}")
    lines = sum(_lines([(each, True, plain)], WIDE - 5.0) for each in texts)
    high = _HEAD + _KNOW + _FIELDS + lines * _line(level)
    high += _parts(sheet, level)
    if sheet["is_wide"]:
        high += _open(sheet, level, WIDE)
    if sheet["values"]:
        high += _heading(level) + _small(level) + _CELL
        high += sum(_value(each, sheet, level) for each in sheet["values"])
        high += _small(level) if sheet["footnote"] else 0.0
    return high + _heading(level) + _thead(sheet, level)


def _thead(sheet: Mapping[str, Any], level: Level) -> float:
    return _small(level) * (2 if any(len(short) > 2 for _, short in sheet["boxes"]) else 1) + _ROW


def _parts(sheet: Mapping[str, Any], level: Level) -> float:
    """Return the height of figures with what flows round them: tyres, what is open, parts."""
    size, line = level.size, _line(level)
    narrow = WIDE - (FIGURE + _GAP) * len(sheet["figures"])
    deep = max((each["high"] + _caption(each, level) + 1.0 for each in sheet["figures"]), default=0.0)
    at = 0.0

    def wide(lines: int = 0) -> float:
        return narrow if at + lines * line < deep else WIDE

    for text, wheels in sheet["tyres"]:
        at += _lines([(f"{wheels}: ", False, size), (text, True, size)], wide) * line
    if not sheet["is_wide"]:
        at += _open(sheet, level, wide())
    if sheet["parts"] or sheet["renewals"]:
        at += _heading(level)
    for wheels, told in sheet["parts"]:
        runs: list[Run] = [(f"{wheels}: ", False, size)]
        for word, text in told:
            is_large = word in ("fit", "likely", "none")
            if word != "none":
                runs.append((word, not is_large, size))
            runs.append((f"{text}; ", is_large, 1.2 * size if is_large else size))
        at += (_lines(runs, wide) + 0.1) * line
    for who, text in sheet["renewals"]:
        at += _lines([("Renew", True, size), (f", {who}: {text}", False, size)], wide) * line
    return max(at, deep)


def _caption(figure: Mapping[str, Any], level: Level) -> float:
    return _lines([(figure["caption"], True, level.small)], FIGURE) * _small(level)


def _below(sheet: Mapping[str, Any], level: Level) -> float:
    return (
        _SIGN
        + _lines([("Sources. " + " ".join(sheet["sources"]), False, FLOOR)], WIDE) * FLOOR * 1.12 * _POINT
    )


def _open(sheet: Mapping[str, Any], level: Level, wide: float) -> float:
    """Return the height of the box of what is to be found out."""
    if not sheet["gaps"]:
        return 0.0
    plain, inner = level.size, wide - 4.0
    items = [_width([("OPEN Find out before the step that needs it:", True, plain)]) + _GAP]
    items += [_BOX + _GAP + _width([(f"{text} ({who})", False, plain)]) for text, who in sheet["gaps"]]
    blanks = [_BLANK + _GAP + _width([(each, False, plain)]) for each in sheet["readings"]]
    return _OPEN + (_packed(items, inner) + _packed(blanks, inner)) * (_line(level) + 0.25)


def _value(row: Mapping[str, Any], sheet: Mapping[str, Any], level: Level) -> float:
    title = _lines([(row["label"], False, level.size)], _TITLE - 1.6)
    aside = WIDE - _TITLE - _SET - sheet["cell"] * max(len(sheet["cells"]), 1) - 1.6
    text = _lines([(row["aside"], False, level.small)], aside)
    large = 1.4 * level.size * _POINT
    return max(title * _line(level), text * _small(level), large) + _CELL


def _steps(sheet: Mapping[str, Any], level: Level) -> list[float]:
    column = (WIDE - _GUTTER * (level.columns - 1)) / level.columns
    wide = column - _NUMBER - BOX * max(len(sheet["boxes"]), 1) - 1.6
    return [_lines(_step(each, level.size), wide) * _line(level) + _ROW for each in sheet["steps"]]


def _step(step: Mapping[str, Any], size: float) -> list[Run]:
    runs: list[Run] = [(f"{step['title']} ", True, size)]
    for each in step["values"]:
        value = each["value"] if each["is_known"] else f"{'x' * 10} {each['unit']}"
        wheels = f"{each['wheels']} " if len(step["values"]) > 1 else ""
        runs.append((f"{wheels}{each['bound']} {value} ", True, 1.2 * size))
    runs.append((f"{'; '.join(step['details'])} ", False, size))
    if step["cautions"]:
        runs += [("CAUTION: ", True, size), (f"{'. '.join(step['cautions'])}.", False, size)]
    return runs


def _width(runs: Iterable[Run]) -> float:
    return sum(
        _WIDTHS[is_bold].get(letter, _OTHER) * size * _POINT / 1000
        for text, is_bold, size in runs
        for letter in text
    )


def _lines(runs: Iterable[Run], wide: float | Callable[[int], float]) -> int:
    """Return how many lines the words make; the width may go by the lines before."""
    room = wide if callable(wide) else lambda _: wide
    lines, at = 1, 0.0
    for text, is_bold, size in runs:
        space = _width([(" ", is_bold, size)])
        for word in text.split():
            width = _width([(word, is_bold, size)])
            if at and at + width > room(lines - 1):
                lines, at = lines + 1, 0.0
            lines += int(width // room(lines - 1))  # a word longer than a line is broken
            at += width + space
    return lines


def _packed(items: Sequence[float], wide: float) -> int:
    """Return how many lines the items make that are not broken."""
    lines, at = (1, 0.0) if items else (0, 0.0)
    for each in items:
        own = each - _GAP  # there is no gap after the last of a line
        if at and at + own > wide:
            lines, at = lines + 1, 0.0
        lines += int(own // wide)
        at += each
    return lines
