"""A report as it travels: frozen structs with the names of the live report."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Final, Literal

import msgspec

from stemlore.errors import Fault
from stemlore.provenance import Grade
from stemlore.rules import Basis, Gravity, Outcome, Tie

__all__ = [
    "FORMS",
    "REPORT_SCHEMA",
    "SAFETY",
    "CitationRecord",
    "CoverageRecord",
    "FaultRecord",
    "FindingRecord",
    "ParameterRecord",
    "ReadingRecord",
    "ReportRecord",
    "Shown",
    "TieRecord",
    "Wire",
]

REPORT_SCHEMA: Final = "stemlore.report/1"
"""What the key ``schema`` of a report's document says."""
FORMS = ("full", "compact")

SAFETY = (
    "This report advises. Instructions of the makers of vehicle, wheel, tyre, valve and sensor, local codes, "
    "and trained, licensed staff come first. It is no statement of roadworthiness."
)
"""What stands under every report."""

Shown = float | int | str | bool | None
OutcomeWord = Literal["pass", "fail", "unknown", "not applicable"]
_BINDING = (Gravity.HOLD, Gravity.REMEDY)


class Wire(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of all parts of a document."""


class CitationRecord(Wire, frozen=True):
    """A place in a source, or a practice without one; ``text`` is how it is printed."""

    title: str | None
    issuer: str | None
    number: str | None
    edition: str | None
    url: str | None
    at: str
    grade: Grade
    text: str

    def __str__(self) -> str:
        return self.text


class ParameterRecord(Wire, frozen=True, rename={"starts": "from", "ends": "until"}):
    """A dated value that a finding rests on."""

    name: str
    value: Shown
    unit: str | None
    figures: tuple[str, ...]
    starts: date | None
    ends: date | None
    citation: CitationRecord


class FindingRecord(Wire, frozen=True, rename={"outcome_word": "outcome"}):
    """One rule on one subject, as it was found."""

    rule: str
    title: str
    subject: str
    outcome_word: OutcomeWord
    measured: Shown
    limit: Shown
    margin: float | None
    unit: str | None
    parameters: tuple[ParameterRecord, ...]
    instruction: str | None
    citation: CitationRecord
    grade: Grade
    missing: tuple[str, ...]
    reason: str
    basis: Basis
    gravity: Gravity
    tie: Tie
    place: str | None
    advice: str
    caution: str
    pack: str
    version: str
    sentence: str

    @property
    def outcome(self) -> Outcome:
        """Pass, fail, unknown or not applicable."""
        return Outcome[self.outcome_word.upper().replace(" ", "_")]

    def __str__(self) -> str:
        return self.sentence


class TieRecord(Wire, frozen=True):
    """What stands behind one tie to a place."""

    tie: Tie
    place: str | None
    packs: tuple[str, ...]
    covered: bool
    note: str


class CoverageRecord(Wire, frozen=True):
    """Places, packs in force, and places without one."""

    complete: bool
    packs: tuple[str, ...]
    ties: tuple[TieRecord, ...]

    @property
    def gaps(self) -> tuple[TieRecord, ...]:
        """The ties that are not covered."""
        return tuple(each for each in self.ties if not each.covered)


class FaultRecord(Wire, frozen=True):
    """A rule that raised on a subject."""

    rule: str
    subject: str
    error: str

    def __str__(self) -> str:
        return f"{self.rule} on {self.subject}: {self.error}"


class ReadingRecord(Wire, frozen=True):
    """A reading that is wanted."""

    field: str
    subject: str
    meaning: str
    how: str
    unit: str | None
    settles: tuple[str, ...]
    helps: int

    def __str__(self) -> str:
        return f"{self.meaning} ({self.subject})" if self.subject else self.meaning


class ReportRecord(Wire, frozen=True, rename={"counts_by_word": "counts"}):
    """A report read back: what was found, without the job or the rules to find it again.

    It has the names of the live report; subjects and units are text, days
    among ``measured`` and ``limit`` too.
    """

    schema: Literal["stemlore.report/1"]
    form: Literal["full"]
    is_clean: bool
    counts_by_word: dict[OutcomeWord, int]
    on: date
    day: date
    notes: tuple[str, ...]
    faults: tuple[FaultRecord, ...]
    findings: tuple[FindingRecord, ...]
    coverage: CoverageRecord
    next_readings: tuple[ReadingRecord, ...]
    fingerprint: str
    safety: str

    @property
    def counts(self) -> Mapping[Outcome, int]:
        """How many findings there are of each outcome."""
        return {outcome: self.counts_by_word.get(_word(outcome), 0) for outcome in Outcome}

    @property
    def failing(self) -> tuple[FindingRecord, ...]:
        """The findings that fail, gravest first."""
        return self._gravest("fail")

    @property
    def unknown(self) -> tuple[FindingRecord, ...]:
        """The findings that are not known, gravest first."""
        return self._gravest("unknown")

    @property
    def holding(self) -> tuple[FindingRecord, ...]:
        """The failures for which the vehicle does not leave."""
        return tuple(each for each in self.failing if each.gravity is Gravity.HOLD)

    def _gravest(self, outcome: str) -> tuple[FindingRecord, ...]:
        found = [each for each in self.findings if each.outcome_word == outcome]
        return tuple(sorted(found, key=lambda each: list(Gravity).index(each.gravity)))

    def contradictions(self) -> list[Fault]:
        """Return where the verdict does not follow from the findings: nobody may be told it is clean then."""
        faults: list[Fault] = []
        words = [each.outcome_word for each in self.findings]
        for outcome in Outcome:
            word = _word(outcome)
            if self.counts_by_word.get(word) != words.count(word):
                said = self.counts_by_word.get(word)
                faults.append(
                    Fault(f"counts.{word}", f"says {said}, but the findings are {words.count(word)}")
                )
        if self.coverage.complete != all(each.covered for each in self.coverage.ties):
            faults.append(
                Fault("coverage.complete", f"says {self.coverage.complete}, but the ties say otherwise")
            )
        against = any(
            each.gravity in _BINDING and each.outcome_word in ("fail", "unknown") for each in self.findings
        )
        clean = not self.faults and not against and self.coverage.complete and "pass" in words
        if self.is_clean != clean:
            faults.append(Fault("is_clean", f"says {self.is_clean}, but what was found says {clean}"))
        return faults


def _word(outcome: Outcome) -> OutcomeWord:
    words: dict[Outcome, OutcomeWord] = {
        Outcome.PASS: "pass",
        Outcome.FAIL: "fail",
        Outcome.UNKNOWN: "unknown",
        Outcome.NOT_APPLICABLE: "not applicable",
    }
    return words[outcome]
