"""What must be known before work begins, and what to remember at which wheels."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache
from importlib.resources import files
from typing import Any

import attrs

from stemlore.model import Assembly, Job, Position, Valve
from stemlore.provenance import Citation, Grade
from stemlore.rules import Finding, Gravity, Outcome, Rulebook
from stemlore.rules.trial import fields_read, trial
from stemlore.tables import sources
from stemlore.workplan._records import with_values
from stemlore.workplan.plan import MAKERS_FIRST, Notice
from stemlore.workplan.setting import Load, wanted_pressure

__all__ = [
    "LARGE",
    "RunLow",
    "alike",
    "cited_at",
    "is_large",
    "notices",
    "plain",
    "reminders",
    "run_low",
    "texts_at",
]

LARGE = ("M2", "M3", "N2", "N3", "O3", "O4")
"""Categories of vehicles with large wheels."""


def is_large(job: Job) -> bool:
    """Return whether a job is of large wheels, or may be."""
    return job.vehicle.category in (None, *LARGE)


@lru_cache(maxsize=1)
def _texts() -> Mapping[str, Any]:
    return tomllib.loads(files("stemlore.workplan").joinpath("reminders.toml").read_text("utf-8"))


@lru_cache(maxsize=1)
def alike() -> Mapping[str, str]:
    """Return sentences that tell a fitter the same, plain, each with the name of what they tell."""
    told: Mapping[str, Sequence[str]] = _texts()["alike"]
    return {plain(sentence): name for name, sentences in told.items() for sentence in sentences}


def plain(sentence: str) -> str:
    """Return a sentence without its end and its capitals."""
    return sentence.strip(" .;").lower()


def _cited(each: Mapping[str, Any]) -> str:
    """Return the source of a reminder, in brackets; nothing for common practice."""
    if "source" not in each:
        return ""
    return f" ({Citation(sources()[each['source']], each['at'], Grade(each['grade']))})"


# --- what to remember ------------------------------------------------------------------------

_Test = Callable[[Job, Assembly], bool]

_TESTS: Mapping[str, _Test] = {
    "large": lambda job, _: job.vehicle.category in LARGE,
    "twins": lambda _, at: at.position.place in ("inner", "outer"),
    "sensor": lambda _, at: at.sensor.fitted is True,
    "sensor_stays": lambda _, at: bool(
        at.sensor.fitted and at.work.seals_renewed and not at.work.valve_renewed
    ),
    "sensor_unknown": lambda job, at: at.sensor.fitted is None and job.vehicle.monitoring != "none",
    "sensor_nut": lambda _, at: bool(at.sensor.fitted and at.valve.kind == "clamp_in"),
    "nut": lambda _, at: at.valve.kind in ("clamp_in", "truck_clamp_in"),
    "snap_in": lambda _, at: at.valve.kind in ("snap_in", "high_pressure_snap_in"),
    "trucks": lambda _, at: at.valve.kind == "truck_clamp_in",
    "trucks_in_light_metal": lambda _, at: (
        at.valve.kind == "truck_clamp_in" and at.wheel.material in ("aluminium", "magnesium")
    ),
    "aluminium_stem": lambda _, at: at.valve.stem_material == "aluminium" and not at.sensor.fitted,
    "car": lambda job, _: job.vehicle.category in ("M1", "O1", "O2"),
    "commercial": lambda job, _: job.vehicle.category in ("N1", *LARGE),
    "covered": lambda job, at: (
        job.vehicle.category in ("M1", "N1") and at.wheel.material != "aluminium" and at.wheel.cover != "none"
    ),
    "high_pressure_snap_in": lambda _, at: at.valve.kind == "high_pressure_snap_in",
    "rated_snap_in": lambda _, at: at.valve.kind in ("snap_in", "high_pressure_snap_in"),
    "trailer": lambda job, _: (job.vehicle.category or "").startswith("O"),
    "motorcycle": lambda job, at: job.vehicle.category == "L" or at.position.side == "centre",
    "tube": lambda _, at: at.valve.kind == "tube_stem",
    "indirect": lambda job, _: job.vehicle.monitoring == "indirect",
    "direct": lambda job, _: job.vehicle.monitoring == "direct",
    "remote": lambda job, at: job.vehicle.category in LARGE or at.work.restraint not in (None, "none"),
}


def reminders(job: Job, book: Rulebook, day: date) -> Mapping[str, frozenset[Position]]:
    """Return for each condition of the reminders the wheels at which it holds; ``job`` is as planned."""
    found = {
        name: frozenset(each.position for each in job.assemblies if test(job, each))
        for name, test in _TESTS.items()
    }
    rules = trial(book, ("vehicle.design_speed",))
    wheels = [each for each in job.assemblies if not each.position.spare]
    plain = [with_values(each, valve=Valve(kind="snap_in")) for each in wheels]
    codes = rules.codes(job, day, plain)
    speed = tuple(i for i, each in enumerate(rules.rules) if each.rule.gravity is not Gravity.ADVISE)
    found["fast"] = frozenset(
        each.position
        for each, code in zip(wheels, codes, strict=True)
        if any(code[index] == 1 and "valve.kind" in fields_read(rules.rules[index]) for index in speed)
    )
    return found


def texts_at(
    key: str, at: Sequence[Position], found: Mapping[str, frozenset[Position]]
) -> Iterator[tuple[str, str]]:
    """Yield what to remember at a step: 'caution' or 'detail', and the text with its source.

    ``at`` holds the wheels of the step; none means the whole vehicle.
    """
    for each in _texts().get(key, ()):
        wheels = found[each["of"]]
        if wheels and (not at or wheels & frozenset(at)):
            for kind in ("caution", "detail"):
                if kind in each:
                    yield kind, each[kind] + _cited(each)


def cited_at(
    cites: Sequence[Mapping[str, Any]], at: Sequence[Position], found: Mapping[str, frozenset[Position]]
) -> Citation | None:
    """Return the first citation of a step whose condition holds at every wheel of it, if there is one."""
    for each in cites:
        wheels = found[each["of"]] if "of" in each else None
        if wheels is None or (wheels and wheels.issuperset(at)):
            return Citation(sources()[each["source"]], each["at"], Grade(each["grade"]))
    return None


# --- tyres that ran low ----------------------------------------------------------------------


@attrs.frozen
class RunLow:
    """Wheels that came with far too little air, and are not taken apart at this visit.

    Attributes
    ----------
    found : mapping of Position to str
        What was read against what is wanted.
    stopped : frozenset of Position
        Those of large wheels: not filled before they were looked at inside.
    """

    found: Mapping[Position, str]
    stopped: frozenset[Position]


def run_low(before: Job, planned: Job, load: Load) -> RunLow:
    """Return the wheels that came with no more than the share at which a large tyre must not be filled."""
    share = float(_texts()["run_low"]["share"])
    found: dict[Position, str] = {}
    for each in before.assemblies:
        there = planned.at(each.position)
        wanted, _ = wanted_pressure(before, each, load)
        read = each.tyre.pressure
        opened = there is not None and (there.work.tyre_demounted or there.work.tyre_renewed)
        if opened or wanted is None or read is None or read > share * wanted:
            continue
        found[each.position] = f"{read:g} kPa, no more than {share:.0%} of {wanted:g} kPa"
    return RunLow(found, frozenset(found) if is_large(before) else frozenset())


# --- notices ---------------------------------------------------------------------------------


_ROAD = "event.winter_road"


def notices(
    job: Job,
    book: Rulebook,
    holding: Sequence[Finding],
    chosen: Sequence[Finding],
    stopped: Mapping[Position, str],
    low: RunLow,
    findings: Sequence[Finding],
) -> Iterator[Notice]:
    """Yield what must be known before work begins, and what stops it.

    Parameters
    ----------
    job : Job
        As it came.
    book : Rulebook
        The rules in force.
    holding, chosen : sequence of Finding
        Failing findings that keep the vehicle here, and those of them about
        what the plan chooses or sets.
    stopped : mapping
        Wheels that must not be inflated, and the rule that says so.
    low : RunLow
        Wheels that came with far too little air.
    findings : sequence of Finding
        All of the planned job.
    """
    yield Notice(text=MAKERS_FIRST)
    if job.vehicle.category in LARGE:
        yield Notice(text=_texts()["notice"]["large"])
    for each in holding:
        place = each.subject.position
        if each.rule in stopped.values() and (place is None or place in stopped):
            text = f"Do not inflate: {each}"
        elif each not in chosen:
            text = f"The vehicle does not leave like this: {each}"
        else:
            continue
        positions = () if place is None else (place,)
        yield Notice(text=text, stops=True, positions=positions, rule=each.rule)
    for position, told in low.found.items():
        stops = position in low.stopped
        text = _texts()["run_low"]["stop" if stops else "look"]
        source = _cited(_texts()["run_low"]) if stops else ""
        yield Notice(text=f"{position}: {told}. {text}{source}", stops=stops, positions=(position,))
    advised = [each for each in findings if each.outcome is Outcome.FAIL and each.gravity is Gravity.ADVISE]
    for rule in dict.fromkeys(each.rule for each in advised):
        same = [each for each in advised if each.rule == rule]
        wheels = tuple(each.subject.position for each in same if each.subject.position is not None)
        advice = same[0].advice
        lead = "Not met" if advice.startswith("Tell the driver") else "Tell the driver what is not met"
        text = f"{lead}: {same[0].title}. {advice}"
        yield Notice(text=text.strip(), positions=wheels, rule=rule)
    titles = {
        each.title: None
        for each in findings
        if each.outcome is Outcome.UNKNOWN
        and each.gravity is not Gravity.ADVISE
        and _ROAD in fields_read(book.rules[each.rule])
        and set(each.missing) == {_ROAD}
    }
    for title in titles:
        yield Notice(text=f"Depends on the road: {title}. Tell the driver.")
