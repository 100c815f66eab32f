"""What a report of a fleet shows, gathered in few passes and in memory that does not grow with the rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import attrs

from stemlore.audit._books import TIES
from stemlore.audit._groups import _key, _known, grouped, vehicles_of
from stemlore.audit._jobs import jobs_of
from stemlore.audit._judging import OUTCOMES, Tally
from stemlore.audit._margins import Margins
from stemlore.audit._passes import Judged, Part, Passes
from stemlore.audit._polars import pl
from stemlore.audit._tables import _level
from stemlore.audit.columns import LAW_DAY
from stemlore.model import Job, change
from stemlore.rules import Outcome, Report, Rulebook, check

if TYPE_CHECKING:
    from stemlore.audit.run import AuditRun

__all__ = ["Flaw", "Overview", "margins_and_reports", "overview_of"]

_WORST = ("fail_hold", "fail_remedy", "fail_advise", "unknown_hold", "unknown_remedy")


@attrs.frozen
class Flaw:
    """A kind of flaw of a column, how often it occurs, and the first place."""

    kind: str
    column: str | None
    count: int
    row: int | None
    value: str | None
    message: str | None


@attrs.frozen(eq=False)
class Overview:
    """Vehicles, groups and flaws of a fleet.

    Attributes
    ----------
    vehicles : mapping
        How many vehicles there are of each outcome.
    held : int
        Vehicles that do not leave.
    uncovered : int
        Vehicles judged, of which a place has no pack.
    broken : int
        Vehicles on which a rule raised; none of them counts as clean.
    worst : list of dict
        Rows of the table of vehicles, the worst first; only those of which something fails.
    groups : mapping
        By name, by value: outcomes by rule, each in the order of the outcomes.
    vehicles_by : mapping
        By name, by value: how many vehicles of each outcome; no name that differs within a vehicle.
    flaws : list of Flaw
        What is wrong with the table, most frequent first.
    passes : int
        How often the fleet was judged for it.
    """

    vehicles: Mapping[str, int]
    held: int
    uncovered: int
    broken: int
    worst: Sequence[Mapping[str, Any]]
    groups: Mapping[str, Mapping[Any, Mapping[str, Sequence[int]]]]
    vehicles_by: Mapping[str, Mapping[Any, Mapping[str, int]]]
    flaws: Sequence[Flaw]
    passes: int


def overview_of(run: AuditRun, by: Sequence[str] = (), *, worst: int = 20) -> Overview:
    """Gather it: one pass over the fleet, and one more where it is grouped.

    Raises
    ------
    ColumnError
        If the fleet has no column that it is to be grouped by.
    """
    passes = run._passes
    for name in by:
        _known(name, passes)
    whole = [name for name in by if _is_of_vehicle(name, passes)]
    tally = Tally() if "_tally" not in run.__dict__ else None
    counts: Counter[str] = Counter()
    others: Counter[str] = Counter()
    listed: list[pl.DataFrame] = []
    by_name: dict[str, dict[Any, Counter[str]]] = {name: {} for name in whole}
    flaws: dict[tuple[str, str | None], Flaw] = {}
    _add_flaws(flaws, passes.of_table())
    for judged in passes.judged(details=tally is not None):
        if tally is not None:
            judged.count(tally)
        _add_flaws(flaws, judged.wrong)
        vehicles = vehicles_of(judged, passes.books)
        if not vehicles.height:  # a batch of flaws alone
            continue
        counts.update(vehicles["outcome"].to_list())
        others["held"] += int((vehicles["fail_hold"] > 0).sum())
        others["broken"] += int((vehicles["faults"] > 0).sum())
        others["uncovered"] += vehicles.filter(~pl.col("covered"), pl.col("outcome") != "not judged").height
        failing = vehicles.filter(pl.sum_horizontal(_WORST[:3]) > 0)
        listed = [_worst_of([*listed, failing], worst)]
        for name in whole:
            for value, outcome, count in _by_value(name, judged, vehicles, passes):
                by_name[name].setdefault(value, Counter())[outcome] += count
    if tally is not None:
        run.__dict__.setdefault("_tally", tally)
    return Overview(
        vehicles=counts,
        held=others["held"],
        uncovered=others["uncovered"],
        broken=others["broken"],
        worst=[] if not listed else listed[0].to_dicts(),
        groups=_groups(passes, by),
        vehicles_by=by_name,
        flaws=sorted(flaws.values(), key=lambda each: -each.count),
        passes=1 + bool(by),
    )


def _is_of_vehicle(name: str, passes: Passes) -> bool:
    """Tell whether all rows of a vehicle say the same."""
    if name in TIES or name == "age" or name in passes.reader.kept:
        return True
    return _level(name) in ("vehicle", "event")


def _worst_of(frames: Sequence[pl.DataFrame], most: int) -> pl.DataFrame:
    descending = [True] * len(_WORST) + [False]
    return pl.concat(frames).sort([*_WORST, "row"], descending=descending).head(most)


def _by_value(
    name: str, judged: Judged, vehicles: pl.DataFrame, passes: Passes
) -> Sequence[tuple[Any, str, int]]:
    told = vehicles.select("row", "outcome")
    out: list[tuple[Any, str, int]] = []
    for part in judged.parts:
        keys = part.rows.select("row", _key(name, part, passes).alias("value"))
        out += keys.join(told, on="row").group_by("value", "outcome").len().rows()
    return out


def _groups(passes: Passes, by: Sequence[str]) -> dict[str, dict[Any, dict[str, list[int]]]]:
    words = [word.replace(" ", "_") for word in OUTCOMES]
    out: dict[str, dict[Any, dict[str, list[int]]]] = {}
    frames = grouped(passes, [(name, "rule") for name in by]) if by else []
    for name, frame in zip(by, frames, strict=True):
        values: dict[Any, dict[str, list[int]]] = {}
        for value, rule, *counts in frame.select(name, "rule", *words).iter_rows():
            values.setdefault(value, {})[rule] = counts
        out[name] = values
    return out


def _add_flaws(flaws: dict[tuple[str, str | None], Flaw], wrong: pl.DataFrame) -> None:
    if not wrong.height:
        return
    first = [pl.col(name).first() for name in ("row", "value", "message")]
    made = wrong.group_by("kind", "column", maintain_order=True).agg(pl.len(), *first)
    for kind, column, count, row, value, message in made.iter_rows():
        held = flaws.get((kind, column))
        if held is None:
            flaws[kind, column] = Flaw(kind, column, count, row, value, message)
        else:
            flaws[kind, column] = attrs.evolve(held, count=held.count + count)


# --- margins and reports ------------------------------------------------------------------------


def margins_and_reports(
    run: AuditRun, rules: Collection[str], rows: Collection[int] = ()
) -> tuple[dict[str, Margins], dict[int, Report]]:
    """Count the margins of some rules, and check some vehicles as the counter does, in one pass.

    Parameters
    ----------
    run : AuditRun
        The fleet.
    rules : collection of str
        Ids of the rules.
    rows : collection of int
        First row of each of the vehicles.

    Returns
    -------
    tuple
        Margins by rule, of those that have any; reports by first row.
    """
    margins = {name: Margins(name) for name in rules}
    reports: dict[int, Report] = {}
    wanted = (int(Outcome.PASS), int(Outcome.FAIL))
    for judged in run._passes.judged(details=bool(margins)):
        for part in judged.parts:
            own = {name: count for name, count in part.judging.counts(part.judged).items() if name in margins}
            # the others are not asked for: their figures need not be computed
            counts = {name: own.get(name, (0,) * len(OUTCOMES)) for name in part.judging.names}
            found = part.judging.findings(part.judged, counts, wanted, Tally()) if own else None
            for (name, unit), frame in _by_rule(found):
                margins[name].unit = unit
                margins[name].add(frame)
            for row, job, day in _jobs_at(part, rows):
                reports[row] = _checked(job, run._passes.books[part.lot], day or run._passes.day, day is None)
    return {name: each for name, each in margins.items() if each.fails or each.passes}, reports


def _by_rule(found: pl.DataFrame | None) -> Sequence[tuple[tuple[str, str | None], pl.DataFrame]]:
    if found is None or not found.height:
        return ()
    told = found.filter(pl.col("margin").is_not_null()).select("rule", "unit", "outcome", "margin")
    return [((str(name), unit), frame) for (name, unit), frame in told.group_by("rule", "unit")]


def _jobs_at(part: Part, rows: Collection[int]) -> Sequence[tuple[int, Job, date | None]]:
    here = part.rows.filter(pl.col("row").is_in(list(rows)))
    if not here.height:
        return ()
    frame = part.rows
    if "vehicle_id" not in frame.columns:
        frame = frame.with_columns(pl.col("row").alias("vehicle_id"))
        here = here.with_columns(pl.col("row").alias("vehicle_id"))
    frame = frame.filter(pl.col("vehicle_id").is_in(here["vehicle_id"].implode()))
    first = dict(zip(here["vehicle_id"], here["row"], strict=True))
    days = dict(zip(here["vehicle_id"], here[LAW_DAY], strict=True)) if LAW_DAY in here.columns else {}
    return [(first[number], job, days.get(number)) for number, job in jobs_of(frame)]


def _checked(job: Job, book: Rulebook, day: date, is_ours: bool) -> Report:
    """Check a job by a book, ages counted at a day where it tells none."""
    if book.on != day and not is_ours:
        book = book.at(day)
    elif book.on != day and job.event.on is None:
        job = change(job, event=change(job.event, on=day))
    return check(job, book)
