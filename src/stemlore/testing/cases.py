"""Cases of a pack: readings, a day, and what a rule must say of them.

``cases.toml`` lies beside the pack's other files::

    [base."xa.tyre.tread_depth"]          # what all cases of a rule share
    on = 2024-01-15
    given = { "vehicle.category" = "M1" }

    [[case]]
    rule = "xa.tyre.tread_depth"
    given = { "tyre.tread_depth_main_grooves" = "1.6 mm" }
    expect = "pass"

``given`` holds readings by path. A vehicle's or visit's stands once; an
axle's is put on every axle, a wheel's on every wheel, a maker's into one
instruction for all. ``"axle 2: axle.fitment"`` or ``"axle 2 right: tyre.size"``
is for one of them alone. Without more, axles 1 and 2 carry single wheels.
A pack's own fields stand as ``"own.xa.field"``. Figures and days come from the
clause, never from the parameter under test.

``each`` makes one case of every value of a reading::

    [[case]]
    rule = "xa.tyre.tread_depth"
    each = { "vehicle.category" = ["M1", "N1"] }
    expect = "pass"

A change of a rule that no job can show is told, so that the conformance kit
does not ask for a case of it::

    [[alike]]
    rule = "xa.valve.hole"
    change = "when: And without part 1"     # as the kit names it
    why = "every valve of the table is made for one of the two holes"
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import cached_property
from itertools import product
from pathlib import Path
from typing import Any

import attrs

from stemlore.errors import DayError, Fault, PackError
from stemlore.model import (
    Job,
)
from stemlore.rules import Finding, Outcome, Pack, PackFolder, Rulebook, check, rulebook
from stemlore.testing._case_job import job_of
from stemlore.units import settle

__all__ = ["EXPECTATIONS", "NOT_IN_FORCE", "REFUSED", "Alike", "Case", "read_alike", "read_cases"]

NOT_IN_FORCE = "not in force"
"""The rulebook of that place and day has no such rule."""
REFUSED = "refused"
"""The rulebook answers for no such day."""
EXPECTATIONS = (*(outcome.word for outcome in Outcome), NOT_IN_FORCE, REFUSED)
"""What a case may expect."""

_KEYS = {
    "rule", "on", "place", "expect", "given", "without", "subject", "margin", "missing", "figures",
    "instruction", "note", "each",
}  # fmt: skip
_KINDS: dict[str, type[Any]] = {
    "rule": str, "place": str, "subject": str, "instruction": str, "note": str,
    "without": list, "missing": list, "figures": list,
}  # fmt: skip
_ALIKE_KEYS = ("rule", "change", "why")


@attrs.frozen(kw_only=True, slots=False)
class Case:
    """One case of one rule.

    Attributes
    ----------
    rule : str
        Id of the rule.
    on : date
        Day whose law holds.
    place : str
        Where the vehicle is registered and used and the workshop stands.
    given : mapping of str to value
        Readings by path.
    expect : str
        An outcome in words, ``not in force`` or ``refused``.
    subject : str
        The subject looked at; empty = every subject must agree.
    margin : float or None
        Margin that the finding must show.
    missing, figures : tuple of str
        Fields that it must name as missing; figures that its limits must print.
    instruction : str
        Source of the maker's instruction that must have decided.
    note : str
        What the case is for, or where its figures are published.
    """

    rule: str
    on: date
    place: str
    given: Mapping[str, Any]
    expect: str
    subject: str = ""
    margin: float | None = None
    missing: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    instruction: str = ""
    note: str = ""

    def __str__(self) -> str:
        return f"{self.rule} {self.on} {self.expect}{f' ({self.note})' if self.note else ''}"

    @cached_property
    def job(self) -> Job:
        """The job that the readings make."""
        return job_of(self.given)

    def book(self, *, also: Sequence[PackFolder | Pack] = ()) -> Rulebook:
        """Return the rulebook of place and day; ``also`` adds packs that are not installed."""
        return rulebook(self.place, on=self.on, also=also)

    def findings(self, book: Rulebook) -> tuple[Finding, ...]:
        """Return what the rule says of the subject, or of every subject."""
        found = tuple(each for each in check(self.job, book).findings if each.rule == self.rule)
        return tuple(each for each in found if not self.subject or str(each.subject) == self.subject)

    def run(self, *, also: Sequence[PackFolder | Pack] = ()) -> Finding:
        """Return the first finding.

        Raises
        ------
        AssertionError
            If the rule says nothing of the subject.
        """
        found = self.findings(self.book(also=also))
        if not found:
            raise AssertionError(f"{self}: no finding{f' on {self.subject}' if self.subject else ''}")
        return found[0]

    def check(self, *, also: Sequence[PackFolder | Pack] = ()) -> None:
        """Compare what the rule says with what is expected.

        Raises
        ------
        AssertionError
            With every difference.
        """
        try:
            book = self.book(also=also)
        except DayError as error:
            if self.expect == REFUSED:
                return
            raise AssertionError(f"{self}: {error}") from None
        if problems := self.differences(book):
            raise AssertionError(f"{self}: " + "; ".join(problems))

    def differences(self, book: Rulebook) -> list[str]:
        """Return how the findings of a rulebook differ from what is expected."""
        if self.expect == REFUSED:
            return ["the rulebook answers for this day"]
        if self.expect == NOT_IN_FORCE:
            return ["the rule is in force"] if self.rule in book.rules else []
        if self.rule not in book.rules:
            return ["the rule is not in force"]
        found = self.findings(book)
        if not found:
            return [f"no finding{f' on {self.subject}' if self.subject else ''}"]
        return [problem for each in found for problem in self._differs(each)]

    def _differs(self, found: Finding) -> list[str]:
        where = f"{found.subject}: "
        out = []
        if found.outcome.word != self.expect:
            missing = f" for want of {', '.join(found.missing)}" if found.missing else ""
            reason = f" ({found.reason})" if found.reason else ""
            out.append(f"{where}{found.outcome.word}{missing}{reason}")
        if self.margin is not None and (found.margin is None or settle(found.margin - self.margin) != 0):
            out.append(f"{where}margin {found.margin}, not {self.margin}")
        if self.missing and found.missing != self.missing:
            out.append(f"{where}missing {', '.join(found.missing)}, not {', '.join(self.missing)}")
        printed = {figure for each in found.parameters for figure in each.figures}
        out.extend(f"{where}no limit prints {figure}" for figure in self.figures if figure not in printed)
        if self.instruction and found.instruction != self.instruction:
            out.append(f"{where}decided by {found.instruction}, not {self.instruction}")
        return out


@attrs.frozen(kw_only=True)
class Alike:
    """A change of a rule that no job can show, as the conformance kit names it, and why."""

    rule: str
    change: str
    why: str


# --- reading ---------------------------------------------------------------------------------


def read_cases(folder: Path | str) -> list[Case]:
    """Read ``cases.toml`` of a pack's folder.

    Raises
    ------
    PackError
        With everything that is wrong: which case, which key, why.
    """
    folder = Path(folder)
    table, head = _read(folder, "cases.toml"), _read(folder, "pack.toml")
    faults: list[Fault] = []
    out = []
    for key in sorted(set(table) - {"base", "case", "alike"}):
        faults.append(Fault(key, "unknown key", "base, case or alike", "cases.toml"))
    bases, listed = table.get("base", {}), table.get("case", [])
    if not isinstance(bases, Mapping) or not all(isinstance(each, Mapping) for each in bases.values()):
        faults.append(Fault("base", "is not a table of rules", '[base."xa.tyre.tread_depth"]', "cases.toml"))
        bases = {}
    if not isinstance(listed, list) or not all(isinstance(each, Mapping) for each in listed):
        faults.append(Fault("case", "is not a list of cases", "write [[case]] above each", "cases.toml"))
        listed = []
    for index, entry in enumerate(listed):
        base = bases.get(str(entry.get("rule")), {})
        own: list[Fault] = []
        made = [_case(base, each, str(head.get("place", "")), own) for each in _each(entry, own)]
        if own:
            path = f"case[{index}] {entry.get('rule', '')}"
            spot = _line(folder / "cases.toml", "case", index)
            faults.extend(attrs.evolve(each, path=f"{path}: {each.path}", where=spot) for each in own)
        out += [case for case in made if case is not None]
    if faults:
        raise PackError(f"cases in {folder.name}", faults)
    return out


def _line(path: Path, name: str, nth: int) -> str:
    """Return file and line of the nth table of a list; looked for only when something is wrong."""
    lines = path.read_text("utf-8").splitlines()
    found = [number for number, text in enumerate(lines, 1) if text.strip().startswith(f"[[{name}]]")]
    return f"{path.name}:{found[nth]}" if nth < len(found) else path.name


def _each(entry: Mapping[str, Any], faults: list[Fault]) -> list[dict[str, Any]]:
    """Return an entry once for every value of the readings under ``each``."""
    plain = {key: value for key, value in entry.items() if key != "each"}
    each = entry.get("each", {})
    if not isinstance(each, Mapping) or not all(
        isinstance(values, list) and values for values in each.values()
    ):
        faults.append(
            Fault("each", "is not a table of lists", 'each = { "vehicle.category" = ["M1", "N1"] }')
        )
        return [plain]
    if not each or not isinstance(plain.get("given", {}), Mapping):  # the latter is told with the case
        return [plain]
    return [
        {**plain, "given": {**plain.get("given", {}), **dict(zip(each, values, strict=True))}}
        for values in product(*each.values())
    ]


def _read(folder: Path, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads((folder / name).read_text("utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        line = re.search(r"at line (\d+)", str(error))
        spot = f"{name}:{line[1]}" if line else name
        raise PackError(f"cases in {folder.name}", [Fault("", str(error), where=spot)]) from error


def read_alike(folder: Path | str) -> list[Alike]:
    """Read what ``cases.toml`` says of changes that no job can show.

    Raises
    ------
    PackError
        With everything that is wrong.
    """
    folder = Path(folder)
    faults: list[Fault] = []
    out = []
    listed = _read(folder, "cases.toml").get("alike", [])
    if not isinstance(listed, list) or not all(isinstance(each, Mapping) for each in listed):
        faults.append(Fault("alike", "is not a list", "write [[alike]] above each", "cases.toml"))
        listed = []
    for index, entry in enumerate(listed):
        wrong = [key for key in _ALIKE_KEYS if not isinstance(entry.get(key), str) or not entry[key]]
        wrong += sorted(set(entry) - set(_ALIKE_KEYS))
        spot = _line(folder / "cases.toml", "alike", index) if wrong else ""
        faults += [Fault(f"alike[{index}].{key}", "rule, change and why, as text", "", spot) for key in wrong]
        if not wrong:
            out.append(Alike(**entry))
    if faults:
        raise PackError(f"cases in {folder.name}", faults)
    return out


def _case(base: Mapping[str, Any], entry: Mapping[str, Any], place: str, faults: list[Fault]) -> Case | None:
    for key in (set(base) | set(entry)) - _KEYS:
        faults.append(Fault(key, "unknown key", ", ".join(sorted(_KEYS))))
    told = {"place": place, **base, **entry}
    before = len(faults)
    for table in (base, entry):
        if not isinstance(table.get("given", {}), Mapping):
            faults.append(Fault("given", "is not a table of readings", 'given = { "tyre.size" = "..." }'))
    for key, kind in _KINDS.items():
        value = told.get(key, kind())
        if not isinstance(value, kind) or (kind is list and not all(isinstance(each, str) for each in value)):
            faults.append(Fault(key, f"{value!r} is not {'text' if kind is str else 'a list of text'}"))
    if isinstance(told.get("margin", 0.0), bool) or not isinstance(told.get("margin", 0.0), (int, float)):
        faults.append(Fault("margin", f"{told['margin']!r} is not a number"))
    if len(faults) > before:
        return None
    given = {**base.get("given", {}), **entry.get("given", {})}
    for path in told.get("without", ()):
        if given.pop(path, None) is None:
            faults.append(Fault("without", f"{path!r} is not given"))
    if told.get("expect") not in EXPECTATIONS:
        faults.append(Fault("expect", f"{told.get('expect')!r} is not one", ", ".join(EXPECTATIONS)))
    on = told.get("on")
    if not isinstance(on, date) or isinstance(on, datetime) or not told.get("rule"):
        faults.append(Fault("on", "rule and day must be given", "rule = ..., on = 2024-01-15"))
    if faults:
        return None
    return Case(
        rule=told["rule"],
        on=told["on"],
        place=told["place"],
        given=given,
        expect=told["expect"],
        subject=told.get("subject", ""),
        margin=told.get("margin"),
        missing=tuple(told.get("missing", ())),
        figures=tuple(told.get("figures", ())),
        instruction=told.get("instruction", ""),
        note=told.get("note", ""),
    )
