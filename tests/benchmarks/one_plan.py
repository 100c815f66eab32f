"""A plan from a catalogue of five hundred valves for four wheels, beside checking the job once.

All ways run in one process in alternating rounds; what they answer is
asserted first. Budgets are told, never enforced. With ``--markdown`` the
table is printed for the docs.
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import attrs  # noqa: E402
from timing import Row, compared, markdown, plain, side_by_side  # noqa: E402

from stemlore import rulebook  # noqa: E402
from stemlore.interchange import read_job  # noqa: E402
from stemlore.model import Job  # noqa: E402
from stemlore.rules import check  # noqa: E402
from stemlore.workplan import CatalogueItem, plan_work, read_catalogue  # noqa: E402

__all__ = ["catalogue", "job_of_four", "planning"]

DAY = date(2026, 11, 25)
JOB = Path(__file__).parents[1] / "workplan" / "worked" / "car_alloy.json"
_KINDS = ("snap_in", "high_pressure_snap_in", "clamp_in")


def catalogue(count: int = 500) -> tuple[CatalogueItem, ...]:
    """Return valves, no two alike, of all kinds, holes, thicknesses, lengths and ratings, with all told."""
    rows = [
        {
            "code": f"part {number}",
            "kind": _KINDS[number % 3],
            "for_hole": ("11.5 mm", "15.9 mm")[number % 2],
            "for_thickness": f"{3 + number % 4} mm",
            "length_with_cap": f"{35 + number % 30} mm",
            "effective_length": f"{28 + number % 30} mm",
            "rated_pressure": f"{230 + number} kPa",
            "rated_speed": f"{180 + 10 * (number % 7)} km/h",
            "stock": str(number % 11),
            "price": f"{1 + number / 100:.2f}",
        }
        for number in range(count)
    ]
    return read_catalogue(rows)


def job_of_four() -> Job:
    """Return a car with four new tyres; its axles have different placards, so two choices are made."""
    return read_job(JOB)


def _fresh(job: Job) -> Job:
    """Return the job as if just read."""
    for name in ("_layout", "_makers_at"):
        job.__dict__.pop(name, None)
    return job


def planning(rounds: int = 21, place: str = "DE") -> list[Row]:
    """Return the rows of one plan, beside checks of the same job by the same rulebook."""
    job, book = job_of_four(), rulebook(place, on=DAY)
    items = catalogue()
    plan = plan_work(job, book, catalogue=items)
    for choice in plan.choices:
        assert len(choice.fits) + len(choice.undecided) + len(choice.excluded) == len(items)
        assert choice.fits
        assert len(choice.excluded) > len(items) / 2
    assert sum(len(choice.positions) for choice in plan.choices) == len(job.assemblies) == 4

    def read_all() -> None:
        for each in check(_fresh(job), book).findings:
            each.measured, each.limit, each.margin  # noqa: B018 - reading them is what is timed

    def excluded() -> None:
        for choice in plan_work(_fresh(job), book, catalogue=items).choices:
            assert choice.excluded

    read = "check, measured, limit and margin of every finding read"
    alone = "check, is_clean asked"
    what = "plan_work, 500 valves, four wheels"
    times = side_by_side(
        {
            alone: lambda: check(_fresh(job), book).is_clean,
            read: read_all,
            what: lambda: plan_work(_fresh(job), book, catalogue=items),
            "the same, every excluded part made an object": excluded,
            "plan_work, our table, four wheels": lambda: plan_work(_fresh(job), book),
        },
        rounds=rounds,
    )
    return [
        Row(f"{alone}, {len(check(job, book).findings)} findings", times[alone]),
        Row(read, times[read]),
        attrs.evolve(compared(what, times, read, most=60), against="check with all read"),
        attrs.evolve(compared(what, times, alone), against="check alone"),
        attrs.evolve(
            compared("the same, every excluded part made an object", times, read),
            against="check with all read",
        ),
        attrs.evolve(
            compared("plan_work, our table, four wheels", times, read), against="check with all read"
        ),
    ]


def main(arguments: list[str]) -> None:
    """Print the table."""
    print((markdown if "--markdown" in arguments else plain)(planning()))


if __name__ == "__main__":
    main(sys.argv[1:])
