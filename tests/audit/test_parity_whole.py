"""Row = column over every pack that ships, as the public calls have it: jobs, frame, fleet, findings.

20,000 wheels each time. A million with STEMLORE_SLOW=1; STEMLORE_WHEELS sets another number.
"""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

import polars as pl
import pytest

from stemlore.audit import audit_fleet, frame_of
from stemlore.audit._numerals import most_of
from stemlore.errors import DayError
from stemlore.model import Assembly, Event, Job, Vehicle, from_stored, specs_of
from stemlore.rules import Finding, Outcome, Rulebook, check, discover, rulebooks
from stemlore.testing.strategies import jobs, sample

AT_ONCE = 20_000
DRAWN = 5
"""Jobs that are drawn for each book, to be put together anew."""
SLOW = os.environ.get("STEMLORE_SLOW") == "1"
WHEELS = int(os.environ.get("STEMLORE_WHEELS", "1000000"))
FIRST = int(os.environ.get("STEMLORE_FIRST_ROUND", "1"))
"""Where the longer profile begins, so that several processes can share it."""
DAYS = [date(2026, 11, 25), date(2024, 2, 29), date(2016, 1, 10), date(2021, 12, 31), date(2026, 7, 1)]
KEYS = ["vehicle_id", "rule", "position"]
SHOWN = [
    "outcome",
    "measured",
    "measured_word",
    "limit",
    "limit_word",
    "margin",
    "unit",
    "gravity",
    "missing",
]
_PARTS = ("tyre", "wheel", "valve", "sensor", "condition", "work")
BOOKS = rulebooks()
PLACES = sorted({each.place for each in discover().packs.values() if each.distribution == "stemlore"})


def _book(place: str, day: date) -> Rulebook:
    return BOOKS.at(registered_in=place, used_in=place, workshop=place, on=day)


def ground(number: int) -> list[tuple[str, date]]:
    """Return every pack's place with a day that it answers for, another day in each round."""
    out = []
    for at, place in enumerate(PLACES):
        turned = DAYS[(number + at) % len(DAYS) :] + DAYS[: (number + at) % len(DAYS)]
        for day in turned:
            try:
                _book(place, day)
            except DayError:
                continue
            out.append((place, day))
            break
    return out


# --- jobs ----------------------------------------------------------------------------------------


def possible(record: Any) -> Any:
    """Return a record without readings below or above what can be, which a table is not believed."""
    kept = {}
    for name, spec in specs_of(type(record)).items():
        value = getattr(record, name)
        if spec.kind == "records" and value and name == "axles":
            value = tuple(possible(each) for each in value)
        below = (
            spec.kind in ("number", "integer")
            and value is not None
            and spec.least is not None
            and -1e308 < value < spec.least
        )
        most = most_of(spec) if spec.kind == "number" else None
        above = value is not None and most is not None and most < value < 1e308
        if value is not None and not below and not above:
            kept[name] = value
    for low in [name for name in specs_of(type(record)) if name.endswith("_torque_min")]:
        high = f"{low[:-4]}_max"
        if (low in kept) != (high in kept):  # the two ends of a torque are given together
            kept.pop(low, None), kept.pop(high, None)
    return from_stored(type(record), kept)


class Shop:
    """Makes jobs of parts that were drawn before: to draw each job anew takes most of the time."""

    def __init__(self, book: Rulebook, seed: int) -> None:
        self.chance = random.Random(seed)
        self.drawn = sample(jobs(messy=True, book=book), DRAWN, seed=seed)
        self.vehicles = [possible(job.vehicle) for job in self.drawn]
        self.events = [possible(job.event) for job in self.drawn]
        self.parts: dict[str, list[Any]] = {name: [] for name in _PARTS}
        for job in self.drawn:
            for each in job.assemblies:
                for name in _PARTS:
                    self.parts[name].append(possible(getattr(each, name)))

    def job(self) -> Job:
        chance = self.chance
        at = chance.randrange(len(self.drawn))
        whole = self.drawn[at]
        alike = chance.random() < 0.5
        kinds = [self._parts() for _ in range(1 if alike else 3)]
        told: list[Assembly] = []
        for each in whole.assemblies:
            parts = chance.choice(kinds)
            if chance.random() < 0.3:
                name = chance.choice(_PARTS)
                parts = {**parts, name: chance.choice(self.parts[name])}
            told.append(Assembly(position=each.position, own=each.own, **parts))
        event: Event = self._fuller(self.events)
        vehicle: Vehicle = self.vehicles[at]
        return Job(
            vehicle=vehicle,
            assemblies=told,
            event=event,
            makers=[possible(each) for each in whole.makers],
            own=whole.own,
        )

    def _parts(self) -> dict[str, Any]:
        return {name: self._fuller(of) for name, of in self.parts.items() if of}

    def _fuller(self, of: Sequence[Any]) -> Any:
        """Return the one of some that tells most, as a rule of many fields else says little but unknown."""
        return max(self.chance.choices(of, k=self.chance.choice((1, 2, 4))), key=_known)


def _known(record: Any) -> int:
    return sum(getattr(record, name) is not None for name in specs_of(type(record)))


# --- two readings ----------------------------------------------------------------------------------


def by_row(made: Sequence[tuple[Job, Rulebook]]) -> pl.DataFrame:
    data: dict[str, list[Any]] = {name: [] for name in (*KEYS, *SHOWN)}
    add = [column.append for column in data.values()]
    for number, (job, book) in enumerate(made):
        report = check(job, book)
        assert not report.faults
        for each in report.findings:
            for put, value in zip(add, (number, each.rule, str(each.subject), *_shown(each)), strict=True):
                put(value)
    words = dict.fromkeys(data, pl.String)
    numbers = dict.fromkeys(("measured", "limit", "margin"), pl.Float64)
    return pl.DataFrame(data, schema={**words, **numbers, "vehicle_id": pl.Int64})


def _shown(each: Finding) -> Iterator[Any]:
    yield each.outcome.word
    for value in (each.measured, each.limit):
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        yield value if number else None
        yield (
            None if number or value is None else str(value).lower() if isinstance(value, bool) else str(value)
        )
    yield each.margin
    yield None if each.unit is None else each.unit.symbol
    yield each.gravity.value
    yield " ".join(sorted(each.missing)) if each.outcome is Outcome.UNKNOWN else None


def by_column(made: Sequence[tuple[Job, Rulebook]], frame: pl.DataFrame) -> pl.DataFrame:
    places = [book.coverage.ties[0].place for _, book in made]
    days = [book.on for _, book in made]
    law = pl.DataFrame({"vehicle_id": range(len(made)), "law_place": places, "law_day": days})
    told = frame.join(law.cast({"vehicle_id": pl.Int64}), on="vehicle_id", how="left", maintain_order="left")
    run = audit_fleet(told, BOOKS)
    faults = run.quality.collect()
    assert set(faults["kind"]) <= {"impossible"}, faults.filter(pl.col("kind") != "impossible")
    # infinity alone is impossible here
    assert all("inf" in value for value in faults["value"]), faults
    found = run.findings.collect()
    return found.select(*KEYS, *SHOWN[:-1], pl.col("missing").list.sort().list.join(" "))


def differences(one: pl.DataFrame, other: pl.DataFrame) -> pl.DataFrame:
    """Return the findings that are not the same to the last bit."""
    one, other = one.sort(KEYS), other.sort(KEYS)
    if one.equals(other):
        return one.clear()
    both = one.join(other, on=KEYS, how="full", suffix=" in columns")
    differ = pl.any_horizontal(pl.col(name).ne_missing(pl.col(f"{name} in columns")) for name in SHOWN)
    return both.filter(differ | pl.col("rule").is_null() | pl.col("rule in columns").is_null())


def held(number: int) -> tuple[int, dict[str, int], int]:
    """Hold a round equal; return its wheels, its outcomes, and how many books judged it."""
    where = ground(number)
    count = max(AT_ONCE // 5 // len(where), 1)
    made: list[tuple[Job, Rulebook]] = []
    for index, (place, day) in enumerate(where):
        book = _book(place, day)
        shop = Shop(book, 1_000 * number + index)
        made += [(shop.job(), book) for _ in range(count)]
    shop = Shop(_book(*where[number % len(where)]), number)
    frame = frame_of([job for job, _ in made])
    while frame.height < AT_ONCE:
        more = [(shop.job(), _book(*where[at % len(where)])) for at in range(50)]
        made += more
        added = frame_of([job for job, _ in more])
        frame = pl.concat([frame, added.with_columns(pl.col("vehicle_id") + len(made) - len(more))])
    rows, columns = by_row(made), by_column(made, frame)
    found = differences(rows, columns)
    assert not found.height, _told(found, made)
    tally = dict(rows["outcome"].value_counts().iter_rows())
    return frame.height, tally, len(where)


def _told(found: pl.DataFrame, made: Sequence[tuple[Job, Rulebook]]) -> str:
    first = found.row(0, named=True)
    number = first["vehicle_id"] if first["vehicle_id"] is not None else first["vehicle_id in columns"]
    rules = found.select(pl.coalesce("rule", "rule in columns")).to_series().value_counts()
    return f"{found.height} differ, by rule {rules.rows()[:9]}; first {first} of {made[number]}"


def test_twenty_thousand_wheels_of_every_pack_are_the_same_in_rows_and_columns() -> None:
    wheels, tally, books = held(0)
    assert wheels >= AT_ONCE
    assert books == len(PLACES)
    total = sum(tally.values())
    # parity proves nothing of what never happens
    assert all(tally[word] > 0.005 * total for word in ("pass", "fail", "unknown", "not applicable")), tally


@pytest.mark.slow
@pytest.mark.skipif(not SLOW, reason="STEMLORE_SLOW=1 runs it")
def test_a_million_wheels_of_every_pack_are_the_same_in_rows_and_columns() -> None:
    wheels, number, total = 0, FIRST, 0
    while wheels < WHEELS:
        some, tally, _ = held(number)
        wheels, total, number = wheels + some, total + sum(tally.values()), number + 1
        print(f"{wheels} wheels, {total} findings held equal", file=sys.stderr, flush=True)
