"""Pages about what the checks rest on: rules, tables, packs."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Sequence

from stemlore.cli._page import Page, counted
from stemlore.errors import NotInTableError
from stemlore.provenance import Grade
from stemlore.rules import Comparison, Rulebook, UsedParameter, discover, pack
from stemlore.rules._resolve import OpenRule
from stemlore.rules.parameters import DatedValue, ParameterHistory
from stemlore.rules.words import in_words, value_words
from stemlore.tables import Row, Table, table, table_names

__all__ = [
    "csv_text",
    "print_changes",
    "print_grades",
    "print_packs",
    "print_rule",
    "print_rules",
    "print_table",
    "print_tables",
]


# --- rules -----------------------------------------------------------------------------------


def print_changes(page: Page, comparisons: Sequence[Comparison], book: Rulebook) -> None:
    """Print what changes between days: rules added, ended, changed, with values and sources."""
    places = ", ".join(f"{each.tie.words} {each.place or '(not given)'}" for each in book.coverage.ties)
    count = sum(len(each.changes) for each in comparisons)
    page.line(f"{counted(count, 'change')} of law: {places}.", hang=2)
    for each in comparisons:
        if not each.changes:
            page.line(f"Between {each.before} and {each.after} nothing changes.")
            continue
        page.heading(f"from {each.before} to {each.after}")
        for change in each.changes:
            page.line()
            page.line(f"{change.how}: {change.rule}", indent=2, style="bold")
            page.line(change.title, indent=4)
            for word, values in (("was", change.before), ("is", change.after)):
                for used in values:
                    page.line(f"{word}: {used.name} {_used(used)}", indent=4, hang=2)
            if change.condition_before != change.condition_after:
                page.labelled("applied where", change.condition_before, indent=4)
                page.labelled("applies where", change.condition_after, indent=4)


def _used(used: UsedParameter) -> str:
    figures = " / ".join(used.figures) or value_words(used.value, used.unit)
    since = f", from {used.starts}" if used.starts else ""
    ends = f" to {used.ends}" if used.ends else ""
    return f"{figures}{since}{ends}; {used.citation}"


def print_rules(page: Page, book: Rulebook) -> None:
    """Print every rule in force, pack by pack."""
    places = ", ".join(f"{each.tie.words} {each.place or '(not given)'}" for each in book.coverage.ties)
    page.line(f"{counted(len(book.rules), 'rule')} in force on {book.on}: {places}.", hang=2)
    for name, opened in book.packs.items():
        mine = [each for each in book.rules.values() if each.pack.id == name]
        if not mine:
            continue
        page.heading(f"{opened.title} ({name} {opened.version})")
        for each in sorted(mine, key=lambda one: one.rule.id):
            _head(page, each)
            for history in each.parameters:
                _in_force(page, history, book)
            page.labelled("Source", str(each.citation), indent=4)
            page.labelled("Not known on this day", each.reason, indent=4)


def _head(page: Page, each: OpenRule) -> None:
    rule = each.rule
    page.line()
    page.line(rule.id, indent=2, style="bold")
    page.line(rule.title, indent=4)
    page.line(
        f"{rule.gravity} ({rule.gravity.meaning}); {rule.basis}; {rule.tie.words}; each {rule.subject}",
        indent=4,
    )


def _in_force(page: Page, history: ParameterHistory, book: Rulebook) -> None:
    if history.counts_from:
        page.line(f"{history.doc} [{history.name}], by {history.counts_from}:", indent=4, hang=2)
        for value in history.values:
            page.line(_value(value, history), indent=6, hang=2)
        return
    dated = history.on(book.on)
    told = "not known on this day" if dated is None else _value(dated, history)
    page.line(f"{history.doc} [{history.name}]: {told}", indent=4, hang=2)


def _value(dated: DatedValue, history: ParameterHistory) -> str:
    shown = " / ".join(dated.figures) or value_words(dated.value, history.unit)
    if dated.value is None:
        shown = "repealed"
    starts = f"{'seen' if dated.unseen else 'from'} {dated.starts}" if dated.starts else "from the beginning"
    ends = f" to {dated.ends}" if dated.ends else ""
    return f"{shown}, {starts}{ends}; {dated.citation}"


def print_rule(page: Page, book: Rulebook, each: OpenRule) -> None:
    """Print one rule with all its values."""
    rule = each.rule
    _head(page, each)
    page.labelled("Applies where", in_words(rule.when) if rule.when is not None else "", indent=4)
    page.labelled("Asks", "a condition written in Python" if rule.body else in_words(rule.check), indent=4)
    page.labelled("Do", rule.advice, indent=4)
    page.labelled("Caution", rule.caution, indent=4, style="bold")
    page.labelled("Source", str(each.citation), indent=4)
    source = each.citation.source
    if source is not None:
        told = (source.title, source.issuer, source.number, source.edition, source.url)
        page.labelled("Text", ", ".join(part for part in told if part), indent=4)
    page.labelled("In force from", str(rule.starts or ""), indent=4)
    page.labelled("In force to", str(rule.ends or ""), indent=4)
    page.labelled("Not known on this day", each.reason, indent=4)
    page.labelled("Stands in for", ", ".join(rule.supersedes), indent=4)
    page.labelled("Under their condition it gives way to", ", ".join(each.narrowed_by), indent=4)
    page.labelled("Pack", f"{each.pack.id} {each.pack.version}, {each.pack.title}", indent=4)
    for history in each.parameters:
        unit = f", in {history.unit}" if history.unit is not None else ""
        counted_from = f", by {history.counts_from}" if history.counts_from else ""
        page.line(f"Values of {history.name} ({history.doc}{unit}{counted_from}):", indent=4, hang=2)
        for value in history.values:
            page.line(_value(value, history), indent=6, hang=2)


# --- tables ----------------------------------------------------------------------------------


def print_tables(page: Page) -> None:
    """Print the name of every table with what it holds."""
    for name in table_names():
        found = table(name)
        page.line(name, style="bold")
        page.line(
            f"{found.title}. {counted(len(found), 'row')}, found by {', '.join(found.key)}; "
            f"weakest grade: {found.weakest_grade.meaning}.",
            indent=2,
        )


def print_table(page: Page, name: str, keys: Sequence[str]) -> None:
    """Print a table, or its rows for a key: as a grid where it fits, else row by row."""
    found = table(name)
    rows = _rows(found, keys)
    units = {column.name: f" [{column.unit}]" if column.unit else "" for column in found.columns}
    page.line(f"{found.title} ({counted(len(rows), 'row')})", style="bold")
    names = [column.name for column in found.columns if column.name not in ("source", "also", "at", "grade")]
    filled = [each for each in names if any(row[each] is not None for row in rows)]
    heads = [f"{each}{units[each]}" for each in filled]
    cells = [["" if row[each] is None else _cell(row[each]) for each in filled] for row in rows]
    wide = [max(len(line[index]) for line in (heads, *cells)) for index in range(len(filled))]
    if sum(wide) + 2 * len(wide) <= page.width and len(rows) > 1:
        page.line()
        for line in (heads, *cells):
            page.line("  ".join(f"{text:<{width}}" for text, width in zip(line, wide, strict=True)).rstrip())
        page.line()
        for citation in dict.fromkeys(str(row.citation) for row in rows):
            page.labelled("Source", citation)
        return
    for row, line in zip(rows, cells, strict=True):
        page.line()
        for head, text in zip(heads, line, strict=True):
            page.labelled(head, text, indent=2)
        page.labelled("Source", str(row.citation), indent=2)
        page.labelled("Also in", ", ".join(map(str, row.also)), indent=2)


def _cell(value: object) -> str:
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _rows(found: Table, keys: Sequence[str]) -> tuple[Row, ...]:
    """Return the rows whose leading key columns are these."""
    if not keys:
        return found.rows
    if len(keys) > len(found.key):
        raise NotInTableError(found.name, f"{len(keys)} keys", [", ".join(found.key)])
    wanted = [(name, key.strip().lower()) for name, key in zip(found.key, keys, strict=False)]
    rows = [row for row in found.rows if all(str(row[name]).lower() == key for name, key in wanted)]
    if rows:
        return tuple(rows)
    typed = [
        int(key) if key.isdigit() and found.column(name).type == "integer" else key for name, key in wanted
    ]
    found.lookup(*typed)  # raises with what comes nearest
    raise NotInTableError(found.name, ", ".join(keys))


def csv_text(name: str, keys: Sequence[str]) -> str:
    """Return rows of a table as CSV, with source and grade."""
    found = table(name)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    names = [column.name for column in found.columns]
    writer.writerow(names)
    writer.writerows(
        [["" if row[each] is None else row[each] for each in names] for row in _rows(found, keys)]
    )
    return out.getvalue()


# --- packs -----------------------------------------------------------------------------------


def print_grades(page: Page) -> None:
    """Print how many rules and dated values of each place rest on which grade."""
    found = discover()
    rows: list[tuple[str, ...]] = []
    total: dict[str, Counter[Grade]] = {"rules": Counter(), "values": Counter(), "clauses": Counter()}
    for name, each in sorted(found.packs.items(), key=lambda item: item[1].place):
        try:
            opened = pack(name)
        except ImportError as error:
            page.line(f"{name}: BROKEN: {error}", style="bold red", hang=2)
            continue
        for what, count in opened.grades().items():
            total[what] += count
            rows.append((each.place, what, *_counts(count)))
    rows += [("all", what, *_counts(count)) for what, count in total.items()]
    heads = ("place", "of", "all", *(str(grade) for grade in Grade))
    wide = [max(len(line[index]) for line in (heads, *rows)) for index in range(len(heads))]
    for line in (heads, *rows):
        left = "  ".join(f"{text:<{width}}" for text, width in zip(line[:2], wide[:2], strict=True))
        right = "  ".join(f"{text:>{width}}" for text, width in zip(line[2:], wide[2:], strict=True))
        page.line(f"{left}  {right}")
    page.line()
    page.line("Clauses are those that no rule judges; the page of each pack gives the reason.", hang=2)


def _counts(count: Counter[Grade]) -> tuple[str, ...]:
    return (str(count.total()), *(str(count[grade] or "-") for grade in Grade))


def print_packs(page: Page) -> None:
    """Print what is installed, and what cannot be used and why."""
    found = discover()
    page.line(f"{counted(len(found.packs), 'pack')} found, {len(found.failed)} failed.")
    for name, each in sorted(found.packs.items()):
        page.line()
        page.line(name, style="bold")
        page.line(f"place {each.place}; from {each.distribution} {each.version}", indent=2)
        try:
            opened = pack(name)
        except ImportError as error:  # the page lists a broken pack, it does not end with it
            page.line(f"BROKEN: {error}", indent=2, hang=2, style="bold red")
            continue
        parents = ", ".join(parent.id for parent in opened.parents)
        page.line(
            f"{opened.title}, version {opened.version}: {counted(len(opened.rules), 'rule')}, "
            f"{counted(len(opened.parameters), 'parameter')}, {counted(len(opened.sources), 'source')}, "
            f"{counted(len(opened.clauses), 'clause')} not judged"
            f"{f'; rests on {parents}' if parents else ''}",
            indent=2,
            hang=2,
        )
    for failed in found.failed:
        page.line()
        page.line(f"{failed.name}: FAILED", style="bold red")
        page.line(f"from {failed.distribution} {failed.version}: {failed.error}", indent=2, hang=2)
