"""What :func:`check` answers with: a report of findings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from functools import cached_property
from itertools import repeat
from typing import TYPE_CHECKING, Any, NamedTuple

import attrs

from stemlore.provenance import Citation, Grade
from stemlore.rules import _facts as facts
from stemlore.rules._figures import Figures
from stemlore.rules._layout import Layout, Subject
from stemlore.rules._resolve import OpenRule, RuleGroup
from stemlore.rules._rows import Row, rows_of
from stemlore.rules._walker import View
from stemlore.rules.parameters import UsedParameter
from stemlore.rules.rule import Basis, Gravity, Outcome, Tie
from stemlore.rules.rulebook import Coverage, Rulebook
from stemlore.units import Unit

if TYPE_CHECKING:
    from stemlore.model import Job
    from stemlore.rules.ahead import Turn
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


class _Columns(NamedTuple):
    """What a finding holds; only its descriptors are used."""

    about: Context
    opened: OpenRule
    code: int
    measured: Any
    limit: Any
    margin: float | None


class Context:
    """One subject of a report, which all its findings share.

    It does not hold the report: what refers to each other in a circle is
    freed late, and a workshop's server makes many.
    """

    __slots__ = ("_figures", "book", "codes", "day", "group", "job", "layout", "number")

    def __init__(self, report: Report, judged: Judged, number: int, codes: bytes) -> None:
        self.job = report.job
        self.book = report.book
        self.day = report.day
        self.group = judged.group
        self.layout = judged.layout
        self.number = number
        self.codes = codes
        self._figures: Figures | None = None

    @property
    def at(self) -> Any:
        """The member or group."""
        return self.layout.subjects(self.group.kind)[self.number]

    def view(self) -> View:
        """Return the view of the subject, for the plain walker."""
        return facts.view_of(self.job, self.day, self.at)

    def figures(self, opened: OpenRule) -> tuple[Any, Any, float | None]:
        """Return measured, limit and margin of one rule; computed once for all."""
        columns = self._figures
        if columns is None:
            of = (self.at,)
            found = facts.measure_all(self.group, self.job, self.day, of, [self.codes], lambda: of)
            columns = self._figures = found[0]
        index = self.group.rules.index(opened)
        return columns[0][index], columns[1][index], columns[2][index]


class Finding(tuple[Any, ...]):
    """One rule on one subject.

    Made from the report's codes when it is asked for; what it shows is
    computed when it is read. A tuple inside, for that is the fastest of
    Python's classes whose objects cannot be changed.
    """

    __slots__ = ()
    __iter__ = None  # type: ignore[assignment]  # what is inside is nobody's business
    __contains__ = None  # type: ignore[assignment]

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Finding):
            return self[0] is other[0] and self[1] is other[1]
        return NotImplemented

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        return hash((id(self[0]), id(self[1])))

    # --- what it is ------------------------------------------------------------------------
    @property
    def _open(self) -> OpenRule:
        return self[1]  # type: ignore[no-any-return]

    @property
    def _about(self) -> Context:
        return self[0]  # type: ignore[no-any-return]

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
        return self._about.at.subject  # type: ignore[no-any-return]

    @property
    def outcome(self) -> Outcome:
        """Pass, fail, unknown or not applicable."""
        outcome: Outcome = _OUTCOMES[self[2]]
        return outcome

    @property
    def basis(self) -> Basis:
        """What the rule rests on."""
        return self._open.rule.basis

    @property
    def gravity(self) -> Gravity:
        """What follows from a failure."""
        return self._open.rule.gravity

    @property
    def decision(self) -> str:
        """Decision rule: ``guarded`` where the uncertainty of the reading counted, else ``simple``."""
        return "guarded" if self._open.guarded else "simple"

    @property
    def tie(self) -> Tie:
        """What ties the rule to a place."""
        return self._open.rule.tie

    @property
    def place(self) -> str | None:
        """The place of that tie."""
        return self._about.book.place(self._open.rule.tie)

    @property
    def citation(self) -> Citation:
        """Source and clause of the rule, with its grade."""
        return self._open.citation

    @property
    def grade(self) -> Grade:
        """The weakest grade among the rule's citation and the values used, those of tables too."""
        cited = [self.citation, *(each.citation for each in self.parameters), *self.tables]
        return min((each.grade for each in cited), key=lambda grade: grade.strength)

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
    def measured(self) -> float | str | date | bool | None:
        """What was measured, in :attr:`unit`; of a range, the bound that decides."""
        return self._about.figures(self[1])[0]  # type: ignore[no-any-return]

    @property
    def limit(self) -> float | str | date | bool | None:
        """The limit that decides, in :attr:`unit`."""
        return self._about.figures(self[1])[1]  # type: ignore[no-any-return]

    @property
    def margin(self) -> float | None:
        """Distance to the limit: not negative on a pass, not positive on a fail, else None."""
        return self._about.figures(self[1])[2]

    @property
    def unit(self) -> Unit | None:
        """Unit of measured, limit and margin."""
        return None if self._open.shows is None else self._open.shows.measured.unit

    @property
    def parameters(self) -> tuple[UsedParameter, ...]:
        """The dated values that the rule used; none of branches that were not taken."""
        return facts.parameters_used(self._open, self._about.view(), self._about.book.on)

    @property
    def tables(self) -> tuple[Citation, ...]:
        """Where the values come from that the rule read in reference tables."""
        return facts.tables_used(self._open, self._about.view())

    @property
    def instruction(self) -> str | None:
        """Source of the maker's instruction that decided; None where none did."""
        return facts.instruction(self._open, self._about.view())

    @property
    def missing(self) -> tuple[str, ...]:
        """Fields, not known, that could still change the outcome; empty unless it is unknown."""
        return tuple(dict.fromkeys(path for _, path in self.missing_at))

    @property
    def missing_at(self) -> tuple[tuple[Any, str], ...]:
        """The same with the subject of each field."""
        if self[2] != Outcome.UNKNOWN:
            return ()
        if self.subject.unstated:
            return ((self.subject.axle, self.subject.unstated),)
        return facts.missing(self._open, self._about.view())

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


class _Filled(Finding):
    """A finding whose figures are computed already."""

    __slots__ = ()
    # the descriptors of a named tuple read any tuple, twice as fast as a property
    measured: Any = vars(_Columns)["measured"]
    limit: Any = vars(_Columns)["limit"]
    margin: Any = vars(_Columns)["margin"]


class Judged:
    """One group of rules with its subjects and their outcome codes."""

    __slots__ = ("_contexts", "_figures", "codes", "group", "layout")

    def __init__(self, group: RuleGroup, layout: Layout, codes: list[bytes]) -> None:
        self.group = group
        self.layout = layout
        self.codes = codes
        self._contexts: list[Context] | None = None
        self._figures: list[Figures] | None = None

    @property
    def subjects(self) -> tuple[Any, ...]:
        """The members or groups that were judged."""
        return self.layout.subjects(self.group.kind)

    def contexts(self, report: Report) -> list[Context]:
        """Return what the findings of each subject share; made once."""
        if self._contexts is None:
            self._contexts = [Context(report, self, number, codes) for number, codes in enumerate(self.codes)]
        return self._contexts

    def figures(self, report: Report) -> list[Figures]:
        """Return measured, limit and margin of all rules for each subject; computed once."""
        if self._figures is None:
            self._figures = facts.measure_all(
                self.group,
                report.job,
                report.day,
                self.layout.rows(self.group.kind),
                self.codes,
                lambda: self.subjects,
            )
        return self._figures


class Counts(Mapping[Outcome, int]):
    """How many findings there are of each outcome."""

    __slots__ = ("_of",)

    def __init__(self, codes: bytes, faults: bool) -> None:
        count = codes.count
        fail, unknown, outside = count(1), count(2), count(3)
        total = len(codes) - count(FAULT) if faults else len(codes)
        self._of = (total - fail - unknown - outside, fail, unknown, outside)

    def __getitem__(self, outcome: Outcome) -> int:
        if outcome in (0, 1, 2, 3):  # looking it up among the outcomes takes longer than counting
            return self._of[outcome]
        raise KeyError(outcome)

    def __iter__(self) -> Iterator[Outcome]:
        return iter(_OUTCOMES)

    def __len__(self) -> int:
        return len(_OUTCOMES)

    def __repr__(self) -> str:
        return f"Counts({', '.join(f'{outcome.word}: {self[outcome]}' for outcome in self)})"


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

    __slots__ = (
        "__dict__",
        "_counts",
        "_failing",
        "_judged",
        "_unknown",
        "book",
        "day",
        "faults",
        "job",
        "notes",
    )

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
        self._counts: Counts | None = None  # kept by hand: a cached property takes a lock
        self._failing: tuple[Finding, ...] | None = None
        self._unknown: tuple[Finding, ...] | None = None
        self.faults = faults
        self.notes = notes

    def _of_code(self, code: int) -> tuple[Finding, ...]:
        """Return the findings of one outcome, gravest first."""
        hold: list[Finding] = []
        remedy: list[Finding] = []
        advise: list[Finding] = []
        for judged in self._judged:
            group = judged.group
            rules, holding, binding = group.rules, group.holding, group.binding
            contexts: list[Context] | None = None
            for at, codes in enumerate(judged.codes):
                index = codes.find(code)
                while index >= 0:
                    if contexts is None:
                        contexts = judged.contexts(self)
                    into = hold if index < holding else remedy if index < binding else advise
                    into.append(Finding((contexts[at], rules[index], code)))
                    index = codes.find(code, index + 1)
        return (*hold, *remedy, *advise)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every rule on every subject; a rule that raised is in ``faults`` instead."""
        out: list[Finding] = []
        for judged in self._judged:
            rules = judged.group.rules
            for about, codes, figures in zip(
                judged.contexts(self), judged.codes, judged.figures(self), strict=True
            ):
                out += map(_Filled, zip(repeat(about), rules, codes, *figures, strict=False))
        return tuple([each for each in out if each[2] != FAULT] if self.faults else out)

    @property
    def failing(self) -> tuple[Finding, ...]:
        """The findings that fail, gravest first."""
        found = self._failing
        if found is None:
            found = self._failing = self._of_code(1)
        return found

    @property
    def unknown(self) -> tuple[Finding, ...]:
        """The findings that are not known, gravest first."""
        found = self._unknown
        if found is None:
            found = self._unknown = self._of_code(2)
        return found

    @property
    def holding(self) -> tuple[Finding, ...]:
        """The failures for which the vehicle does not leave."""
        return tuple(each for each in self.failing if each.gravity is Gravity.HOLD)

    @property
    def counts(self) -> Mapping[Outcome, int]:
        """How many findings there are of each outcome."""
        counts = self._counts
        if counts is None:
            codes = b"".join([b"".join(judged.codes) for judged in self._judged])
            counts = self._counts = Counts(codes, bool(self.faults))
        return counts

    @property
    def is_clean(self) -> bool:
        """Whether nothing stands against the vehicle leaving.

        No fault, no failure or unknown of gravity hold or remedy, at least
        one pass, and every tie's place covered by a pack.
        """
        if self.faults:
            return False
        passes = False
        for judged in self._judged:
            binding = judged.group.binding
            for codes in judged.codes:
                if codes.find(1, 0, binding) >= 0 or codes.find(2, 0, binding) >= 0:
                    return False
                passes = passes or codes.find(0) >= 0
        return passes and self.book.coverage.complete

    @property
    def coverage(self) -> Coverage:
        """Places, packs in force, and the places and ties without one."""
        return self.book.coverage

    @cached_property
    def next_readings(self) -> tuple[Reading, ...]:
        """What to measure or look up next, in the order of a walk round the vehicle."""
        from stemlore.rules.readings import next_readings

        return next_readings(self)

    def turns(self, *, days: int) -> tuple[Turn, ...]:
        """Return the findings that turn within some days; see :func:`stemlore.rules.turns`."""
        from stemlore.rules.ahead import turns

        return turns(self, days=days)

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
        subjects: list[Subject] = []
        rows: list[Row] = []
        for judged in self._judged:
            rows += rows_of(judged, self, len(subjects))
            subjects += [each.subject for each in judged.subjects]
        return subjects, rows

    def __repr__(self) -> str:
        counts = ", ".join(f"{count} {outcome.word}" for outcome, count in self.counts.items())
        return f"<Report {'clean' if self.is_clean else 'not clean'}: {counts}>"
