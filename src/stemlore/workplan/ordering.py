"""The steps of the work, from arrival to hand-over: those that apply, in order, with values and cautions."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from typing import Any

from stemlore.model import Assembly, Job, Position, field_spec
from stemlore.provenance import Citation, Grade
from stemlore.workplan.limits import limits_at
from stemlore.workplan.plan import Choice, Renewal, SetPoint, Step
from stemlore.workplan.reminding import alike, cited_at, is_large, plain, texts_at

__all__ = ["STEP_KEYS", "steps"]


_PRACTICE = Citation(None, "common practice of the trade", Grade.PRACTICE)


@lru_cache(maxsize=1)
def _texts() -> Mapping[str, Mapping[str, Any]]:
    return tomllib.loads(files("stemlore.workplan").joinpath("steps.toml").read_text("utf-8"))


def _keys() -> tuple[str, ...]:
    return tuple(_texts())


STEP_KEYS: tuple[str, ...] = _keys()
"""All steps in the order of the work."""

Test = Callable[[Assembly], Any]


def _has_sensor(of: Assembly) -> bool:
    return bool(of.sensor.fitted)


def _new_stem(of: Assembly) -> bool:
    return bool(of.work.valve_renewed)


def _demounted(of: Assembly) -> bool:
    return bool(of.work.tyre_demounted or of.work.tyre_renewed)


def _opened(of: Assembly) -> bool:
    work = of.work
    return bool(_demounted(of) or work.valve_renewed or work.core_renewed or work.nut_loosened)


def _removed(of: Assembly) -> bool:
    return bool(of.work.wheel_removed) and not of.position.spare


def _nut(of: Assembly) -> bool:
    touched = of.work.nut_loosened or of.work.valve_renewed
    return bool(touched and of.valve.kind in ("clamp_in", "truck_clamp_in"))


def _stem_refitted(of: Assembly) -> bool:
    """Return whether a metal stem comes out for new seals and goes in again; a sensor's is the sensor's."""
    metal = of.valve.kind in ("clamp_in", "truck_clamp_in")
    return bool(_demounted(of) and of.work.seals_renewed and metal and not of.sensor.fitted)


def _seat_bared(of: Assembly) -> bool:
    """Return whether the seat of a valve or sensor lies open for a new seal."""
    return bool(_new_stem(of) or _stem_refitted(of) or (_demounted(of) and of.work.seals_renewed))


_TESTS: Mapping[str, Test] = {
    "remove_wheel": _removed,
    "deflate": _opened,
    "break_beads": _demounted,
    "demount_tyre": _demounted,
    "inspect_tyre": _demounted,
    "inspect_wheel": _demounted,
    "remove_valve": lambda of: _new_stem(of) or _stem_refitted(of),
    "clean_hole": _seat_bared,
    "lubricate_valve": lambda of: (
        _new_stem(of)
        and (
            of.valve.kind in (None, "snap_in", "high_pressure_snap_in")
            or (of.valve.kind == "truck_clamp_in" and of.wheel.material in ("aluminium", "magnesium"))
        )
    ),
    "fit_valve": lambda of: _new_stem(of) or _stem_refitted(of),
    "torque_valve_nut": _nut,
    "fit_sensor": lambda of: _has_sensor(of) and _demounted(of),
    "torque_sensor_screw": lambda of: _has_sensor(of) and of.valve.kind != "clamp_in" and _new_stem(of),
    "lubricate": _demounted,
    "mount_tyre": _demounted,
    "seat_beads": _demounted,
    "fit_core": lambda of: bool(of.work.core_renewed),
    "torque_core": lambda of: bool(of.work.core_renewed),
    "leak_test": _opened,
    "fit_cap": _opened,
    "balance": lambda of: _demounted(of) and not of.position.spare,
    "refit_wheel": _removed,
    "torque_fixings": _removed,
    "check_spare": lambda of: of.position.spare,
}
"""At which wheels a step applies; steps that are not here are of the whole vehicle."""

_VALUES: Mapping[str, tuple[str, ...]] = {
    "torque_valve_nut": ("work.valve_nut_torque", "work.sensor_nut_torque"),
    "torque_sensor_screw": ("work.sensor_screw_torque",),
    "restrain": ("work.restraint_rating",),
    "seat_beads": ("work.seating_pressure",),
    "torque_core": ("work.valve_core_torque",),
    "set_pressure": ("tyre.pressure",),
    "torque_fixings": ("work.wheel_fixing_torque",),
}
_RENEWED_AT: Mapping[str, tuple[str, ...]] = {
    "fit_valve": ("valve", "assembly", "stem", "seal"),
    "fit_sensor": ("sensor", "kit", "grommet", "seal", "washer", "nut", "valve body", "O-ring"),
    "fit_core": ("core",),
}


def steps(
    job: Job,
    wheels: Sequence[Assembly],
    choices: Sequence[Choice],
    renewed: Sequence[Renewal],
    points: Sequence[SetPoint],
    *,
    no_inflation: Mapping[Position, str],
    cautions: Mapping[str, Sequence[str]],
    reminders: Mapping[str, frozenset[Position]],
    packs: Sequence[str],
) -> tuple[Step, ...]:
    """Return the steps that apply.

    Parameters
    ----------
    job : Job
        As planned.
    wheels : sequence of Assembly
        As planned.
    no_inflation : mapping
        Wheels that must not be inflated, and why.
    cautions : mapping
        Cautions of the rules in force by step.
    reminders : mapping
        Wheels at which each condition of the reminders holds.
    packs : sequence of str
        Packs in force where the vehicle is registered.
    """
    out: list[Step] = []
    for key in STEP_KEYS:
        at = _at(key, job, wheels, no_inflation)
        if at is None:
            continue
        text = _texts()[key]
        told = list(texts_at(key, at, reminders))
        own = [text for kind, text in told if kind == "caution"]
        out.append(
            Step(
                key=key,
                title=text["title"],
                reason=text["reason"],
                positions=at,
                values=tuple(each for each in points if each.what in _VALUES.get(key, ())),
                details=(
                    *_details(key, wheels, at, choices, renewed),
                    *(text for kind, text in told if kind == "detail"),
                    *limits_at(key, job, points, packs),
                ),
                cautions=_once((*text["cautions"], *own, *cautions.get(key, ()))),
                citation=cited_at(text.get("cite", ()), at, reminders) or _PRACTICE,
            )
        )
    return tuple(out)


def _at(
    key: str, job: Job, wheels: Sequence[Assembly], no_inflation: Mapping[Position, str]
) -> tuple[Position, ...] | None:
    """Return the wheels that a step is for, () for the whole vehicle, None where it does not apply."""
    test = _TESTS.get(key)
    if key in ("deflate_on_vehicle", "deflate"):
        on = _deflated_on_vehicle(job, wheels)
        if key == "deflate_on_vehicle":
            return on or None
        test = lambda of: _opened(of) and of.position not in on  # noqa: E731
    if key == "restrain":
        large = is_large(job)  # nobody asks for less there, whatever the job says of it
        test = lambda of: _demounted(of) and (large or of.work.restraint not in (None, "none"))  # noqa: E731
    if test is not None:
        at = tuple(each.position for each in wheels if test(each))
        if key in ("mount_tyre", "restrain", "seat_beads", "fit_core", "torque_core", "leak_test", "fit_cap",
                   "balance", "refit_wheel", "torque_fixings", "lubricate"):  # fmt: skip
            at = tuple(position for position in at if position not in no_inflation)
        return at or None
    monitored = job.vehicle.monitoring in ("direct", "indirect")
    if key == "set_pressure":
        return tuple(each.position for each in wheels if each.position not in no_inflation) or None
    if key == "read_monitoring":
        return None if job.vehicle.monitoring == "none" else ()  # not known: it is looked for
    if key == "relearn":
        touched = any(each.work.wheel_removed or _opened(each) for each in wheels)
        return () if monitored and touched else None
    if key == "retorque_advice":
        return () if any(_removed(each) for each in wheels) else None
    return ()


def _deflated_on_vehicle(job: Job, wheels: Sequence[Assembly]) -> tuple[Position, ...]:
    """Return the wheels that are emptied before their fixings are loosened: large ones, and both of twins."""
    leaving = [
        each.position
        for each in wheels
        if _removed(each) and _opened(each) and (is_large(job) or each.position.place in _TWINS)
    ]
    ends = {(each.axle, each.side) for each in leaving if each.place in _TWINS}
    return tuple(
        each.position
        for each in wheels
        if each.position in leaving
        or (each.position.place in _TWINS and (each.position.axle, each.position.side) in ends)
    )


def _once(cautions: Sequence[str]) -> tuple[str, ...]:
    """Return cautions without the sentences that one before them has said already, in these or like words."""
    said: set[str] = set()
    out: list[str] = []
    for each in cautions:
        parts = [part for part in _SENTENCES.split(each) if _told(part) not in said]
        said.update(map(_told, parts))
        if parts:
            text = _joined(parts)
            out.append(text + ("" if text.endswith((".", ")")) else "."))
    return tuple(out)


def _joined(parts: Sequence[str]) -> str:
    """Join sentences; one before which something was left out may begin anew."""
    text = ""
    for part in parts:
        starts = not text or text.endswith(".")
        text += (" " if text else "") + (part[0].upper() + part[1:] if starts else part)
    return text.rstrip(";")


def _told(sentence: str) -> str:
    words = plain(sentence)
    return alike().get(words, words)


_SENTENCES = re.compile(r"(?<=[.;])\s+(?!\()")
_TWINS = ("inner", "outer")


def _details(
    key: str,
    wheels: Sequence[Assembly],
    at: Sequence[Position],
    choices: Sequence[Choice],
    renewed: Sequence[Renewal],
) -> list[str]:
    """Return what a step names beside its values: parts, restraint, direction."""
    out: list[str] = []
    if key in ("fit_valve", "fit_sensor"):
        parts: dict[str, list[Position]] = {}
        for choice in choices:
            taken = None if choice.keep else choice.best or choice.likely
            if taken is None or not set(choice.positions) & set(at):
                continue
            names = ", ".join(field_spec(path).meaning for path in taken.missing)
            first = "" if choice.best else f", once this is measured on it: {names}"
            parts.setdefault(f"{taken.item.code}{first}", []).extend(choice.positions)
        out += [f"{part}: {', '.join(map(str, positions))}" for part, positions in parts.items()]
    words = _RENEWED_AT.get(key, ())
    for each in renewed:
        if any(word.lower() in each.part.lower() for word in words) and set(each.positions) & set(at):
            out.append(f"{each.part}: {each.action} ({each.strength})")
    if key == "deflate_on_vehicle":
        stays = [str(each.position) for each in wheels if each.position in at and not _opened(each)]
        if stays:
            out.append(
                f"only for its twin's sake: {', '.join(stays)}; its core goes back and its pressure is set"
            )
    if key == "restrain":
        for restraint in dict.fromkeys(each.work.restraint for each in wheels if each.position in at):
            word = "cage" if restraint in (None, "none") else str(restraint).replace("_", " ")
            out.append(f"use: {word}")
    if key == "mount_tyre":
        kinds = dict.fromkeys(each.tyre.tread_pattern for each in wheels if each.position in at)
        if "directional" in kinds:
            out.append("the arrow points in the direction of travel")
        if "asymmetric" in kinds:
            out.append("the side marked outside is outside")
    if key == "retorque_advice":
        out.append("after the distance that the vehicle's maker gives, else 50 to 100 km")
    return out
