"""The commands that audit a fleet and propose how to read one."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import FrameType
from typing import Any, Literal

import click

from stemlore.cli._audit_page import Told, fleet_code, print_fleet
from stemlore.cli._page import Page
from stemlore.rules import Gravity, rulebooks

__all__ = ["audit_command"]

_FILE = click.Path(exists=True, path_type=Path)


class _Audit(click.Group):
    """A command of its own that has a command below it: a fleet, or ``inspect``."""

    allow_interspersed_args = True

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """Return what it takes; the command below takes no fleet."""
        made = super().get_params(ctx)
        return made if ctx.command is self else [each for each in made if isinstance(each, click.Option)]

    def collect_usage_pieces(self, ctx: click.Context) -> list[str]:
        """Say how it is used with a fleet."""
        return click.Command.collect_usage_pieces(self, ctx)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Leave the words alone where the first names a command."""
        if args and args[0] in self.commands:
            ctx._protected_args, ctx.args = args[:1], args[1:]
            return args
        rest = click.Command.parse_args(self, ctx, args)
        if rest:
            raise click.UsageError(f"Got unexpected extra argument ({' '.join(rest)})", ctx)
        return rest

    def invoke(self, ctx: click.Context) -> Any:
        """Run the one or the other."""
        if not ctx._protected_args:
            return click.Command.invoke(self, ctx)
        name = ctx._protected_args[0]
        with self.commands[name].make_context(name, list(ctx.args), parent=ctx) as below:
            return below.command.invoke(below)


@click.group("audit", cls=_Audit, short_help="Audit a fleet: a table with one row a wheel.")
@click.argument("fleet", type=_FILE)
@click.option("--on", metavar="DAY", help="Day whose law holds, as 2026-11-25. Needed but with --by-row.")
@click.option("--place", metavar="PLACE", help="All three places below at once, such as DE or US-CA.")
@click.option("--registered-in", metavar="PLACE", help="Where the vehicles are registered.")
@click.option("--used-in", metavar="PLACE", help="Where the vehicles are used.")
@click.option("--workshop", metavar="PLACE", help="Where the workshop stands.")
@click.option(
    "--by-row",
    is_flag=True,
    help="Places and day are those of each row's columns; what a row does not tell is as above.",
)
@click.option(
    "--vehicles", metavar="FILE", type=_FILE, help="A second table, one row a vehicle, joined by its id."
)
@click.option("--mapping", metavar="FILE", type=_FILE, help="What columns are, as 'inspect' proposes.")
@click.option(
    "--by", metavar="NAME", multiple=True, help="Sum up by place, age or a column too; may be given again."
)
@click.option("--compare", metavar="DAY", help="Tell too whom the law of another day touches.")
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(file_okay=False, path_type=Path),
    help="Write the tables here, as Parquet.",
)
@click.option("--csv", "as_csv", is_flag=True, help="Write them as CSV.")
@click.option("--everything", is_flag=True, help="Write too what passes and what does not apply.")
@click.option(
    "--report",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write a page to show to this file, HTML.",
)
@click.option(
    "--on-fault",
    type=click.Choice(["stop", "list"]),
    default="stop",
    show_default=True,
    help="What comes of a rule in Python that breaks.",
)
@click.option(
    "--workers",
    type=click.IntRange(1),
    default=1,
    show_default=True,
    metavar="N",
    help="Processes for rules in Python.",
)
def audit_command(
    fleet: Path,
    *,
    by_row: bool,
    vehicles: Path | None,
    mapping: Path | None,
    by: Sequence[str],
    compare: str | None,
    out: Path | None,
    as_csv: bool,
    everything: bool,
    report: Path | None,
    on_fault: Literal["stop", "list"],
    workers: int,
    **placed: str | None,
) -> int:
    """Audit FLEET, a Parquet or CSV file or a folder of them, one row a wheel.

    'stemlore audit inspect FLEET' proposes what the columns of a table are.

    \b
    Exit code:
      0  clean: every vehicle is
      1  something fails that holds a vehicle or must be put right
      2  the fleet or the command is not understood, a rule broke, or results cannot be written
      3  a rule broke that is listed, and nothing fails
      4  not settled: a reading, a place or a pack is missing, and nothing fails
    """
    from stemlore.audit import audit_fleet
    from stemlore.cli._app import _open

    for given, name in ((as_csv, "--csv"), (everything, "--everything")):
        if given and out is None:
            raise click.UsageError(f"{name} says how tables are written: give --out DIR too")
    with _terminable():
        books = rulebooks(**placed) if by_row else _open(**placed)  # type: ignore[arg-type]
        run = audit_fleet(
            fleet, books, vehicles=vehicles, mapping=mapping, on_fault=on_fault, workers=workers
        )
        form: Literal["parquet", "csv"] = "csv" if as_csv else "parquet"
        if out is not None:
            with _bar("judging", run._passes._rows or None) as moved:
                run.write(out, everything=everything, form=form, progress=moved)
        told = _told(run, out, form, by, compare)
        if report is not None:
            _write_report(run, report, by)
        page = Page()
        print_fleet(page, run, told)
        page.write()
    return fleet_code(run, told)


@audit_command.command("inspect", short_help="Propose what the columns of a table are.")
@click.argument("file", type=_FILE)
def inspect_table(file: Path) -> None:
    """Propose a mapping for FILE as TOML, with the columns that could not be mapped and words not read.

    Look through it, then give it to 'stemlore audit' with --mapping.
    """
    from stemlore.audit import inspect_source

    click.echo(
        inspect_source(file).to_toml().encode(), nl=False
    )  # TOML is UTF-8 whatever the terminal speaks


# --- what is told ----------------------------------------------------------------------------------


def _told(run: Any, out: Path | None, form: str, by: Sequence[str], compare: str | None) -> Told:
    """Count what is printed; of tables that were written, from the files."""
    held: Counter[str] = Counter()
    vehicles: Counter[str] = Counter()
    gravities = {f"fail_{each.value}": each.value for each in Gravity}
    with _bar("summing up", None):
        for frame in _batches(run.vehicles, out, "vehicles", form, ["outcome", *gravities]):
            for outcome, count in frame["outcome"].value_counts().iter_rows():
                vehicles[outcome] += count
            for column, gravity in gravities.items():
                held[gravity] += frame.filter(frame[column].cast(int) > 0).height
        quality: Counter[tuple[str | None, str]] = Counter()
        for frame in _batches(run.quality, out, "quality", form, ["column", "kind"]):
            for column, kind, count in (
                frame.group_by("column", "kind", maintain_order=True).len().iter_rows()
            ):
                quality[column or None, kind] += count  # a CSV has no null
        groups = {name: run.summary_by(name) for name in by}
    changes = None if compare is None else _changes(run, compare, out, form)
    tables = sorted(each.stem for each in out.glob(f"*.{form}")) if out is not None else []
    return Told(
        vehicles=vehicles,
        held=held,
        quality=quality,
        groups=groups,
        changes=changes,
        other_day=compare or "",
        written=f"Written to {out}: {', '.join(tables)}." if tables else "",
    )


def _batches(lazy: Any, out: Path | None, name: str, form: str, columns: list[str]) -> Iterator[Any]:
    if out is None:
        return iter(lazy.select(columns).collect_batches())
    from stemlore.audit._sources import open_source

    return open_source(out / f"{name}.{form}").batches(columns)


def _changes(run: Any, day: str, out: Path | None, form: str) -> Counter[tuple[str, str | None, str | None]]:
    """Count whom another day's law touches, and write it beside the other tables."""
    from stemlore.audit._writing import Files

    counts: Counter[tuple[str, str | None, str | None]] = Counter()
    lazy = run.compare(day)
    with ExitStack() as stack:
        stack.enter_context(_bar("comparing", None))
        files = None if out is None else stack.enter_context(Files(out, form, beside=True))
        if files is not None:
            files.describe(compared_with=day)
        for frame in lazy.collect_batches(maintain_order=True):
            if files is not None:
                files.add("compare", frame)
            for *key, count in frame.group_by("rule", "before", "after").len().iter_rows():
                counts[tuple(key)] += count
        if files is not None and not counts:
            files.add("compare", lazy.head(0).collect())
    return counts


def _write_report(run: Any, target: Path, by: Sequence[str]) -> None:
    """Write the page, whole or not at all."""
    from stemlore.pages import audit_report  # needs the extra pages, which the other commands do not

    text = audit_report(run, by=tuple(by) or ("used_in",))
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.write_text(text, "utf-8")
        beside.replace(target)
    except OSError as error:
        raise click.UsageError(f"--report {target} cannot be written: {error.strerror or error}") from error
    finally:
        beside.unlink(missing_ok=True)


# --- long runs ---------------------------------------------------------------------------------------


@contextmanager
def _bar(words: str, rows: int | None) -> Iterator[Callable[[int], None]]:
    """Show on a terminal how far it is; yields what is to be told how many rows are done."""
    if not sys.stderr.isatty():
        yield lambda rows: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

    columns: list[Any] = [TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn()]
    if rows is not None:
        columns += [TextColumn("{task.completed:,.0f} of {task.total:,.0f} rows"), TimeRemainingColumn()]
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(words, total=rows)
        yield lambda done: shown.update(task, completed=done)


@contextmanager
def _terminable() -> Iterator[None]:
    """Have SIGTERM end the work as Ctrl-C does, so that nothing half done is left."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
