"""The command that audits a fleet."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from stemlore.cli._page import Page, counted
from stemlore.rules import Gravity

__all__ = ["audit_command"]

_MOST = 12


@click.command("audit", short_help="Audit a fleet: a table with one row a wheel.")
@click.argument("fleet", type=click.Path(exists=True, path_type=Path))
@click.option("--on", metavar="DAY", help="Day whose law holds, as 2026-11-25. Always needed.")
@click.option("--place", metavar="PLACE", help="All three places below at once, such as DE or US-CA.")
@click.option("--registered-in", metavar="PLACE", help="Where the vehicles are registered.")
@click.option("--used-in", metavar="PLACE", help="Where the vehicles are used.")
@click.option("--workshop", metavar="PLACE", help="Where the workshop stands.")
@click.option(
    "--mapping", metavar="FILE", type=click.Path(exists=True, path_type=Path), help="What columns are."
)
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), help="Write the tables as Parquet here."
)
@click.option("--everything", is_flag=True, help="Write too what passes and what does not apply.")
@click.option(
    "--inspect", is_flag=True, help="Propose a mapping as TOML instead, with what it could not map."
)
def audit_command(
    fleet: Path,
    *,
    mapping: Path | None,
    out: Path | None,
    everything: bool,
    inspect: bool,
    **placed: str | None,
) -> int:
    """Audit FLEET, a Parquet or CSV file or a folder of them, one row a wheel.

    \b
    Exit code:
      0  clean: nothing fails that holds a vehicle or must be put right, and all is settled
      1  something fails that holds a vehicle or must be put right
      2  the fleet or the command is not understood, or results cannot be written
      4  not settled: a reading, a place or a pack is missing, and nothing fails
    """
    from stemlore.audit import audit_fleet, inspect_source
    from stemlore.cli._app import _open

    if inspect:
        click.echo(inspect_source(fleet).to_toml().encode(), nl=False)
        return 0
    run = audit_fleet(fleet, _open(**placed), mapping=mapping)
    if out is not None:
        run.write(out, everything=everything)
    page = Page()
    code = _print(page, run)
    if out is not None:
        page.line()
        page.line(f"Written to {out}: findings, wide, quality, summary, needs.")
    page.write()
    return code


def _print(page: Page, run: Any) -> int:
    rows = list(run.summary.iter_rows(named=True))
    binding = [row for row in rows if row["gravity"] != Gravity.ADVISE.value]
    fails = sum(row["fail"] for row in binding)
    unknown = sum(row["unknown"] for row in binding)
    settled = not unknown and run.book.coverage.complete and any(row["pass"] for row in rows)
    if fails:
        head = f"{counted(fails, 'finding')} hold a vehicle or must be put right."
    else:
        head = "CLEAN: these rules found nothing that must be put right." if settled else "NOT SETTLED."
    page.line(head, style="bold")
    total = sum(row["subjects"] for row in rows)
    told = ", ".join(f"{sum(row[key] for row in rows)} {key.replace('_', ' ')}" for key in _OUTCOMES)
    page.line(f"{counted(run.rows, 'row')}, {counted(len(rows), 'rule')}, {total} verdicts: {told}.")
    for note in run.notes:
        page.line(f"Note: {note}.", hang=2)
    failing = [row for row in rows if row["fail"]]
    if failing:
        page.heading("WHAT FAILS")
        page.pairs(
            [(f"{row['fail']}", f"{row['title']} [{row['rule']}, {row['gravity']}]") for row in failing],
            indent=2,
        )
    needs = list(run.needs().iter_rows(named=True))[:_MOST]
    if needs:
        page.heading("WHAT IS MISSING (the first of what would settle most)")
        page.pairs([(f"{row['findings']}", f"{row['meaning']} [{row['column']}]") for row in needs], indent=2)
    _quality(page, run)
    return 1 if fails else 0 if settled else 4


_OUTCOMES = ("pass", "fail", "unknown", "not_applicable")


def _quality(page: Page, run: Any) -> None:
    counts: dict[tuple[str, str], int] = {}
    for column, kind in run.quality.select("column", "kind").collect().iter_rows():
        counts[column, kind] = counts.get((column, kind), 0) + 1
    if counts:
        page.heading("DATA QUALITY (these cells count as missing)")
        page.pairs([(f"{count}", f"{kind}: {column}") for (column, kind), count in counts.items()], indent=2)
