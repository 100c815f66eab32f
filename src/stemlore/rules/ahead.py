"""Findings that will turn: legal today and not next month, a season that begins next week.

Found by judging the job again on each day to come. A job is judged in some
twenty microseconds, so that a season of days costs a few milliseconds, and no
rule needs to say when it turns.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import attrs

from stemlore.errors import DayError
from stemlore.rules._check import judge
from stemlore.rules.rule import Gravity, Outcome

if TYPE_CHECKING:
    from stemlore.rules.report import Finding, Report

__all__ = ["Turn", "turns"]

_MOST_DAYS = 3660


@attrs.frozen(kw_only=True)
class Turn:
    """A finding that becomes another.

    Attributes
    ----------
    rule, subject : str
        Which finding.
    title : str
        What must be so.
    day : date
        The first day of the new outcome.
    before, after : Outcome or None
        What it is and what it becomes; None where the rule is not in force.
    gravity : Gravity
        What follows.
    """

    rule: str
    subject: str
    title: str
    day: date
    before: Outcome | None
    after: Outcome | None
    gravity: Gravity

    def __str__(self) -> str:
        was, becomes = (
            each.word if each is not None else "not in force" for each in (self.before, self.after)
        )
        return f"{self.subject}, from {self.day}: {becomes} (now {was}). {self.title}."


def turns(report: Report, *, days: int) -> tuple[Turn, ...]:
    """Return the findings that turn within some days, if nothing is measured or altered till then.

    Parameters
    ----------
    report : Report
        What was found; counting begins at its rulebook's day.
    days : int
        How far to look, 1 to 3660.

    Returns
    -------
    tuple of Turn
        The first turn of each finding, earliest first.

    Raises
    ------
    DayError
        If the number of days is not within 1 to 3660.
    """
    if isinstance(days, bool) or not isinstance(days, int) or not 1 <= days <= _MOST_DAYS:
        raise DayError(f"{days!r} is no number of days to look ahead", advice=f"1 to {_MOST_DAYS}")
    start = report.book.on
    first = _outcomes(judge(report.job, report.book, start))
    out: dict[tuple[str, str], Turn] = {}
    last, last_codes = first, None
    for ahead in range(1, days + 1):
        day = start + timedelta(days=ahead)
        book = report.book.at(day)
        later = judge(report.job, book, day)
        codes = (id(book.compiled), *(code for judged in later._judged for code in judged.codes))
        if codes == last_codes:  # nothing turned on this day
            continue
        last_codes = codes
        last = _outcomes(later)
        for key in first.keys() | last.keys():
            before, after = first.get(key), last.get(key)
            was = None if before is None else before.outcome
            becomes = None if after is None else after.outcome
            told = after or before
            if was is not becomes and key not in out and told is not None:
                out[key] = Turn(
                    rule=key[0],
                    subject=key[1],
                    title=told.title,
                    day=day,
                    before=was,
                    after=becomes,
                    gravity=told.gravity,
                )
    return tuple(sorted(out.values(), key=lambda turn: (turn.day, turn.rule, turn.subject)))


def _outcomes(report: Report) -> dict[tuple[str, str], Finding]:
    return {(finding.rule, str(finding.subject)): finding for finding in report.findings}
