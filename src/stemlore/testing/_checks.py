"""What the kit asks of the text of a pack and of its cases; each check yields what is wrong."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from urllib.parse import urlsplit

from stemlore.errors import DayError, RuleError, StemloreError
from stemlore.provenance import Citation, Source
from stemlore.rules import Outcome, Pack, PackFolder, Rule, check
from stemlore.rules.parameters import ParameterHistory
from stemlore.rules.words import in_words
from stemlore.testing._changes import DAY, turns_of
from stemlore.testing._material import Material, parameters_of

__all__ = [
    "cases_hold",
    "change_is_shown",
    "dimensions_fit",
    "fingerprints_agree",
    "limit_is_shown",
    "outcomes_are_shown",
    "rule_is_cited",
    "source_is_complete",
    "values_are_dated",
    "words_are_whole",
]

Problems = Iterator[str]

# hosts that keep copies: a source names the issuer's own page
_COPIES = ("archive.org", "archive.ph", "archive.today", "docplayer", "scribd.com", "pdfcoffee", "vdoc.pub")

# --- sources and values ----------------------------------------------------------------------


def source_is_complete(pack: Pack, source: Source) -> Problems:
    """A source says what it is, who issues it and which state was seen, and something rests on it."""
    for name in ("title", "issuer"):
        if not getattr(source, name).strip():
            yield f"sources.toml [{source.id}]: no {name}; write {name} = ..."
    if not (source.number or source.edition or source.read_on):
        yield (
            f"sources.toml [{source.id}]: neither number nor edition nor the day it was read; "
            "a law changes, so say which state of it was seen"
        )
    if source.url:
        parts = urlsplit(source.url)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            yield f"sources.toml [{source.id}]: {source.url!r} is no web address; leave it out or mend it"
        elif any(copy in parts.hostname for copy in _COPIES):
            yield f"sources.toml [{source.id}]: {parts.hostname} keeps copies; name the issuer's own page"
    cited = {rule.cite.source for rule in pack.rules.values()}
    cited |= {
        value.citation.source.id
        for history in pack.parameters.values()
        for value in history.values
        if value.citation.source is not None
    }
    cited |= {clause.citation.source.id for clause in pack.clauses if clause.citation.source is not None}
    if source.id not in cited:
        yield f"sources.toml [{source.id}]: nothing rests on it; cite it, or take it out"


def _citation_problems(citation: Citation, where: str) -> Problems:
    if citation.source is None and citation.grade.needs_source:
        yield f"{where}: grade {citation.grade} needs a source; write cite = {{ source = ..., at = ... }}"
    elif citation.source is not None and not citation.at:
        yield f'{where}: cites {citation.source.id} without a place in it; write at = "art. 12"'
    elif citation.source is None and not citation.at:
        yield f"{where}: cites nothing at all; say at least where it is common practice: at = ..."


def values_are_dated(pack: Pack, history: ParameterHistory) -> Problems:
    """Every value is cited, and the dates of a parameter have neither gap nor overlap."""
    where = history.where or history.name
    if not history.doc:
        yield f"{where}: does not say what the value is; write doc = ..."
    if history.kind == "number" and history.unit is None:
        yield f"{where}: a number without unit; write unit = ... ('1' for a plain number)"
    for value in history.values:
        yield from _citation_problems(value.citation, f"{where} from {value.starts}")
        if value.starts is None and not history.counts_from:
            yield f"{where}: a value without its first day; write from = ..."
    for before, after in zip(history.values, history.values[1:], strict=False):
        if after.starts is None:
            yield f"{where}: two values have no first day"
        elif before.ends is None or before.ends >= after.starts:
            yield f"{where}: two values hold on {after.starts}; end the first of them the day before"
        elif before.ends < after.starts - DAY and not after.unseen:
            yield f"{where}: no value between {before.ends} and {after.starts}; mark the gap: repealed = true"
    if not any(history.name in parameters_of(rule) for rule in pack.rules.values()):
        yield f"{where}: no rule of the pack uses {history.name}; use it, or take it out"


def rule_is_cited(pack: Pack, rule: Rule) -> Problems:
    """A rule names a place in a source."""
    if rule.cite.source and rule.cite.source not in pack.sources:
        yield f"{rule.where}: no source {rule.cite.source!r} in sources.toml"
        return
    yield from _citation_problems(pack.citation(rule.cite), rule.where)


# --- rules -----------------------------------------------------------------------------------


def dimensions_fit(material: Material, rule: Rule) -> Problems:
    """Kind and dimension of every parameter fit where it is used, on each day on which it changes."""
    days = {
        day for name in parameters_of(rule) if (found := material.parameter(name)) for day in turns_of(found)
    }
    days |= {day for day in (rule.starts, rule.unseen_before, rule.ends) if day is not None}
    days |= {case.on for case in material.cases_of(rule.id)}
    opened = False
    for day in sorted(days | set(material.days)):
        if material.pack.first_day is not None and day < material.pack.first_day:
            continue
        try:
            opened |= rule.id in material.book(material.pack.place, day).rules
        except RuleError as error:
            if f"rule {rule.id}:" in str(error):
                yield f"on {day}: {error}"
                return
        except DayError:
            continue
        except StemloreError as error:
            yield f"on {day} the rulebook cannot be opened: {error}"
            return
    if not opened:
        yield "it is in force on no day on which anything changes; mend its dates, or those of its values"


# what stands in a phrase that could not be written: a parameter's bare name, a class of the tree
_GAPS = re.compile(r"\bNone\b|\bnan\b|[{}]|\b(?:Arithmetic|Aggregate|Compare|Lookup|Step|Span|Settled)\b")


def words_are_whole(material: Material, rule: Rule) -> Problems:
    """The rule, with its values put in, and what its cases find read as sentences without gaps.

    The pages of the docs are made of these phrases. They are not laid out
    here, so that a pack can be tested where Sphinx is not installed.
    """
    phrases = {"title": rule.title}
    for name, tree in (("check", rule.check), ("when", rule.when)):
        if tree is not None:
            bare = {f"[{each}]" for each in parameters_of(rule)}
            text = in_words(tree)
            for each in bare:
                text = text.replace(each, "")
            phrases[name] = text if text.strip() else "the value"
    for case in material.cases_of(rule.id):
        for found in material.findings(case):
            phrases[f"finding on {case.on}, {found.outcome.word}"] = str(found)
    for where, text in phrases.items():
        if not text.strip():
            yield f"{where}: says nothing"
        elif (gap := _GAPS.search(text)) is not None:
            yield f"{where}: {gap.group()!r} stands in {text!r}"


# --- cases -----------------------------------------------------------------------------------


def cases_hold(material: Material, rule: Rule) -> Problems:
    """What the cases expect is what the rulebook of their place and day says."""
    for case in material.cases_of(rule.id):
        yield from (f"{case}: {problem}" for problem in material.differences(case))


def outcomes_are_shown(material: Material, rule: Rule) -> Problems:
    """There is a case of every outcome that the rule can have."""
    wanted = ["pass", "fail", "unknown"] + (["not applicable"] if rule.when is not None else [])
    there = {case.expect for case in material.cases_of(rule.id)}
    for word in wanted:
        if word not in there:
            yield f"no case expects {word!r}; write one in cases.toml"


def limit_is_shown(material: Material, rule: Rule) -> Problems:
    """Where a margin is shown, one case stands exactly at the limit, one just on its other side."""
    found = [
        each
        for case in material.cases_of(rule.id)
        if case.expect in ("pass", "fail")
        for each in material.findings(case)
        if each.margin is not None and each.unit is not None
    ]
    if not found:
        return
    at = [each for each in found if each.margin == 0]
    if not at:
        yield "no case stands exactly at the limit; write one whose reading is the limit itself"
        return
    outcome = Outcome.FAIL if at[0].outcome is Outcome.PASS else Outcome.PASS
    beyond = [each for each in found if each.outcome is outcome and each.margin]
    if not beyond:
        yield f"no case beside the limit is a {outcome.word}; write one a step away from it"
        return
    nearest = min(beyond, key=lambda each: abs(each.margin or 0))
    limit = nearest.limit if isinstance(nearest.limit, (int, float)) else 0.0
    if abs(nearest.margin or 0) > max(0.1, 0.06 * abs(limit)):
        yield (
            f"the nearest {outcome.word} is {abs(nearest.margin or 0):g} {nearest.unit} from the limit; "
            "write a case nearer to it"
        )


def change_is_shown(material: Material, rule: Rule) -> Problems:
    """Each day on which something changes has a case, and so has the day before."""
    cases = material.cases_of(rule.id)
    for field, turn, of in _turns(material, rule):
        dated = {str(case.given.get(field, "")) if field else str(case.on) for case in cases}
        for day in (turn, turn - DAY):
            if str(day) not in dated:
                how = f'"{field}" = "{day}"' if field else f"on = {day}"
                yield f"no case with {how}, though {of} changes on {turn}"


def _turns(material: Material, rule: Rule) -> Iterator[tuple[str, date, str]]:
    for first in (rule.starts, rule.unseen_before):
        if first is not None:
            yield "", first, "the rule"
    if rule.ends is not None:
        yield "", rule.ends + DAY, "the rule"
    for name in sorted(parameters_of(rule)):
        history = material.pack.parameters.get(name)
        for turn in turns_of(history) if history is not None else ():
            assert history is not None
            # a rule that starts later than a value is not there to show the value's day
            if history.counts_from or rule.starts is None or rule.starts <= turn:
                yield history.counts_from, turn, name


def fingerprints_agree(material: Material) -> Problems:
    """The same files, the same rulebook and the same job have the same fingerprint."""
    again = PackFolder(material.folder).load() if material.pack.content else material.pack
    if again.fingerprint != material.pack.fingerprint:
        yield "read again, the pack has another fingerprint; its files changed meanwhile"
    seen = set()
    for case in material.cases:
        if case.rule in seen:
            continue
        seen.add(case.rule)
        try:
            book = material.book(case.place, case.on)
            first, second = check(case.job, book).fingerprint, check(case.job, book).fingerprint
        except StemloreError:  # told where the cases are run
            continue
        if first != second:
            yield f"{case}: checked twice, the report has two fingerprints"
