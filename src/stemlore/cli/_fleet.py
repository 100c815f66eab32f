"""The command that writes an invented fleet."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stemlore.cli._page import Page, counted
from stemlore.errors import WriteError

__all__ = ["fleet_command"]


@click.command("fleet", short_help="Write an invented fleet with planted faults.")
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--vehicles", metavar="N", type=click.IntRange(1), default=1000, show_default=True)
@click.option("--place", "places", metavar="PLACE", multiple=True, required=True, help="Can be given again.")
@click.option(
    "--on",
    metavar="DAY",
    required=True,
    type=click.DateTime(["%Y-%m-%d"]),
    help="Day whose law holds, as 2026-11-25.",
)
@click.option("--seed", metavar="S", type=int, default=0, show_default=True, help="The same gives the same.")
@click.option("--faults", metavar="SHARE", type=click.FloatRange(0, 1), default=0.02, show_default=True)
@click.option("--mess", metavar="SHARE", type=click.FloatRange(0, 1), default=0.0, show_default=True)
def fleet_command(
    out: Path, *, vehicles: int, places: tuple[str, ...], on: date, seed: int, faults: float, mess: float
) -> int:
    """Write an invented fleet as OUT, a .parquet or .csv file.

    Beside it stand OUT.planted.csv, with every finding that must come of it, and with --mess
    OUT.mess.csv, with every cell that was spoilt. Nothing of it is of a real vehicle.
    """
    from stemlore.testing.fleet import synthetic_fleet

    if out.suffix not in (".parquet", ".csv"):
        raise click.UsageError(f"'{out.name}' ends with neither .parquet nor .csv.")
    day = date(on.year, on.month, on.day)
    fleet = synthetic_fleet(vehicles, place=places, on=day, seed=seed, faults=faults, mess=mess)
    written = [out]
    try:
        if out.suffix == ".csv":
            fleet.wheels.write_csv(out)
        else:
            fleet.wheels.write_parquet(out)
        for name in ("planted", "mess") if mess else ("planted",):
            written.append(out.with_suffix(f".{name}.csv"))
            getattr(fleet, name).write_csv(written[-1])
    except OSError as error:
        raise WriteError(f"{written[-1]} cannot be written: {error}") from error
    page = Page()
    page.line(f"{counted(vehicles, 'vehicle')}, {counted(fleet.wheels.height, 'wheel')}: {out}")
    rules = fleet.planted["rule"].n_unique()
    page.line(f"{counted(fleet.planted.height, 'finding')} planted of {counted(rules, 'rule')}: {written[1]}")
    if mess:
        page.line(f"{counted(fleet.mess.height, 'cell')} spoilt: {written[2]}")
    if fleet.unplanted.height:
        page.heading("RULES FOR WHICH NO FAULT CAN BE PLANTED")
        for place, rule, why in fleet.unplanted.iter_rows():
            page.line(f"{place} {rule}: {why}", hang=4)
    page.write()
    return 0
