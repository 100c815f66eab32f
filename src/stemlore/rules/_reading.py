"""Reading the TOML of a pack; everything that is wrong is collected with file, line and key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Iterator, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

from stemlore.errors import Fault, PackError, StemloreError, near_misses
from stemlore.model import FIELDS
from stemlore.provenance import Citation, Grade, Source
from stemlore.rules.nodes import Parameter, walk
from stemlore.rules.parameters import DatedValue, ParameterHistory, Season, Value
from stemlore.rules.rule import Cite, Rule
from stemlore.rules.shapes import condition_from, shape_named
from stemlore.units import DIMENSIONLESS, Unit, convert, measure, unit

__all__ = [
    "PRACTICE",
    "check_rules",
    "line_of",
    "load",
    "read_parameters",
    "read_rules",
    "read_sources",
    "read_toml",
    "unknown_keys",
]

PRACTICE = Grade.PRACTICE


def read_toml(path: Path) -> dict[str, Any]:
    """Read one TOML file; what is wrong becomes a PackError with its line."""
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise PackError(f"pack in {path.parent.name}", [Fault("", "there is no such file", where=path.name)]) from None
    except UnicodeDecodeError as error:
        raise PackError(f"pack in {path.parent.name}", [Fault("", f"is not UTF-8: {error}", where=path.name)]) from error
    except tomllib.TOMLDecodeError as error:
        raise PackError(f"pack in {path.parent.name}", [Fault("", str(error), where=path.name)]) from error


def load(folder: Path, name: str, content: dict[str, str], faults: list[Fault]) -> dict[str, Any]:
    """Read one file of a pack and keep its text for the fingerprint."""
    try:
        found = read_toml(folder / name)
    except PackError as error:
        faults.extend(error.faults)
        return {}
    content[name] = (folder / name).read_text("utf-8")
    return found


def line_of(path: Path, pattern: str, nth: int = 0) -> str:
    """Return ``file:line`` of the nth line that matches; looked for only when something is wrong."""
    try:
        lines = path.read_text("utf-8").splitlines()
    except OSError:
        return path.name
    found = [number for number, text in enumerate(lines, 1) if re.match(pattern, text)]
    return f"{path.name}:{found[nth]}" if nth < len(found) else path.name


def unknown_keys(table: Mapping[str, Any], known: Collection[str], where: str, faults: list[Fault]) -> None:
    """Collect a fault for each key that is not known."""
    for key in table:
        if key not in known:
            near = near_misses(key, known)
            faults.append(Fault(key, "unknown key", f"did you mean {near[0]}?" if near else "", where))


# --- sources ---------------------------------------------------------------------------------

_SOURCE_KEYS = {"title", "issuer", "number", "edition", "url", "read_on", "language", "grade"}


def read_sources(table: Mapping[str, Any], faults: list[Fault]) -> dict[str, Source]:
    """Read ``sources.toml``: one table a source."""
    out: dict[str, Source] = {}
    for key, entry in table.items():
        where = f"sources.toml [{key}]"
        if not isinstance(entry, Mapping):
            faults.append(Fault(key, "is not a table", where=where))
            continue
        unknown_keys(entry, _SOURCE_KEYS, where, faults)
        lacking = [need for need in ("title", "issuer", "grade") if not entry.get(need)]
        faults.extend(Fault(f"{key}.{need}", "must be given", where=where) for need in lacking)
        grade = entry.get("grade")
        if grade is not None and grade not in list(Grade):
            faults.append(Fault(f"{key}.grade", f"{grade!r} is no grade", ", ".join(Grade), where))
        elif not lacking:
            known = {name: value for name, value in entry.items() if name in _SOURCE_KEYS - {"grade"}}
            out[key] = Source(id=key, grade=Grade(grade), **known)
    return out


def _citation(entry: Any, sources: Mapping[str, Source], path: str, where: str, faults: list[Fault]) -> Citation | None:
    cite = read_cite(entry, path, where, faults)
    if cite is None:
        return None
    source = sources.get(cite.source)
    if cite.source and source is None:
        near = near_misses(cite.source, sources)
        faults.append(
            Fault(f"{path}.cite.source", f"no source {cite.source!r}", f"did you mean {near[0]}?" if near else "", where)
        )
        return None
    grade = cite.grade or (source.grade if source else PRACTICE)
    if grade.needs_source and source is None:
        faults.append(Fault(f"{path}.cite", f"grade {grade} needs a source", where=where))
        return None
    return Citation(source, cite.at, grade)


def read_cite(entry: Any, path: str, where: str, faults: list[Fault]) -> Cite | None:
    """Read a ``cite`` table: source, place in it, and a grade where it differs from the source's."""
    if not isinstance(entry, Mapping):
        faults.append(Fault(f"{path}.cite", "every value and rule must be cited", "source, at", where))
        return None
    unknown_keys(entry, {"source", "at", "grade"}, where, faults)
    grade = entry.get("grade")
    if grade is not None and grade not in list(Grade):
        faults.append(Fault(f"{path}.cite.grade", f"{grade!r} is no grade", ", ".join(Grade), where))
        return None
    if not entry.get("source") and grade not in ("practice", "memory"):
        faults.append(Fault(f"{path}.cite", "names no source", "only practice and memory may lack one", where))
        return None
    if entry.get("source") and not entry.get("at"):
        faults.append(Fault(f"{path}.cite.at", "the place in the source is not given", where=where))
        return None
    return Cite(entry.get("source", ""), entry.get("at", ""), Grade(grade) if grade else None)


# --- parameters ------------------------------------------------------------------------------

_PARAMETER_KEYS = {"unit", "doc", "kind", "counts_from", "value", "bound"}
_VALUE_KEYS = {"from", "until", "seen_on", "is", "cite", "repealed"}


def read_parameters(
    pack: str, file: Path, table: Mapping[str, Any], sources: Mapping[str, Source], faults: list[Fault]
) -> Iterator[tuple[str, ParameterHistory]]:
    """Read one file of parameters, one table a parameter."""
    for key, entry in table.items():
        where = f"{file.name} [{key}]"
        before = len(faults)
        made = _parameter(f"{pack}.{file.stem}.{key}", key, entry, sources, where, faults)
        if len(faults) > before:
            spot = line_of(file, rf"\s*\[{re.escape(key)}\]")
            faults[before:] = [Fault(f.path, f.message, f.advice, f"parameters/{spot}") for f in faults[before:]]
        if made is not None:
            yield made.name, made


def _parameter(
    name: str, key: str, entry: Any, sources: Mapping[str, Source], where: str, faults: list[Fault]
) -> ParameterHistory | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault(key, "is not a table", where=where))
        return None
    before = len(faults)
    unknown_keys(entry, _PARAMETER_KEYS, where, faults)
    kind = entry.get("kind", "number")
    if kind not in ("number", "word", "flag", "season"):
        faults.append(Fault(f"{key}.kind", f"{kind!r} is not a kind", "number, word, flag, season", where))
    if not entry.get("doc"):
        faults.append(Fault(f"{key}.doc", "must say what the value is", where=where))
    stored: Unit | None = None
    if kind == "number":
        if "unit" not in entry:
            faults.append(Fault(f"{key}.unit", "a number must have a unit", "'1' for a plain number", where))
        else:
            try:
                stored = unit(entry["unit"])
            except StemloreError as error:
                faults.append(Fault(f"{key}.unit", str(error), where=where))
    counts_from = entry.get("counts_from", "")
    if counts_from and (counts_from not in FIELDS or FIELDS[counts_from].kind != "date"):
        faults.append(Fault(f"{key}.counts_from", f"{counts_from!r} is not a date field", where=where))
    entries = entry.get("value")
    if not isinstance(entries, list) or not entries:
        faults.append(Fault(f"{key}.value", "has no dated value", "[[name.value]] with from, is, cite", where))
    if len(faults) > before:
        return None
    values = []
    for index, dated in enumerate(entries):
        value = _dated(f"{key}.value[{index}]", dated, kind, stored, entry.get("bound"), counts_from, sources, where, faults)
        if value is not None:
            values.append(value)
    if len(faults) > before:
        return None
    values = _ordered(key, values, where, faults)
    return ParameterHistory(
        name=name,
        doc=entry["doc"],
        kind=kind,
        values=tuple(values),
        unit=stored,
        counts_from=counts_from,
        where=where,
    )


def _dated(  # noqa: PLR0913 - one value's whole surroundings
    path: str,
    entry: Any,
    kind: str,
    stored: Unit | None,
    bound: str | None,
    counts_from: str,
    sources: Mapping[str, Source],
    where: str,
    faults: list[Fault],
) -> DatedValue | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault(path, "is not a table", where=where))
        return None
    before = len(faults)
    unknown_keys(entry, _VALUE_KEYS, where, faults)
    starts = entry.get("from")
    unseen = starts == "unseen"
    if unseen:
        starts = entry.get("seen_on")
        if not _is_day(starts):
            faults.append(Fault(f"{path}.seen_on", "a start not seen needs the day it was seen in force", where=where))
    elif starts is None and not counts_from:
        faults.append(Fault(f"{path}.from", "the first day must be given", "a day, or \"unseen\" with seen_on", where))
    elif starts is not None and not _is_day(starts):
        faults.append(Fault(f"{path}.from", f"{starts!r} is not a day", where=where))
    ends = entry.get("until")
    if ends is not None and not _is_day(ends):
        faults.append(Fault(f"{path}.until", f"{ends!r} is not a day", where=where))
    elif ends is not None and _is_day(starts) and ends < starts:
        faults.append(Fault(f"{path}.until", f"{ends} lies before {starts}", where=where))
    citation = _citation(entry.get("cite"), sources, path, where, faults)
    value: Value | None = None
    figures: tuple[str, ...] = ()
    if entry.get("repealed"):
        if "is" in entry:
            faults.append(Fault(path, "is repealed and has a value", where=where))
    elif "is" not in entry:
        faults.append(Fault(f"{path}.is", "has no value", where=where))
    else:
        try:
            value, figures = _value(entry["is"], kind, stored, bound)
        except (StemloreError, ValueError, TypeError) as error:
            faults.append(Fault(f"{path}.is", str(error), where=where))
    if len(faults) > before or citation is None:
        return None
    return DatedValue(value=value, figures=figures, citation=citation, starts=starts, ends=ends, unseen=unseen)


def _is_day(value: Any) -> bool:
    return isinstance(value, date) and not isinstance(value, datetime)


def _value(given: Any, kind: str, stored: Unit | None, bound: str | None) -> tuple[Value, tuple[str, ...]]:
    if kind == "flag":
        if not isinstance(given, bool):
            raise ValueError(f"{given!r} is neither true nor false")
        return given, ()
    if kind == "word":
        if not isinstance(given, str):
            raise ValueError(f"{given!r} is not a word")
        return given, (given,)
    if kind == "season":
        return _season(given), ()
    wanted = stored or DIMENSIONLESS
    listed = given if isinstance(given, list) else [given]
    numbers, figures = [], []
    for figure in listed:
        if isinstance(figure, bool):
            raise ValueError(f"{figure!r} is not a number")
        if isinstance(figure, (int, float)):
            number: float | None = convert(float(figure), wanted, wanted)
            figures.append(f"{figure} {wanted}" if wanted is not DIMENSIONLESS else str(figure))
        else:
            number = measure(figure, wanted)
            figures.append(str(figure))
        if number is None or number - number != 0:
            raise ValueError(f"{figure!r} is not a finite number")
        numbers.append(number)
    if len(set(numbers)) > 1 and bound not in ("most", "least"):
        raise ValueError("several figures need bound = \"most\" (an upper limit) or \"least\" (a lower one)")
    return (min(numbers) if bound == "least" else max(numbers)), tuple(figures)


def _season(given: Any) -> Season:
    if not isinstance(given, Mapping) or set(given) != {"from", "to"}:
        raise ValueError('a season is { from = "11-01", to = "04-15" }')
    days = []
    for end in ("from", "to"):
        match = re.fullmatch(r"(\d\d)-(\d\d)", str(given[end]))
        if match is None:
            raise ValueError(f"{given[end]!r} is not month-day")
        month, day = int(match[1]), int(match[2])
        date(2024, month, day)  # a leap year, so that 02-29 is a day
        days.append((month, day))
    return Season(days[0], days[1])


def _ordered(key: str, values: list[DatedValue], where: str, faults: list[Fault]) -> list[DatedValue]:
    values = sorted(values, key=lambda value: value.starts or date.min)
    closed: list[DatedValue] = []
    for index, value in enumerate(values):
        following = values[index + 1] if index + 1 < len(values) else None
        if following is not None and following.starts is not None:
            day_before = date.fromordinal(following.starts.toordinal() - 1)
            if value.ends is not None and value.ends > day_before:
                faults.append(Fault(f"{key}.value", f"two values hold on {following.starts}", where=where))
            elif value.ends is not None and value.ends < day_before:
                faults.append(
                    Fault(
                        f"{key}.value",
                        f"no value between {value.ends} and {following.starts}",
                        "mark the gap with repealed = true",
                        where,
                    )
                )
            elif value.starts == following.starts:
                faults.append(Fault(f"{key}.value", f"two values start on {value.starts}", where=where))
            elif value.ends is None:
                import attrs

                value = attrs.evolve(value, ends=day_before)
        closed.append(value)
    return closed


# --- rules -----------------------------------------------------------------------------------

_RULE_KEYS = {
    "id", "title", "shape", "field", "limit", "subject", "tie", "basis", "gravity", "cite", "when", "advice",
    "caution", "from", "until", "seen_on", "supersedes", "spare",
}  # fmt: skip


def read_rules(pack: str, file: Path, table: Mapping[str, Any], faults: list[Fault]) -> Iterator[Rule]:
    """Read ``rules.toml``: one ``[[rule]]`` a rule, made from a shape."""
    unknown_keys(table, {"rule"}, file.name, faults)
    for index, entry in enumerate(table.get("rule", ())):
        own: list[Fault] = []
        rule = _rule(pack, entry, own)
        if own:
            spot = line_of(file, r"\s*\[\[rule\]\]", index)
            name = entry.get("id", f"rule[{index}]") if isinstance(entry, Mapping) else f"rule[{index}]"
            faults.extend(Fault(f"{name}.{f.path}" if f.path else name, f.message, f.advice, spot) for f in own)
        if rule is not None:
            yield rule


def _rule(pack: str, entry: Any, faults: list[Fault]) -> Rule | None:
    if not isinstance(entry, Mapping):
        faults.append(Fault("", "is not a table"))
        return None
    unknown_keys(entry, _RULE_KEYS, "", faults)
    needed = ("id", "title", "shape", "field", "tie", "basis", "gravity")
    faults.extend(Fault(need, "must be given") for need in needed if not entry.get(need))
    cite = read_cite(entry.get("cite"), "", "", faults)
    if faults or cite is None:
        return None
    starts = entry.get("from")
    unseen = entry.get("seen_on") if starts == "unseen" else None
    if starts == "unseen" and unseen is None:
        faults.append(Fault("seen_on", "a start not seen needs the day it was seen in force"))
        return None
    superseded = entry.get("supersedes", [])
    try:
        limit = _full_names(pack, entry.get("limit"), entry["shape"])
        check = shape_named(entry["shape"])(entry["field"], limit)
        return Rule(
            id=entry["id"],
            title=entry["title"],
            subject=entry.get("subject", _subject_of(entry["field"])),
            check=check,
            when=condition_from(_full_when(pack, entry.get("when"))),
            tie=entry["tie"],
            basis=entry["basis"],
            gravity=entry["gravity"],
            cite=cite,
            advice=entry.get("advice", ""),
            caution=entry.get("caution", ""),
            starts=None if starts == "unseen" else starts,
            ends=entry.get("until"),
            unseen_before=unseen,
            supersedes=(superseded,) if isinstance(superseded, str) else tuple(superseded),
            spare=bool(entry.get("spare", False)),
            where="rules.toml",
        )
    except (StemloreError, ValueError, TypeError) as error:
        faults.append(Fault("", getattr(error, "message", str(error)), getattr(error, "advice", "")))
        return None


def _subject_of(path: str) -> str:
    level = FIELDS[path].level if path in FIELDS else "position"
    return level if level in ("vehicle", "axle", "position") else "position"


def _full_names(pack: str, limit: Any, shape: Any) -> Any:
    """Put the pack's id before the names of its own parameters."""
    if shape in ("one_of", "forbidden", "required", "same_across"):
        return limit
    if isinstance(limit, str):
        return f"{pack}.{limit}" if limit.count(".") == 1 else limit
    if isinstance(limit, list):
        return [_full_names(pack, each, shape) for each in limit]
    return limit


def _full_when(pack: str, when: Any) -> Any:
    if not isinstance(when, Mapping):
        return when
    prefix = "parameter:"
    return {
        (f"{prefix}{_full_names(pack, key[len(prefix) :], '')}" if key.startswith(prefix) else key): test
        for key, test in when.items()
    }


def check_rules(
    pack: str,
    rules: Mapping[str, Rule],
    parameters: Mapping[str, ParameterHistory],
    sources: Mapping[str, Source],
    faults: list[Fault],
) -> None:
    """Check what a rule names within its own pack."""
    for rule in rules.values():
        if rule.pack != pack:
            faults.append(Fault(rule.id, f"does not begin with {pack!r}", where=rule.where))
        if rule.cite.source and rule.cite.source not in sources:
            near = near_misses(rule.cite.source, sources)
            hint = f"did you mean {near[0]}?" if near else ""
            faults.append(Fault(f"{rule.id}.cite", f"no source {rule.cite.source!r}", hint, rule.where))
        elif not rule.cite.source and (rule.cite.grade or PRACTICE).needs_source:
            faults.append(Fault(f"{rule.id}.cite", f"grade {rule.cite.grade} needs a source", where=rule.where))
        for tree in (rule.check, rule.when):
            for part in walk(tree) if tree is not None else ():
                if isinstance(part, Parameter) and part.name.startswith(f"{pack}.") and part.name not in parameters:
                    near = near_misses(part.name, parameters)
                    hint = f"did you mean {near[0]}?" if near else ""
                    faults.append(Fault(rule.id, f"no parameter {part.name!r}", hint, rule.where))
