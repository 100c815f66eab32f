"""Choosing valves and sensors: candidates are judged by the rulebook with the candidate in place."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from functools import lru_cache, partial
from typing import Any

import attrs

from stemlore.model import Assembly, Job, Sensor, Valve
from stemlore.model._record import adopted
from stemlore.notation import DateSpan
from stemlore.rules import Rulebook
from stemlore.rules._facts import missing
from stemlore.rules._layout import layout_of
from stemlore.rules._resolve import OpenRule
from stemlore.rules._walker import View
from stemlore.rules.nodes import Aggregate, walk
from stemlore.rules.trial import Trial, fields_read, trial
from stemlore.tables import table
from stemlore.workplan._records import with_values
from stemlore.workplan.bands import least_only
from stemlore.workplan.catalogue import CatalogueItem
from stemlore.workplan.plan import Candidate, Choice, Gap, Verdict
from stemlore.workplan.radio import same_frequency

__all__ = ["choose_parts", "is_candidate", "nothing_fits"]

_PARTS = ("valve.", "sensor.")
_LATER = ("work.", "maker.", "tyre.pressure")
"""What is still set or looked up once the part is chosen, and decides no part."""
_FAIL, _UNKNOWN, _FAULT = 1, 2, 4
_LENGTH = "valve.length_with_cap"


def is_candidate(item: CatalogueItem, assembly: Assembly) -> bool:
    """Return whether a part is of the kind of this wheel at all: for a tube or not, with a sensor or not."""
    if (item.valve.kind == "tube_stem") != (assembly.valve.kind == "tube_stem"):
        return False
    fitted = assembly.sensor.fitted
    return fitted is None or (item.sensor is not None) == fitted


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
    rules = trial(book, _PARTS)
    groups: dict[tuple[Any, ...], list[Assembly]] = {}
    for each in sorted(wheels, key=lambda one: one.position.key):
        groups.setdefault(_alike(job, day, rules, each), []).append(each)
    judged: list[_Group] = []
    for group in groups.values():
        judged.append(_Group(job, book, day, rules, group, catalogue, judged[0] if judged else None))
    clear: Counter[str] = Counter()
    kinds: Counter[str | None] = Counter()
    for one in judged:
        left = [one.items[at] for at in (*one.fits, *one.undecided)]
        clear.update({each.code: len(one.wheels) for each in left})
        kinds.update(dict.fromkeys({each.valve.kind for each in left}, len(one.wheels)))
    for one in judged:
        one.kinds = kinds
    return [one.choice(clear) for one in judged]


def _view(job: Job, day: date, assembly: Assembly) -> View | None:
    member = next((m for m in layout_of(job).positions if m.subject.position == assembly.position), None)
    if member is None:
        return None
    return View(job, day, member.axle, member=member._replace(assembly=assembly))


def _alike(job: Job, day: date, rules: Trial, assembly: Assembly) -> tuple[Any, ...]:
    """Return all that the rules read at a wheel, but for the part itself."""
    view = _view(job, day, assembly)
    if view is None:
        return (assembly.position,)
    seen = tuple(_own(view, rules).values())
    apart = assembly.position if any(_reads_others(each) for each in rules.rules) else None
    return (seen, assembly.valve, assembly.sensor, apart)


def _own(view: View, rules: Trial) -> dict[str, str]:
    """Return what the rules read at a wheel beside the part, by path."""
    paths = sorted({path for each in rules.rules for path in fields_read(each)})
    return {path: str(view.load(path)) for path in paths if not path.startswith(_PARTS)}


@lru_cache(maxsize=4096)
def _reads_others(opened: OpenRule) -> bool:
    """Return whether a rule looks at other wheels too."""
    trees = (opened.check, opened.when)
    return any(isinstance(part, Aggregate) for tree in trees if tree is not None for part in walk(tree))


class _Group:
    """Wheels that are alike, and what the rules say of every part there."""

    def __init__(
        self,
        job: Job,
        book: Rulebook,
        day: date,
        rules: Trial,
        wheels: Sequence[Assembly],
        catalogue: Sequence[CatalogueItem],
        before: _Group | None,
    ) -> None:
        self.job, self.book, self.day, self.rules, self.wheels = job, book, day, rules, wheels
        first = wheels[0]
        self.first = first
        self.items = [item for item in catalogue if is_candidate(item, first)]
        alike = before is not None and self._has_same_parts(before)
        self.parts: list[Mapping[str, Any]] = (
            before.parts if before and alike else _fitted(first, self.items, day)
        )
        about = {name: getattr(first, name) for name in attrs.fields_dict(Assembly)}
        self.placed = [adopted(Assembly, {**about, **part}) for part in self.parts]
        view = _view(job, day, first)
        assert view is not None  # a wheel of the job has its place in the layout
        self.view = view
        self.own = _own(view, rules)
        self.judged = self._codes(before if alike else None)
        self.codes = list(self.judged)
        self.asked: dict[tuple[Any, ...], tuple[str, ...]] = {}
        self.fits: list[int] = []
        self.undecided: dict[int, tuple[int, ...]] = {}
        self.excluded: list[int] = []
        self.kinds: Mapping[str | None, int] = {}
        """At how many wheels a part of each kind is not excluded."""
        self._sort()

    def _codes(self, before: _Group | None) -> list[bytes]:
        """Judge all parts; of a group before, only by the rules that read what is other here."""
        if before is None:
            return self.rules.codes(self.job, self.day, self.placed)
        other = {path for path, value in self.own.items() if before.own[path] != value}
        changed = tuple(
            index
            for index, each in enumerate(self.rules.rules)
            if fields_read(each) & other or _reads_others(each)
        )
        if not changed:
            return before.judged
        fresh = self.rules.only(changed).codes(self.job, self.day, self.placed)
        out = []
        for old, new in zip(before.judged, fresh, strict=True):
            codes = bytearray(old)
            for index, code in zip(changed, new, strict=True):
                codes[index] = code
            out.append(bytes(codes))
        return out

    def _has_same_parts(self, before: _Group) -> bool:
        one, other = self.first, before.first
        return (
            one.sensor == other.sensor
            and one.valve.bending_limited == other.valve.bending_limited
            and [id(item) for item in self.items] == [id(item) for item in before.items]
        )

    # --- verdicts ----------------------------------------------------------------------------

    def _sort(self) -> None:
        binding = self.rules.group.binding
        for index, codes in enumerate(self.codes):
            bound = codes[:binding]
            if _FAIL in bound:
                self.excluded.append(index)
                continue
            open_ = tuple(at for at, code in enumerate(bound) if code in (_UNKNOWN, _FAULT))
            open_ = tuple(at for at in open_ if not self._is_later(at, index)) if open_ else ()
            if not open_:
                self.fits.append(index)
            elif self._is_too_long(index):
                self.excluded.append(index)
            else:
                self.undecided[index] = open_
        self.excluded.sort()

    def _is_later(self, rule: int, index: int) -> bool:
        """Return whether a rule is unknown only for want of what is set once the part is chosen."""
        paths = self.missing((rule,), index)
        # a core that is renewed is the plan's to choose, whatever came with the valve
        later = (*_LATER, "valve.core_material") if self.first.work.core_renewed else _LATER
        return bool(paths) and all(path.startswith(later) for path in paths)

    def missing(self, rules: Sequence[int], index: int) -> tuple[str, ...]:
        """Return the readings for want of which rules are unknown with a part in place."""
        found: dict[str, None] = {}
        for rule in rules:
            found |= dict.fromkeys(self._missing(rule, index))
        return tuple(found)

    def _missing(self, rule: int, index: int) -> tuple[str, ...]:
        assembly = self.placed[index]
        opened = self.rules.rules[rule]
        parts = {"valve": assembly.valve, "sensor": assembly.sensor}
        read = (path.split(".") for path in fields_read(opened) if path.startswith(_PARTS))
        key = (rule, *(getattr(parts[record], name) for record, name in read))
        if key not in self.asked:
            assert self.view.member is not None
            view = attrs.evolve(self.view, member=self.view.member._replace(assembly=assembly))
            self.asked[key] = tuple(dict.fromkeys(path for _, path in missing(opened, view)))
        return self.asked[key]

    def _is_too_long(self, index: int) -> bool:
        """Return whether a part whose length with cap is not told fails by its length without.

        A cap never makes a valve shorter; where the rules set a greatest
        length alone, failing it bare is failing it with any cap. The part is
        then shown with that length as its least.
        """
        assembly = self.placed[index]
        valve = assembly.valve
        bare = valve.effective_length or _listed_length(valve.table_code)
        if valve.length_with_cap is not None or bare is None:
            return False
        longer = with_values(assembly, valve=with_values(valve, length_with_cap=bare))
        (codes,) = self.rules.codes(self.job, self.day, [longer])
        failing = [self.rules.rules[at] for at in range(self.rules.group.binding) if codes[at] == _FAIL]
        if not any(least_only(each, _LENGTH) for each in failing):
            return False
        self.placed[index] = longer
        self.codes[index] = codes
        return True

    # --- the choice --------------------------------------------------------------------------

    def choice(self, clear: Mapping[str, int]) -> Choice:
        """Return what fits, ranked; ``clear`` says at how many wheels each part is not excluded."""
        told = self.job.maker_at(self.first.position).valve_table_code
        rank = _rank(self.first, told, self.job.vehicle.monitoring_frequency, clear, self.kinds)

        def by_rank(index: int) -> Any:
            # advice does not exclude, but comes before taste
            against = self.codes[index][self.rules.group.binding :].count(_FAIL)
            return rank(self.items[index], against)

        order = sorted(self.fits, key=by_rank)
        left = sorted(self.undecided, key=by_rank)
        return Choice(
            positions=tuple(each.position for each in self.wheels),
            fits=tuple(self._candidate(index, "fits", ()) for index in order),
            undecided=tuple(self._candidate(index, "undecided", self.undecided[index]) for index in left),
            excluded=self._excluded,
            in_the_way=() if self.fits else self._in_the_way(),
        )

    def _failing(self, index: int) -> tuple[int, ...]:
        codes = self.codes[index][: self.rules.group.binding]
        return tuple(at for at, code in enumerate(codes) if code == _FAIL)

    def _excluded(self) -> tuple[Candidate, ...]:
        return tuple(self._candidate(index, "excluded", self._failing(index)) for index in self.excluded)

    def _candidate(self, index: int, verdict: Verdict, rules: Sequence[int]) -> Candidate:
        return Candidate(
            item=self.items[index],
            verdict=verdict,
            rules=tuple(self.rules.rules[at].rule.id for at in rules),
            assembly=self.placed[index],
            job=self.job,
            book=self.book,
            ask=partial(self.missing, () if verdict == "excluded" else rules, index),
        )

    def _in_the_way(self) -> tuple[str, ...]:
        """Return the rules each of which alone keeps a part off, the most frequent first."""
        failing = [self._failing(index) for index in self.excluded]
        if not failing:
            return ()
        fewest = min(len(each) for each in failing)
        counted = Counter(at for each in failing if len(each) == fewest for at in each)
        return tuple(self.rules.rules[at].rule.id for at, _ in counted.most_common())


def _fitted(assembly: Assembly, items: Sequence[CatalogueItem], day: date) -> list[Mapping[str, Any]]:
    """Return each part as fitted: with what wheel and work decide of it, not the catalogue."""
    fitted = DateSpan(day, day)
    bending = assembly.valve.bending_limited
    out: list[Mapping[str, Any]] = []
    for item in items:
        valve = item.valve
        values = {
            **valve.__dict__,
            "fitted": fitted,
            "cap": valve.cap or "sealing",
            "extension": bool(valve.extension),
            "bending_limited": bending,
        }
        values.pop("_given", None)  # how the list wrote it is not how it was read here
        parts = {"valve": adopted(Valve, values)}
        out.append(parts if item.sensor is None else parts | {"sensor": _mounted(item.sensor)})
    return out


def _mounted(sensor: Sensor) -> Sensor:
    return with_values(sensor, fitted=True)  # type: ignore[no-any-return]


def _listed_length(code: str | None) -> float | None:
    """Return the effective length that the table lists for a valve's number."""
    value = table("tubeless_valves").lookup_map("effective_length_mm").get(code) if code else None
    return value if isinstance(value, float) else None


def _rank(
    old: Assembly,
    told: str | None,
    heard: float | None,
    clear: Mapping[str, int],
    kinds: Mapping[str | None, int],
) -> Any:
    """Return the order of parts.

    First what the maker tells, then what no advice stands against, then the
    part, and the kind, that suits most wheels of the vehicle, as wheels
    change places; then the frequency, kind and length that came off.
    """
    kind, radio = old.valve.kind, old.sensor.frequency if heard is None else heard
    length = old.valve.effective_length or _listed_length(old.valve.table_code)

    def key(of: CatalogueItem, against: int) -> tuple[Any, ...]:
        valve = of.valve
        own = valve.effective_length
        apart = math.inf if own is None else own if length is None else abs(own - length)
        other = of.sensor is not None and radio is not None and not same_frequency(of.sensor.frequency, radio)
        return (
            valve.table_code != told if told else False,
            against,
            -clear.get(of.code, 0),
            -kinds.get(valve.kind, 0),
            other,
            valve.kind != kind,
            apart,
            of.code,
        )

    return key


def nothing_fits(choice: Choice) -> Gap:
    """Say why no part surely fits, and what would decide."""
    if choice.likely is not None:
        likely = choice.likely
        text = f"{likely.item.code} fits if what is to be measured on it turns out well"
        return Gap(text=text, rule=likely.rules[0], positions=choice.positions, missing=likely.missing)
    if choice.undecided:
        text = f"Which valve fits cannot be decided: {len(choice.undecided)} are left"
        missing = tuple(choice.deciding)
        rule = choice.undecided[0].rules[0]
        return Gap(text=text, rule=rule, positions=choice.positions, missing=missing)
    if not choice.in_the_way:
        return Gap(text="The catalogue has no part of the kind of this wheel", positions=choice.positions)
    way = choice.in_the_way[0]
    nearest = min(
        (each for each in choice.excluded if way in each.rules),
        key=lambda each: (len(each.rules), each.item.code),
    )
    finding = next((each for each in nearest.findings() if each.rule == way), None)
    alone = "alone stands" if len(nearest.rules) == 1 else f"and {len(nearest.rules) - 1} more stand"
    text = f"No part of the catalogue fits; {way} {alone} in the way of {nearest.item.code}"
    return Gap(text=text if finding is None else f"{text}: {finding}", rule=way, positions=choice.positions)
