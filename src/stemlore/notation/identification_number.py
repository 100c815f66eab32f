"""The tyre identification number that follows the letters DOT."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Final, Self, cast

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import maker_of, refuse
from stemlore.notation._text import Scanner, read_designation
from stemlore.notation.date_span import DateSpan

__all__ = ["TyreIdentificationNumber"]

_WHAT: Final = "tyre identification number"
_LETTERS: Final = "DOT"
_TRIANGLE: Final = "\u25c1"
_MARKED_DECADE: Final = 1990
# Three figures end with the year's last one. Sources: 49 CFR 574.5 and the
# final rule 64 FR 36807 (four figures from July 2000). The triangle for the
# 1990s was a custom, no duty: a number without it may be of the 1990s too.
_DECADES: Final = (1970, 1980, 1990)
_FOUR_FIGURES_YEAR: Final = 2000
_LAST_WEEK_OF_THREE: Final = 27
_MOST_CODE: Final = 9  # 13 symbols with the date, 49 CFR 574.5 (a)(1)
_WITH_DATE: Final = (12, 13)  # as long as this in one piece, the last four are the date
_SYMBOLS: Final = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")


@attrs.frozen(kw_only=True)
class TyreIdentificationNumber:
    """Plant, size and option symbols, and the week of manufacture: ``DOT U2LL LMLR 5107``.

    Attributes
    ----------
    code : str
        The symbols before the date without spaces; empty where only the date was read.
    date_code : str
        ``5107`` (week 51 of 2007), ``408`` (week 40 of a year that ends with 8),
        or empty: one sidewall may carry the number without the date.
    decade : int or None
        1990 if the triangle follows three figures, else none.
    """

    code: str = ""
    date_code: str = ""
    decade: int | None = None

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, self._faults())

    def _faults(self) -> Iterator[Fault]:
        if not isinstance(self.code, str) or len(self.code) > _MOST_CODE or not set(self.code) <= _SYMBOLS:
            need = f"at most {_MOST_CODE} capital letters and figures are needed"
            yield Fault("code", f"{need}, not {self.code!r}")
            return
        if not isinstance(self.date_code, str) or not _is_date_form(self.date_code):
            yield Fault("date_code", f"three or four figures are needed, not {self.date_code!r}")
            return
        if self.decade is not None and (self.decade != _MARKED_DECADE or len(self.date_code) != 3):
            yield Fault("decade", f"only {_MARKED_DECADE}, and only with three figures")
        elif self.date_code and not _spans(self.date_code, self.decade):
            yield Fault("date_code", _no_week(self.date_code))
        if not self.code and not self.date_code:
            yield Fault("code", "neither code nor date is given")
        if not self.date_code and (self.code.isdigit() or self.code[-3:].isdigit()):
            yield Fault("code", "the figures at the end may be a date; give them as date_code")

    @property
    def made(self) -> DateSpan | None:
        """Days on which the tyre may have been made; none without a date.

        Weeks are those of ISO 8601. Three figures give a span from the first
        to the last year that they may mean. 49 CFR 574.5 counts from the first
        full week of the year, so that its week can be a week later than this.
        """
        if not self.date_code:
            return None
        spans = _spans(self.date_code, self.decade)
        return DateSpan(spans[0].earliest, spans[-1].latest)

    @property
    def is_partial(self) -> bool:
        """Whether code or date is missing; one sidewall may carry the number without its date."""
        return not (self.code and self.date_code)

    def age_on(self, day: date) -> tuple[float, float] | None:
        """Return the least and the greatest age on a day, in calendar years; none without an age.

        Three figures may mean several decades: then the two lie far apart.
        """
        made = self.made
        return None if made is None else made.age_on(day)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``DOT U2LL LMLR 5107``, ``2318``, ``DOT 408`` and ``408`` with a triangle or ``<``.

        The date must stand apart, unless the number is 12 or 13 symbols long.

        Raises
        ------
        NotationError
            With the character where reading stopped.
        """
        if cls is TyreIdentificationNumber and type(text) is str and (found := _COMMON(text)) is not None:
            code = found[1]
            return cast("Self", _made("" if code is None else code.replace(" ", ""), found[2], None))
        return read_designation(_WHAT, text, cls._read, _near)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        scanner.take(_LETTERS)
        _joint(scanner)
        groups: list[tuple[int, str]] = []
        decade: int | None = None
        while not scanner.ended:
            start = scanner.at
            if scanner.take(_TRIANGLE, "<"):
                if decade is not None or not groups or len(groups[-1][1]) != 3 or not groups[-1][1].isdigit():
                    raise scanner.fail("the triangle follows three figures, once", start)
                decade = _MARKED_DECADE
            elif group := scanner.run(_SYMBOLS.__contains__):
                if decade is not None:
                    raise scanner.fail("nothing follows the triangle", start)
                groups.append((start, group))
            else:
                raise scanner.fail("only letters and figures belong to the number")
            _joint(scanner)
        if not groups:
            raise scanner.fail("symbols are missing after DOT")
        code, date_code, date_at = _divide(scanner, groups)
        if len(code) > _MOST_CODE:
            raise scanner.fail(f"more than {_MOST_CODE} symbols stand before the date", groups[0][0])
        if date_code and not _spans(date_code, decade):
            raise scanner.fail(_no_week(date_code), date_at)
        return cls(code=code, date_code=date_code, decade=decade)

    def __str__(self) -> str:
        parts = [_LETTERS]
        if self.date_code and len(self.code) > 4:
            head = 3 if len(self.code) == _MOST_CODE else 4
            parts += [self.code[:head], self.code[head:]]
        elif self.code:  # kept whole without a date, so that no part of it looks like one
            parts.append(self.code)
        if self.date_code:
            parts.append(self.date_code + (_TRIANGLE if self.decade else ""))
        return " ".join(parts)


# how most numbers are written: in capitals, with a week that every year has
_COMMON: Final = re.compile(
    r"(?:DOT ?)?+([A-Z0-9]{4} [A-Z0-9]{4} |[A-Z0-9]{3} [A-Z0-9]{6} )?+((?:0[1-9]|[1-4]\d|5[0-2])\d\d)",
    re.ASCII,
).fullmatch
_made = maker_of(TyreIdentificationNumber)


def _is_date_form(text: str) -> bool:
    return not text or (len(text) in (3, 4) and text.isascii() and text.isdigit())


def _spans(date_code: str, decade: int | None) -> list[DateSpan]:
    """Return the week in every year that the figures may mean, in order."""
    week = int(date_code[:2])
    if len(date_code) == 4:
        years = [_FOUR_FIGURES_YEAR + int(date_code[2:])]
    else:
        last = int(date_code[2])
        years = [first + last for first in _DECADES if decade is None or first == decade]
        if last == 0 and decade is None and week <= _LAST_WEEK_OF_THREE:
            years.append(_FOUR_FIGURES_YEAR)
    spans = []
    for year in years:
        try:
            spans.append(DateSpan.week(year, week))
        except ValueError:
            continue
    return spans


def _no_week(date_code: str) -> str:
    week, year = date_code[:2], date_code[2:]
    if len(date_code) == 4:
        return f"{_FOUR_FIGURES_YEAR + int(year)} has no week {week}; read the week on the tyre again"
    return f"no year that it may mean (ending with {year}) has a week {week}; read the tyre again"


def _joint(scanner: Scanner) -> None:
    scanner.run(lambda char: char in " -")


def _divide(scanner: Scanner, groups: list[tuple[int, str]]) -> tuple[str, str, int]:
    """Return the code, the date, and where the date begins."""
    start, last = groups[-1]
    before = "".join(group for _, group in groups[:-1])
    if last.isdigit() and len(last) in (3, 4):
        return before, last, start
    if len(groups) == 1 and len(last) in _WITH_DATE and last[-4:].isdigit():
        return last[:-4], last[-4:], start + len(last) - 4
    if last.isdigit():
        raise scanner.fail("the date has three or four figures", start)
    if last[-3:].isdigit():
        raise scanner.fail("three or four figures at the end may be the date; put a space before it", start)
    return before + last, "", start


def _near(plain: str) -> Iterator[str]:
    text = plain.strip()
    if len(text) > 5 and text[-5:-2].count(" ") == 1 and text[-3] == " ":  # 51 07
        yield text[:-3] + text[-2:]
    if text.isdigit():
        return
    if text[-4:].isdigit():
        yield f"{text[:-4]} {text[-4:]}"
    elif text[-3:].isdigit():
        yield f"{text[:-3]} {text[-3:]}"
    yield "".join(char for char in text if char not in "./:,_")
