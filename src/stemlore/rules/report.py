"""What :func:`check` answers with: a report of findings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any

import attrs

from stemlore.provenance import Citation, Grade
from stemlore.rules import _facts as facts
from stemlore.rules._layout import Subject
from stemlore.rules._resolve import OpenRule, RuleGroup
from stemlore.rules._rows import Row, rows_of
from stemlore.rules.parameters import DatedValue
from stemlore.rules.rule import Basis, Gravity, Outcome, Tie
from stemlore.rules.rulebook import Coverage, Rulebook
from stemlore.units import Unit

if TYPE_CHECKING:
    from stemlore.model import Job
    from stemlore.rules.readings import Reading

__all__ = ["Finding", "Report", "RuleFault", "UsedParameter"]

_OUTCOMES = tuple(Outcome)
FAULT = 4
"""Code of a rule that raised; it is no outcome."""


@attrs.frozen(kw_only=True)
class RuleFault:
    """A rule that raised on a subject: not a verdict."""

    rule: str
    subject: Subject
    error: str

    def __str__(self) -> str:
        return f"{self.rule} on {self.subject}: {self.error}"


@attrs.frozen
class UsedParameter:
    """A dated value that a finding rests on."""

    name: str
    value: Any
    unit: Unit | None
    figures: tuple[str, ...]
    starts: date | None
    ends: date | None
    citation: Citation


class Finding:
    """One rule on one subject.

    Made from the report's codes when it is asked for; what it shows is
    computed when it is read.
    """

    __slots__ = ("_at", "_code", "_index", "_judged", "_report")

    def __init__(self, report: Report, judged: Judged, at: int, index: int, code: int) -> None:
        self._report = report
        self._judged = judged
        self._at = at
        self._index = index
        self._code = code

    # --- what it is ------------------------------------------------------------------------
    @property
    def _open(self) -> OpenRule:
        return self._judged.group.rules[self._index]

    @property
    def rule(self) -> str:
        """Id of the rule."""
        return self._open.rule.id

    @property
    def title(self) -> str:
        """What must be so."""
        return self._open.rule.title

    @property
    def subject(self) -> Subject:
        """What it is about."""
        return self._judged.subject(self._at)

    @property
    def outcome(self) -> Outcome:
        """Pass, fail, unknown or not applicable."""
        return _OUTCOMES[self._code]

    @property
    def basis(self) -> Basis:
        """What the rule rests on."""
        return self._open.rule.basis

    @property
    def gravity(self) -> Gravity:
        """What follows from a failure."""
        return self._open.rule.gravity

    @property
    def tie(self) -> Tie:
        """What ties the rule to a place."""
        return self._open.rule.tie

    @property
    def place(self) -> str | None:
        """The place of that tie."""
        return self._report.book.place(self._open.rule.tie)

    @property
    def citation(self) -> Citation:
        """Source and clause of the rule, with its grade."""
        return self._open.citation

    @property
    def grade(self) -> Grade:
        """The weakest grade among the rule's citation and the values used."""
        grades = [self.citation.grade, *(each.citation.grade for each in self.parameters)]
        return min(grades, key=lambda grade: grade.strength)

    @property
    def advice(self) -> str:
        """What to do where it fails or is not known."""
        return self._open.rule.advice

    @property
    def caution(self) -> str:
        """What can hurt."""
        return self._open.rule.caution

    @property
    def pack(self) -> str:
        """Id of the pack."""
        return self._open.pack.id

    @property
    def version(self) -> str:
        """Version of the pack."""
        return self._open.pack.version

    @property
    def reason(self) -> str:
        """Why it cannot be known whatever is measured; else empty."""
        return self._open.reason

    # --- what it shows ----------------------------------------------------------------------
    @property
    def _shown(self) -> tuple[Any, Any, Any, Any]:
        values = self._judged.facts(self._report)[self._at]
        return values[4 * self._index : 4 * self._index + 4]  # type: ignore[no-any-return]

    @property
    def _figures(self) -> tuple[Any, Any, float | None]:
        return facts.figures(self._open.shows, self._shown, self._code)

    @property
    def measured(self) -> float | str | date | bool | None:
        """What was measured, in :attr:`unit`; of a range, the bound that decides."""
        return self._figures[0]  # type: ignore[no-any-return]

    @property
    def limit(self) -> float | str | date | bool | None:
        """The limit that decides, in :attr:`unit`."""
        return self._figures[1]  # type: ignore[no-any-return]

    @property
    def margin(self) -> float | None:
        """Distance to the limit: not negative on a pass, not positive on a fail, else None."""
        return self._figures[2]

    @property
    def unit(self) -> Unit | None:
        """Unit of measured, limit and margin."""
        return None if self._open.shows is None else self._open.shows.measured.unit

    @property
    def parameters(self) -> tuple[UsedParameter, ...]:
        """The dated values that the rule used."""
        view = self._report.view(self._judged, self._at)
        out = []
        for history in self._open.parameters:
            dated: DatedValue | None
            if history.counts_from:
                span = view.load(history.counts_from)
                dated = (
                    None
                    if span is None
                    else next(
                        (
                            value
                            for value in reversed(history.values)
                            if (value.starts or date.min) <= span.earliest
                        ),
                        None,
                    )
                )
            else:
                dated = history.on(self._report.book.on)
            if dated is not None:
                out.append(
                    UsedParameter(
                        history.name,
                        dated.value,
                        history.unit,
                        dated.figures,
                        dated.starts,
                        dated.ends,
                        dated.citation,
                    )
                )
        return tuple(out)

    @property
    def instruction(self) -> str | None:
        """Source of the maker's instruction that decided; None where none did."""
        return facts.instruction(self._open, self._report.view(self._judged, self._at))

    @property
    def missing(self) -> tuple[str, ...]:
        """Fields, not known, that could still change the outcome; empty unless it is unknown."""
        return tuple(dict.fromkeys(path for _, path in self.missing_at))

    @property
    def missing_at(self) -> tuple[tuple[Any, str], ...]:
        """The same with the subject of each field."""
        if self._code != Outcome.UNKNOWN:
            return ()
        if self.subject.unstated:
            return ((self.subject.axle, self.subject.unstated),)
        return facts.missing(self._open, self._report.view(self._judged, self._at))

    def sentence(self, *, language: str = "en", units: tuple[str, ...] = ()) -> str:
        """Return the finding as a sentence for a person.

        Parameters
        ----------
        language : str
            ISO 639 code.
        units : tuple of str
            Units to show values in, such as ``("psi", "in", "mph")``; others stay as stored.

        Raises
        ------
        LanguageError
            If there are no sentences in the language.
        """
        from stemlore.rules.sentences import sentence

        return sentence(self, language=language, units=units)

    def __str__(self) -> str:
        return self.sentence()

    def __repr__(self) -> str:
        return f"<Finding {self.rule} on {self.subject}: {self.outcome.word}>"


class Judged:
    """One group of rules with its subjects and their outcome codes."""

    __slots__ = ("_facts", "codes", "group", "subjects")

    def __init__(self, group: RuleGroup, subjects: tuple[Any, ...], codes: list[bytes]) -> None:
        self.group = group
        self.subjects = subjects
        self.codes = codes
        self._facts: list[Any] | None = None

    def subject(self, at: int) -> Subject:
        """Return one subject."""
        subject: Subject = self.subjects[at].subject
        return subject

    def facts(self, report: Report) -> list[Any]:
        """Return what the rules show for each subject, computed once."""
        if self._facts is None:
            self._facts = facts.measure_all(self.group, report, self.subjects)
        return self._facts


class Report:
    """All findings on a job.

    Attributes
    ----------
    job, book : Job and Rulebook
        What was checked, against what.
    day : date
        The day at which ages counted.
    faults : tuple of RuleFault
        Rules that raised; while there is one, nothing is clean.
    notes : tuple of str
        What a reader should know of how it was checked.
    """

    __slots__ = ("__dict__", "_judged", "book", "day", "faults", "job", "notes")

    def __init__(
        self,
        job: Job,
        book: Rulebook,
        day: date,
        judged: tuple[Judged, ...],
        faults: tuple[RuleFault, ...],
        notes: tuple[str, ...],
    ) -> None:
        self.job = job
        self.book = book
        self.day = day
        self._judged = judged
        self.faults = faults
        self.notes = notes

    def _each(self, *wanted: int) -> Iterator[Finding]:
        for judged in self._judged:
            for at, codes in enumerate(judged.codes):
                for code in wanted:
                    index = codes.find(code)
                    while index >= 0:
                        yield Finding(self, judged, at, index, code)
                        index = codes.find(code, index + 1)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every rule on every subject; a rule that raised is in ``faults`` instead."""
        return tuple(
            [
                Finding(self, judged, at, index, code)
                for judged in self._judged
                for at, codes in enumerate(judged.codes)
                for index, code in enumerate(codes)
                if code != FAULT
            ]
        )

    @cached_property
    def failing(self) -> tuple[Finding, ...]:
        """The findings that fail, gravest first."""
        return tuple(sorted(self._each(1), key=_gravity))

    @cached_property
    def unknown(self) -> tuple[Finding, ...]:
        """The findings that are not known, gravest first."""
        return tuple(sorted(self._each(2), key=_gravity))

    @property
    def holding(self) -> tuple[Finding, ...]:
        """The failures for which the vehicle does not leave."""
        return tuple(each for each in self.failing if each.gravity is Gravity.HOLD)

    @cached_property
    def counts(self) -> Mapping[Outcome, int]:
        """How many findings there are of each outcome."""
        joined = b"".join([codes for judged in self._judged for codes in judged.codes])
        return {outcome: joined.count(code) for code, outcome in enumerate(_OUTCOMES)}

    @property
    def is_clean(self) -> bool:
        """Whether nothing stands against the vehicle leaving.

        No fault, no failure or unknown of gravity hold or remedy, at least
        one pass, and every tie's place covered by a pack.
        """
        if self.faults or not self.book.coverage.complete or not self.counts[Outcome.PASS]:
            return False
        for judged in self._judged:
            binding = judged.group.binding
            for codes in judged.codes:
                if codes.find(1, 0, binding) >= 0 or codes.find(2, 0, binding) >= 0:
                    return False
        return True

    @property
    def coverage(self) -> Coverage:
        """Places, packs in force, and the places and ties without one."""
        return self.book.coverage

    @cached_property
    def next_readings(self) -> tuple[Reading, ...]:
        """What to measure or look up next, in the order of a walk round the vehicle."""
        from stemlore.rules.readings import next_readings

        return next_readings(self)

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 over the job's present values and the rulebook."""
        from stemlore.rules._facts import report_fingerprint

        return report_fingerprint(self)

    def rows(self) -> tuple[list[Subject], list[Row]]:
        """Return the subjects, and every finding as a row of plain values; for writers in bulk.

        A row holds the rule's number in ``book.rules``, the subject's number,
        outcome, measured, limit and margin.
        """
        numbers = {rule: number for number, rule in enumerate(self.book.rules)}
        subjects: list[Subject] = []
        rows: list[Row] = []
        for judged in self._judged:
            rows += rows_of(judged, self, numbers, len(subjects))
            subjects += [each.subject for each in judged.subjects]
        return subjects, rows

    def view(self, judged: Judged, at: int) -> Any:
        """Return the view of one subject, for the plain walker."""
        return facts.view_of(self.job, self.day, judged.subjects[at])

    def __repr__(self) -> str:
        counts = ", ".join(f"{count} {outcome.word}" for outcome, count in self.counts.items())
        return f"<Report {'clean' if self.is_clean else 'not clean'}: {counts}>"


_ORDER = {Gravity.HOLD: 0, Gravity.REMEDY: 1, Gravity.ADVISE: 2}


def _gravity(finding: Finding) -> int:
    return _ORDER[finding._judged.group.rules[finding._index].rule.gravity]
