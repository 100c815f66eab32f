"""Words for rules written by hand over the rows of a vehicle: truth of three values, axles, days."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta
from typing import Any

Row = Mapping[str, Any]
Vehicle = list[dict[str, Any]]
Told = dict[str, str]
Truth = bool | None

PASS, FAIL, UNKNOWN, NOT_APPLICABLE = "pass", "fail", "unknown", "not applicable"


def every(*truths: Truth) -> Truth:
    return False if False in truths else None if None in truths else True


def some(*truths: Truth) -> Truth:
    return True if True in truths else None if None in truths else False


def opposite(truth: Truth) -> Truth:
    return None if truth is None else not truth


def least(value: float | None, limit: float) -> Truth:
    return None if value is None else value >= limit


def most(value: float | None, limit: float) -> Truth:
    return None if value is None else value <= limit


def among(row: Row, *categories: str) -> Truth:
    value = row.get("vehicle_category")
    return None if value is None else value in categories


def is_word(row: Row, column: str, *words: str) -> Truth:
    value = row.get(column)
    return None if value is None else value in words


def told(truth: Truth) -> bool:
    """An exception holds only where somebody looked."""
    return truth is True


def judged(duty: Truth, kept: Truth) -> str:
    if duty is False:
        return NOT_APPLICABLE
    if duty is None or kept is None:
        return UNKNOWN
    return PASS if kept else FAIL


def place_of(row: Row) -> str:
    place = row.get("place")
    end = f" {place}" if place in ("outer", "inner") else ""
    return f"axle {row['axle_number']} {row['side']}{end}"


def each_wheel(vehicle: Vehicle, judge: Callable[[Row], str]) -> Told:
    return {place_of(row): judge(row) for row in vehicle}


def axles_of(vehicle: Vehicle) -> Iterator[tuple[int, Vehicle]]:
    for number in sorted({row["axle_number"] for row in vehicle}):
        yield number, [row for row in vehicle if row["axle_number"] == number]


def axle_whole(rows: Vehicle) -> bool:
    """All wheels of the axle are there: as many as its fitment asks for."""
    wheels = {"centre": 1, "single": 2, "dual": 4}.get(str(rows[0].get("axle_fitment")), 0)
    return wheels == len(rows)


def vehicle_whole(vehicle: Vehicle) -> bool:
    axles = list(axles_of(vehicle))
    return vehicle[0].get("vehicle_axle_count") == len(axles) and all(axle_whole(rows) for _, rows in axles)


def two_tracks(vehicle: Vehicle) -> Truth:
    """Whether any axle has wheels on both sides; of an axle without a row nobody knows."""
    told = [is_word(rows[0], "axle_fitment", "single", "dual") for _, rows in axles_of(vehicle)]
    return some(*told, False if vehicle_whole(vehicle) else None)


def span(row: Row, column: str) -> tuple[date | None, date | None]:
    """First and last day that a date can be: a whole date, or a week's ends."""
    whole = row.get(column)
    return (row.get(f"{column}_earliest") or whole, row.get(f"{column}_latest") or whole)


def since(row: Row, column: str, start: date) -> Truth:
    first, last = span(row, column)
    if first is not None and first >= start:
        return True
    return False if last is not None and last < start else None


def later(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return date(day.year + years, 3, 1)


def in_season(on: date, start: tuple[int, int], end: tuple[int, int]) -> bool:
    """Within a season over the turn of the year, both days included."""
    return (on.month, on.day) >= start or (on.month, on.day) <= end


def easter(year: int) -> date:
    """Easter Sunday of the Gregorian calendar: Gauss's rule with its two exceptions."""
    a, b, c = year % 19, year % 4, year % 7
    k = year // 100
    m = (15 - (13 + 8 * k) // 25 + k - k // 4) % 30
    n = (4 + k - k // 4) % 7
    d = (19 * a + m) % 30
    e = (2 * b + 4 * c + 6 * d + n) % 7
    if e == 6 and (d == 29 or (d == 28 and (11 * m + 11) % 30 < 19)):
        e = -1
    return date(year, 3, 22) + timedelta(days=d + e)
