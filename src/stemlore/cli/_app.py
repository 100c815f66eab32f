"""The commands and their options."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal, TypeVar

import click

import stemlore
from stemlore.cli import _formulas as formulas
from stemlore.cli import _lists as lists
from stemlore.cli._audit import audit_command
from stemlore.cli._fleet import fleet_command
from stemlore.cli._pack import pack_commands
from stemlore.cli._page import Page
from stemlore.cli._plan import exit_code as plan_code
from stemlore.cli._plan import print_plan, read_list, write_sheet
from stemlore.cli._report import exit_code, print_report
from stemlore.errors import StemloreError, UnknownPlaceError
from stemlore.interchange import plan_to_json, read_job, report_to_json, schema
from stemlore.model import Job
from stemlore.rules import Rulebook, check, rulebook
from stemlore.units import unit

__all__ = ["run"]

BAD_INPUT, INTERRUPTED, READER_GONE = 2, 130, 141
Command = TypeVar("Command", bound=Callable[..., Any])


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command; every error ends in one message on stderr and an exit code."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")  # a terminal without § must not end in a traceback
    try:
        words = list(sys.argv[1:] if arguments is None else arguments)
        # not commands.main(), which ends the process itself when the reader of the output goes away
        with commands.make_context("stemlore", words) as context:
            code = commands.invoke(context)
        sys.stdout.flush()
    except click.exceptions.Exit as left:
        return left.exit_code
    except click.ClickException as error:
        error.show()
        return BAD_INPUT
    except (click.Abort, KeyboardInterrupt):
        click.echo("stemlore: interrupted", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        # what is still buffered must not raise again when the process ends
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return READER_GONE
    except StemloreError as error:
        click.echo(f"stemlore: {error}", err=True)
        return BAD_INPUT
    return code if isinstance(code, int) else 0


# --- options that several commands share -------------------------------------------------------


def _placed(command: Command) -> Command:
    """Give a command the options for the day and the places."""
    for option in (
        click.option("--workshop", metavar="PLACE", help="Where the workshop stands."),
        click.option("--used-in", metavar="PLACE", help="Where the vehicle is used."),
        click.option("--registered-in", metavar="PLACE", help="Where the vehicle is registered."),
        click.option("--place", metavar="PLACE", help="All three places below at once, such as DE or US-CA."),
        click.option("--on", metavar="DAY", help="Day whose law holds, as 2026-11-25. Always needed."),
    ):
        command = option(command)
    return command


def _open(
    on: str | None, place: str | None, registered_in: str | None, used_in: str | None, workshop: str | None
) -> Rulebook:
    if on is None:
        raise click.UsageError(
            "Missing option '--on': the day whose law holds, as --on 2026-11-25. Nothing reads today's date."
        )
    given = {"--place": place, "--registered-in": registered_in, "--used-in": used_in, "--workshop": workshop}
    for name, text in given.items():
        if text is not None and not text.strip():
            raise UnknownPlaceError(text, advice=f"give {name} a code such as DE or US-CA, or leave it out")
    return rulebook(place, on=on, registered_in=registered_in, used_in=used_in, workshop=workshop)


def _units(text: str) -> tuple[str, ...]:
    wanted = tuple(word.strip() for word in text.split(",") if word.strip())
    for symbol in wanted:
        unit(symbol)
    return wanted


def _job(name: str) -> Job:
    return read_job(sys.stdin.buffer.read() if name == "-" else Path(name))


# --- commands ------------------------------------------------------------------------------------


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(stemlore.__version__, prog_name="stemlore")
def commands() -> None:
    """Check tyres, wheels, valves and sensors of a job, and look up what the checks rest on."""


@commands.command("check", short_help="Check a job: verdict, what to put right, what to measure.")
@click.argument("job")
@_placed
@click.option("--units", metavar="UNITS", default="", help="Units to print in, such as psi,in,mph.")
@click.option("--all", "show_all", is_flag=True, help="List too what passes and what does not apply.")
@click.option(
    "--ahead", type=int, default=0, metavar="DAYS", help="Tell what begins to fail within these days."
)
@click.option("--json", "as_json", is_flag=True, help="Write the report as JSON, in full.")
@click.option("--compact", is_flag=True, help="Write it as compact JSON: rules once, findings as rows.")
def check_job(
    job: str, *, units: str, show_all: bool, ahead: int, as_json: bool, compact: bool, **placed: str | None
) -> int:
    """Check JOB, a JSON document of a job; '-' reads it from standard input.

    A place that is not given is reported, never assumed, and such a report is never clean:
    --place DE gives all three places at once.

    \b
    Exit code:
      0  clean: nothing fails that holds the vehicle or must be put right, and all is settled
      1  something fails that holds the vehicle or must be put right
      2  the job or the command is not understood
      3  a rule broke, and nothing fails
      4  not settled: a reading, a place or a pack is missing, and nothing fails
    """
    wanted = _units(units)
    book = _open(**placed)
    report = check(_job(job), book)
    if compact:
        _write_json(report_to_json(report, form="compact"))
    elif as_json:
        _write_json(report_to_json(report, indent=2, units=wanted))
    else:
        page = Page()
        print_report(page, report, units=wanted, everything=show_all, ahead=ahead)
        page.write()
    return exit_code(report)


@commands.command("plan", short_help="Plan a job: parts, what to renew, values, steps.")
@click.argument("job")
@_placed
@click.option(
    "--catalogue",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="FILE",
    help="The shop's own list of valves and sensors, CSV; our table when left out.",
)
@click.option(
    "--load",
    type=click.Choice(["partial", "full"]),
    default="full",
    show_default=True,
    help="Which of the placard's pressures.",
)
@click.option("--units", metavar="UNITS", default="", help="Units to print in, such as psi,lbf.ft.")
@click.option("--json", "as_json", is_flag=True, help="Write the plan as JSON.")
@click.option(
    "--sheet",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Write the job sheet for print to this file, HTML, as well.",
)
@click.option("--no-figures", is_flag=True, help="Leave the drawings on the back of the sheet out.")
def plan_job(
    job: str,
    *,
    catalogue: Path | None,
    load: Literal["partial", "full"],
    units: str,
    as_json: bool,
    sheet: Path | None,
    no_figures: bool,
    **placed: str | None,
) -> int:
    """Plan JOB, a JSON document of a job; '-' reads it from standard input.

    Parts and values are chosen by the rules that 'stemlore check' judges the finished job by.

    \b
    Exit code:
      0  complete: parts, values and steps are all told
      1  not complete, or something stops the work
      2  the job, the catalogue or the command is not understood
    """
    from stemlore.workplan import Conditions, plan_work  # a check does not load the planning

    wanted = _units(units)
    book = _open(**placed)
    plan = plan_work(_job(job), book, catalogue=read_list(catalogue), conditions=Conditions(load=load))
    if sheet is not None:
        write_sheet(plan, sheet, wanted, figures=not no_figures)
    if as_json:
        _write_json(plan_to_json(plan, indent=2))
    else:
        page = Page()
        print_plan(page, plan, units=wanted)
        page.write()
    return plan_code(plan)


@commands.command("rules", short_help="List the rules in force, or show one.")
@click.argument("rule", required=False)
@_placed
@click.option(
    "--compare", nargs=2, metavar="DAY1 DAY2", help="What the law of the second day adds, ends and changes."
)
@click.option("--until", metavar="DAY", help="What changes from --on up to this day, by day of change.")
def list_rules(
    rule: str | None, *, compare: tuple[str, str] | None, until: str | None, **placed: str | None
) -> None:
    """List the rules in force on a day, or show one RULE with its text, values and sources.

    --compare DAY1 DAY2 and --until DAY show changes of law instead.
    """
    if compare is not None:
        placed["on"] = compare[0]
    book = _open(**placed)
    page = Page()
    if compare is not None or until is not None:
        found = [book.compare(book.at(compare[1]))] if compare is not None else book.coming(str(until))
        lists.print_changes(page, found, book)
    elif rule is None:
        lists.print_rules(page, book)
    else:
        book.rule(rule)
        lists.print_rule(page, book, book.rules[rule])
    page.write()


@commands.command("schema", short_help="Write the JSON Schema of a document.")
@click.argument("document", type=click.Choice(["job", "report", "plan"]))
@click.option("--compact", is_flag=True, help="The compact form of the report.")
def print_schema(document: Literal["job", "report", "plan"], *, compact: bool) -> None:
    """Write the JSON Schema of a DOCUMENT: job, report or plan."""
    import json

    if document != "report" and compact:
        raise click.UsageError(f"a {document} has no compact form; --compact goes with 'report'")
    made = schema(document, form="compact" if compact else "full")
    _write_json(json.dumps(made, indent=2, ensure_ascii=False))


@commands.command("table", short_help="List the tables, or print one.")
@click.argument("name", required=False)
@click.argument("keys", nargs=-1, metavar="[KEY]...")
@click.option("--csv", "as_csv", is_flag=True, help="Write the rows as CSV.")
def print_table(name: str | None, keys: tuple[str, ...], *, as_csv: bool) -> None:
    """List the tables; print one by NAME; or its row for a KEY, with the source."""
    page = Page()
    if name is None:
        if as_csv:
            raise click.UsageError("--csv goes with the name of a table")
        lists.print_tables(page)
    elif as_csv:
        click.echo(lists.csv_text(name, keys).encode(), nl=False)
        return
    else:
        lists.print_table(page, name, keys)
    page.write()


@commands.command("compute", short_help="List the formulas, show one, or compute it.")
@click.argument("name", required=False)
@click.argument("values", nargs=-1, metavar="[KEY=VALUE]...")
@click.option("--in", "wanted", metavar="UNIT", help="Give the result in this unit.")
def compute_formula(name: str | None, values: tuple[str, ...], *, wanted: str | None) -> None:
    """List the formulas; show one by NAME; or compute it from KEY=VALUE with units.

    stemlore compute cold_pressure hot_pressure='2.8 bar' hot_temperature='45 degC' ...
    """
    page = Page()
    if name is None:
        formulas.print_formulas(page)
    elif not values:
        formulas.print_formula(page, name)
    else:
        formulas.print_result(page, name, values, wanted)
    page.write()


@commands.command("packs", short_help="List the packs, and what failed to load.")
@click.option(
    "--grades", is_flag=True, help="Count rules, dated values and clauses of each place by how well sourced."
)
def list_packs(grades: bool) -> None:
    """List the packs that are installed, and entry points that are no usable pack."""
    page = Page()
    if grades:
        lists.print_grades(page)
    else:
        lists.print_packs(page)
    page.write()


commands.add_command(audit_command)
commands.add_command(fleet_command)
commands.add_command(pack_commands)


def _write_json(text: str) -> None:
    click.echo(text.encode())  # JSON is UTF-8 whatever the terminal speaks
