"""Rules with a Python body, run vehicle by vehicle over a batch of rows."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from concurrent.futures import Executor
from datetime import date
from typing import Any

import attrs

from stemlore.audit._jobs import jobs_of
from stemlore.audit._polars import pl
from stemlore.audit.columns import LAW_DAY
from stemlore.errors import RuleError
from stemlore.model import Job
from stemlore.rules import Outcome
from stemlore.rules._facts import view_of
from stemlore.rules._layout import layout_of

__all__ = ["FAULTS", "Bodies"]

Body = tuple[str, str, bool, Callable[[Any], bool | None]]
"""Id, kind of subject, whether it is about spares, and the body."""
Answer = tuple[Any, str, str, bool | None, str]
"""Number of the vehicle, id of the rule, subject in words, what the body said, what it raised."""
Wanted = Collection[tuple[Any, str, str]]
"""Numbers of vehicles, ids of rules and subjects in words: where a body is to be run."""
FAULTS = {
    "row": pl.Int64,
    "vehicle_id": pl.String,
    "position": pl.String,
    "rule": pl.String,
    "error": pl.String,
}
"""The columns of the table of rules that raised."""


@attrs.frozen
class Bodies:
    """The rules of a book that are written in Python.

    Attributes
    ----------
    rules : sequence of Body
        What to run.
    day : date
        The day that ages count at where a vehicle tells none.
    stop : bool
        Whether one that raises stops the audit; else it is listed and gives no outcome.
    pool : Executor or None
        Other processes to run them in; a body must then be a function of a module.
    """

    rules: Sequence[Body]
    day: date
    stop: bool = True
    pool: Executor | None = None

    def add(self, judged: pl.DataFrame, batch: pl.DataFrame, words: Callable[[str], pl.Expr]) -> Any:
        """Return the outcomes with those of bodies put in, and a table of those that raised.

        Parameters
        ----------
        judged : DataFrame
            Outcomes; a pass of such a rule says that its condition holds.
        batch : DataFrame
            The rows as they were read.
        words : callable
            Gives the subjects of a kind in words.
        """
        asked: dict[str, list[tuple[int, Any, str]]] = {}
        for name, kind, *_ in self.rules:
            rows = judged.select(
                pl.int_range(pl.len()).alias("at"), "vehicle_id", name, words(kind).alias("p")
            )
            chosen = rows.filter(pl.col(name) == int(Outcome.PASS))
            asked[name] = list(zip(chosen["at"], chosen["vehicle_id"], chosen["p"], strict=True))
        wanted = {(number, name, place) for name, rows in asked.items() for _, number, place in rows}
        said = {each[:3]: each[3:] for each in self._answers(batch, wanted)} if wanted else {}
        faults: list[tuple[Any, ...]] = []
        for name, places in asked.items():
            codes = judged[name].to_list()
            for index, number, place in places:
                held, raised = said.get((number, name, place), (None, ""))
                codes[index] = int(
                    Outcome.UNKNOWN if held is None else Outcome.PASS if held else Outcome.FAIL
                )
                if raised:
                    codes[index] = None
                    faults.append((judged["row"][index], str(judged["vehicle"][index]), place, name, raised))
            judged = judged.with_columns(pl.Series(name, codes, dtype=pl.Int8))
        if faults and self.stop:
            row, vehicle, place, rule, raised = faults[0]
            raise RuleError(
                f"{rule} raised on {place} of vehicle {vehicle}, row {row}: {raised}",
                advice="mend the rule, or list what raises: on_fault='list'",
            )
        return judged, pl.DataFrame(faults, schema=FAULTS, orient="row")

    def _answers(self, batch: pl.DataFrame, wanted: Wanted) -> Iterator[Answer]:
        rows = batch.filter(pl.col("vehicle_id").is_in({number for number, *_ in wanted}))
        days = dict(zip(rows["vehicle_id"], rows[LAW_DAY], strict=True)) if LAW_DAY in rows.columns else {}
        jobs = [(number, job, days.get(number) or self.day) for number, job in jobs_of(rows)]
        if self.pool is None or len(jobs) < _FEW:
            yield from _run(self.rules, jobs, wanted)
            return
        parts = [jobs[at : at + _FEW] for at in range(0, len(jobs), _FEW)]
        numbers = [{number for number, *_ in part} for part in parts]
        few = [{each for each in wanted if each[0] in some} for some in numbers]
        for answers in self.pool.map(_run, [self.rules] * len(parts), parts, few):
            yield from answers


_FEW = 500
_CODES = {True: int(Outcome.PASS), False: int(Outcome.FAIL), None: int(Outcome.UNKNOWN)}


def _run(rules: Sequence[Body], jobs: Sequence[tuple[Any, Job, date]], wanted: Wanted) -> list[Answer]:
    """Run the bodies on some jobs; also in another process."""
    out: list[Answer] = []
    for number, job, day in jobs:
        visit = job.event.on
        today = day if visit is None else visit.earliest
        layout = layout_of(job)
        for name, kind, spare, body in rules:
            subjects = [*layout.subjects(kind), *(layout.spares if spare and kind == "position" else ())]
            for at in subjects:
                if (number, name, str(at.subject)) not in wanted:
                    continue
                held, raised = None, ""
                try:
                    held = body(view_of(job, today, at))
                    if held not in (True, False, None):
                        raise TypeError(f"gave {held!r}, not True, False or None")
                except Exception as error:
                    raised = f"{type(error).__name__}: {error}"
                out.append((number, name, str(at.subject), held, raised))
    return out
