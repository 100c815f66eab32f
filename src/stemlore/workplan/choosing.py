"""Choosing valves and sensors: candidates are judged by the rulebook with the candidate in place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from functools import partial
from typing import Any, Literal

import attrs

from stemlore.model import Assembly, Job, Valve
from stemlore.notation import DateSpan
from stemlore.rules import Gravity, Rulebook
from stemlore.rules._facts import missing
from stemlore.rules._layout import layout_of
from stemlore.rules._walker import View
from stemlore.rules.trial import Trial, fields_read, trial
from stemlore.workplan._records import with_values
from stemlore.workplan.catalogue import CatalogueItem
from stemlore.workplan.plan import Candidate, Choice

__all__ = ["choose_parts"]

_LATER = ("work.", "maker.", "tyre.pressure")
"""What is still set or looked up once the part is chosen, and decides no part."""
_PASS, _FAIL, _NOT_APPLICABLE = 0, 1, 3


def _in_place(assembly: Assembly, item: CatalogueItem, day: date) -> Assembly:
    """Return an assembly with a part fitted."""
    values: dict[str, Any] = {"valve": _completed(item.valve, assembly.valve, day)}
    if item.sensor is not None:
        values["sensor"] = with_values(item.sensor, fitted=True)
    return with_values(assembly, **values)  # type: ignore[no-any-return]


def _completed(valve: Valve, old: Valve, day: date) -> Valve:
    """Return a new valve with what the wheel and the work decide of it, not the catalogue."""
    return with_values(  # type: ignore[no-any-return]
        valve,
        fitted=DateSpan(day, day),
        cap=valve.cap or "sealing",
        extension=False if valve.extension is None else valve.extension,
        bending_limited=old.bending_limited,
    )


def choose_parts(
    job: Job,
    book: Rulebook,
    day: date,
    wheels: Sequence[Assembly],
    catalogue: Sequence[CatalogueItem],
) -> list[Choice]:
    """Return a choice for each group of wheels that are alike for the rules that a part decides.

    ``wheels`` are the assemblies as planned but for the part.
    """
    rules = trial(book, ("valve.", "sensor."))
    groups: dict[tuple[Any, ...], list[Assembly]] = {}
    for each in wheels:
        groups.setdefault(_alike(job, day, rules, each), []).append(each)
    return [_choice(job, book, day, rules, group, catalogue) for group in groups.values()]


def _alike(job: Job, day: date, rules: Trial, assembly: Assembly) -> tuple[Any, ...]:
    """Return all that the rules read at a wheel, but for the part itself."""
    member = next((m for m in layout_of(job).positions if m.subject.position == assembly.position), None)
    if member is None:
        return (assembly.position,)
    view = View(job, day, member.axle, member=member._replace(assembly=assembly))
    paths = sorted({path for each in rules.rules for path in fields_read(each)})
    own = tuple(path for path in paths if not path.startswith(("valve.", "sensor.")))
    return (*(str(view.load(path)) for path in own), assembly.valve, assembly.sensor)


def _choice(
    job: Job,
    book: Rulebook,
    day: date,
    rules: Trial,
    group: Sequence[Assembly],
    catalogue: Sequence[CatalogueItem],
) -> Choice:
    first = group[0]
    positions = tuple(each.position for each in group)
    placed = [_in_place(first, item, day) for item in catalogue]
    lacking = _Lacking(job, day, rules, first)
    found: dict[str, list[Candidate]] = {"fits": [], "excluded": [], "undecided": []}
    for item, assembly, codes in zip(catalogue, placed, rules.codes(job, day, placed), strict=True):
        failing, unknown = lacking.of(assembly, codes)
        verdict: Literal["fits", "excluded", "undecided"] = (
            "excluded" if failing else "undecided" if unknown else "fits"
        )
        candidate = Candidate(
            item=item,
            verdict=verdict,
            rules=tuple(rules.rules[index].rule.id for index in failing or unknown),
            assembly=assembly,
            job=job,
            book=book,
            ask=partial(lacking.missing, unknown, assembly),
        )
        found[verdict].append(candidate)
    told = job.maker_at(first.position).valve_table_code
    rank = _rank(first, told)
    fits = tuple(sorted(found["fits"], key=rank))
    return Choice(
        positions=positions,
        fits=fits,
        undecided=tuple(sorted(found["undecided"], key=rank)),
        excluded=tuple(found["excluded"]),
        in_the_way=() if fits else _in_the_way(found["excluded"]),
    )


class _Lacking:
    """Which rules a candidate fails or leaves unknown, and for want of what."""

    def __init__(self, job: Job, day: date, rules: Trial, first: Assembly) -> None:
        member = next(m for m in layout_of(job).positions if m.subject.position == first.position)
        self.member = member
        self.view = View(job, day, member.axle, member=member._replace(assembly=first))
        self.rules = rules.rules
        self.binding = tuple(
            index for index, each in enumerate(self.rules) if each.rule.gravity is not Gravity.ADVISE
        )
        # only a rule that lacks something of the work can be unknown for want of that alone
        self.later = frozenset(
            index
            for index in self.binding
            if any(
                path.startswith(_LATER) and self.view.load(path) is None
                for path in fields_read(self.rules[index])
            )
        )

    def of(self, assembly: Assembly, codes: bytes) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Return the rules that fail, else those that are unknown not for want of work alone."""
        failing = tuple(index for index in self.binding if codes[index] == _FAIL)
        if failing:
            return failing, ()
        unknown = (index for index in self.binding if codes[index] not in (_PASS, _NOT_APPLICABLE))
        return (), tuple(index for index in unknown if not self._is_later(index, assembly))

    def _is_later(self, index: int, assembly: Assembly) -> bool:
        if index not in self.later:
            return False
        paths = self.missing((index,), assembly)
        return bool(paths) and all(path.startswith(_LATER) for path in paths)

    def missing(self, indices: Sequence[int], assembly: Assembly) -> tuple[str, ...]:
        """Return the readings for want of which rules are unknown."""
        view = attrs.evolve(self.view, member=self.member._replace(assembly=assembly))
        found = (path for index in indices for _, path in missing(self.rules[index], view))
        return tuple(dict.fromkeys(found))


def _rank(old: Assembly, told: str | None) -> Any:
    """Return the order: the part that the maker tells, the kind and length that came off, the shortest."""
    kind, length = old.valve.kind, old.valve.effective_length

    def key(of: Candidate) -> tuple[Any, ...]:
        valve = of.item.valve
        own = valve.effective_length
        apart = abs(own - length) if own is not None and length is not None else own or 0.0
        return (valve.table_code != told if told else False, valve.kind != kind, apart, of.item.code)

    return key


def _in_the_way(excluded: Sequence[Candidate]) -> tuple[str, ...]:
    """Return the rules each of which alone keeps a part off, the most frequent first."""
    if not excluded:
        return ()
    fewest = min(len(each.rules) for each in excluded)
    counted = Counter(rule for each in excluded if len(each.rules) == fewest for rule in each.rules)
    return tuple(rule for rule, _ in counted.most_common())
