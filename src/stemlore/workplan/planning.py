"""Planning a job from the rules that judge it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import attrs

from stemlore.errors import Fault, RecordError
from stemlore.model import Assembly, Job, Position
from stemlore.rules import Finding, Gravity, Outcome, Rulebook, check
from stemlore.rules.trial import fields_read, trial
from stemlore.workplan._records import put, with_values
from stemlore.workplan.catalogue import CatalogueItem, table_catalogue
from stemlore.workplan.choosing import choose_parts, is_candidate, nothing_fits
from stemlore.workplan.intending import (
    finished_event,
    intended_work,
    is_off,
    opened_work,
    stem_stays,
    with_old_stem,
)
from stemlore.workplan.ordering import steps
from stemlore.workplan.plan import Choice, Gap, SetPoint, WorkPlan
from stemlore.workplan.radio import radio_gaps
from stemlore.workplan.reminding import LARGE, notices, reminders, run_low
from stemlore.workplan.renewing import is_battery_due, renewals
from stemlore.workplan.setting import (
    Conditions,
    pressure_points,
    restraint_points,
    seating_points,
    torque_points,
    wanted_pressure,
)

__all__ = ["plan_work"]

_CHOSEN = ("valve.", "sensor.", "work.", "tyre.pressure", "event.relearn", "event.retorque_told")
"""What the plan chooses or sets; all else is found on the vehicle."""
_AGAINST_AIR = ("condition.", "wheel.", "tyre.size", "valve.", "work.restraint", "work.seating_pressure")
"""A failing hold rule that reads one of these stands against inflating."""


def plan_work(
    job: Job,
    book: Rulebook,
    *,
    catalogue: Sequence[CatalogueItem] | None = None,
    conditions: Conditions | None = None,
) -> WorkPlan:
    """Plan a job: which parts, what to renew, how tight, how much air, in which order, and what can hurt.

    Parts and values are chosen by the rules that ``check``
    judges the finished job by, so what the plan recommends is what would
    pass. ``job.event.kind`` says what is done; what is known of the work
    already stays as given. The tyres of the job are those that will be on
    the vehicle when it leaves.

    Parameters
    ----------
    job : Job
        Vehicle, assemblies, visit, makers' instructions.
    book : Rulebook
        The rules in force.
    catalogue : sequence of CatalogueItem, optional
        What may be fitted; the reference table of tubeless valves when left out.
    conditions : Conditions, optional
        Load, temperatures, tool; full load and no correction when left out.

    Returns
    -------
    WorkPlan

    Raises
    ------
    RecordError
        If job or book are none, or the catalogue is empty.

    Notes
    -----
    Makers' instructions, local codes and licensed practice come first.
    """
    if not isinstance(job, Job) or not isinstance(book, Rulebook):
        given = f"{type(job).__name__} and {type(book).__name__}"
        raise RecordError("plan_work", [Fault("", f"needs a job and a rulebook, not {given}")])
    items = table_catalogue() if catalogue is None else tuple(catalogue)
    if not items:
        raise RecordError("plan_work", [Fault("catalogue", "has no parts", "leave it out for our table")])
    chosen = Conditions() if conditions is None else conditions
    day = book.on if job.event.on is None else job.event.on.earliest
    return _Planner(job, book, items, chosen, day).plan()


class _Planner:
    """Carries what is decided from one part of the plan to the next."""

    def __init__(
        self, job: Job, book: Rulebook, items: Sequence[CatalogueItem], conditions: Conditions, day: date
    ) -> None:
        self.job, self.book, self.items, self.conditions, self.day = job, book, items, conditions, day
        self.gaps: list[Gap] = []
        self.points: list[SetPoint] = []
        self.choices: list[Choice] = []
        self.due: set[Position] = set()
        """Wheels whose sensor is renewed while the tyre is off."""

    def plan(self) -> WorkPlan:
        if self.job.event.kind is None:
            self.gaps.append(Gap(text="What is done at this visit is not told", missing=("event.kind",)))
        if not self.job.assemblies:
            self.gaps.append(Gap(text="The job tells of no wheel", missing=("assembly.position",)))
        planned = with_values(
            self.job,
            assemblies=tuple(self._intended(each) for each in self.job.assemblies),
            event=finished_event(self.job),
        )
        planned = put(planned, self._with_parts(planned))
        planned = put(planned, [self._renewed(planned, each) for each in planned.assemblies])
        wheels = planned.assemblies
        torques, gaps = torque_points(planned, self.book, self.day, wheels, self.conditions)
        pressures, more = pressure_points(planned, self.book, self.day, wheels, self.conditions)
        opened = [each for each in wheels if is_off(each.work)]
        seating, none = seating_points(planned, self.book, self.day, opened)
        self.points = [*(self._noted(each) for each in torques), *seating, *pressures]
        self.gaps += [*gaps, *none, *more]
        planned = put(planned, [self._set(each) for each in wheels])
        planned = put(planned, [self._tightened(planned, each) for each in planned.assemblies])
        held = [each for each in planned.assemblies if is_off(each.work)]
        ratings, more = restraint_points(planned, self.book, self.day, held)
        self.points += ratings
        self.gaps += more
        return self._finished(planned)

    def _noted(self, point: SetPoint) -> SetPoint:
        """Return a sensor's torque with the word that it dies with the sensor, where that is renewed."""
        if not point.what.startswith("work.sensor_") or not point.told_by or point.low is None:
            return point
        due = [each for each in point.positions if each in self.due]
        if not due:
            return point
        note = "of the sensor that was there: a new one of another make brings its own"
        return attrs.evolve(point, note="; ".join(filter(None, (point.note, note))))

    # --- parts -------------------------------------------------------------------------------

    def _intended(self, assembly: Assembly) -> Assembly:
        """Return an assembly with the work of the visit, and the pressure that will be set."""
        work = intended_work(self.job.event.kind, assembly)
        if is_off(work):
            if is_battery_due(self.job, assembly, tyre_off=True):
                self.due.add(assembly.position)
            new = assembly.position in self.due and any(item.sensor for item in self.items)
            work = opened_work(assembly, work, with_sensor=new)
        # parts are judged with the pressure that will be set; the air of before is let out
        wanted, _ = wanted_pressure(self.job, assembly, self.conditions.load)
        pressure = wanted if is_off(work) or wanted is not None else assembly.tyre.pressure
        return with_values(assembly, work=work, tyre=with_values(assembly.tyre, pressure=pressure))  # type: ignore[no-any-return]

    def _with_parts(self, planned: Job) -> list[Assembly]:
        """Choose a part for every wheel that gets one, and return the wheels with it."""
        wanted = [
            each
            for each in planned.assemblies
            if not each.position.spare and (each.work.valve_renewed or stem_stays(each))
        ]
        kept = [
            each
            for each in wanted
            if each.sensor.fitted
            and not (each.work.valve_renewed and each.position in self.due and self._has_part(each))
        ]
        tubes = [each for each in wanted if each.valve.kind == "tube_stem" and not self._has_part(each)]
        self._keep(kept, "the valve is the sensor's: renew it with its maker's kit or stem")
        self._keep(tubes, "the valve is part of the tube: renew the tube with the tyre")
        free = [each for each in wanted if each not in kept and each not in tubes]
        out: list[Assembly] = []
        for choice in choose_parts(planned, self.book, self.day, free, self.items):
            there = [each for each in free if each.position in choice.positions]
            out += self._taken(choice, there)
        self._look_for_told()
        return out

    def _has_part(self, assembly: Assembly) -> bool:
        return any(is_candidate(item, assembly) for item in self.items)

    def _taken(self, choice: Choice, wheels: Sequence[Assembly]) -> list[Assembly]:
        """Note a choice with what is open in it, and return its wheels with the part in place."""
        taken = choice.best or choice.likely
        told = any(self._told(each).work.valve_renewed for each in wheels)
        own_stem = wheels[0].valve.kind == "clamp_in" and not wheels[0].sensor.fitted
        if choice.best is None and own_stem and not told:
            why = "no part of the catalogue surely fits: a sound stem stays, with new seals and core"
            self.choices.append(attrs.evolve(choice, keep=why))
            text = "Which valve the wheel's maker names for a stem that is not sound"
            self.gaps.append(Gap(text=text, positions=choice.positions, missing=("maker.valve_table_code",)))
            return [with_values(each, work=with_old_stem(each.work)) for each in wheels]
        self.choices.append(choice)
        if choice.best is None:
            self.gaps.append(nothing_fits(choice))
        if taken is None:
            return []
        new = taken.assembly
        vehicle, packs = self.job.vehicle, self._registered_under()
        self.gaps += radio_gaps(choice.positions, vehicle, wheels[0].sensor, new.sensor, packs)
        return [with_values(each, valve=new.valve, sensor=new.sensor) for each in wheels]

    def _told(self, assembly: Assembly) -> Assembly:
        return self.job.at(assembly.position) or assembly

    def _look_for_told(self) -> None:
        """Note where a maker tells a valve that the catalogue does not have."""
        known = {item.valve.table_code for item in self.items} | {item.code for item in self.items}
        missing: dict[str, list[Position]] = {}
        for choice in self.choices:
            for position in choice.positions:
                told = self.job.maker_at(position).valve_table_code
                if told is not None and told not in known:
                    missing.setdefault(told, []).append(position)
        for told, positions in missing.items():
            text = f"The maker tells valve {told}, which the catalogue does not have"
            self.gaps.append(Gap(text=text, positions=tuple(positions)))

    def _keep(self, wheels: Sequence[Assembly], why: str) -> None:
        if wheels:
            self.choices.append(Choice(positions=tuple(each.position for each in wheels), keep=why))

    def _wants_cap(self, planned: Job, assembly: Assembly) -> bool:
        """Return whether the cap that is there is none, or not the one that the rules want or advise."""
        if assembly.valve.cap in (None, "none"):
            return True
        (codes,) = trial(self.book, ("valve.cap",)).codes(planned, self.day, [assembly])
        return 1 in codes

    def _renewed(self, planned: Job, assembly: Assembly) -> Assembly:
        """Return an assembly with small parts renewed and words chosen that the rules judge."""
        work, valve = assembly.work, assembly.valve
        if work.valve_renewed and valve.kind in ("clamp_in", "truck_clamp_in"):
            work = with_values(work, seals_renewed=True, nut_renewed=True, nut_loosened=True)
        if (is_off(work) or work.core_renewed or work.valve_renewed) and self._wants_cap(planned, assembly):
            valve = with_values(valve, cap="sealing")
        if work.core_renewed and (assembly.sensor.fitted or valve.stem_material == "aluminium"):
            valve = with_values(valve, core_material="nickel_plated")
        return with_values(assembly, work=work, valve=valve)  # type: ignore[no-any-return]

    def _tightened(self, planned: Job, assembly: Assembly) -> Assembly:
        """Return an assembly with the mildest restraint that the rules accept, and a leak test."""
        work = assembly.work
        if not is_off(work):
            return assembly
        work = with_values(work, leak_tested=True)
        if work.restraint is None:
            work = with_values(work, restraint=self._restraint(planned, with_values(assembly, work=work)))
        return with_values(assembly, work=work)  # type: ignore[no-any-return]

    def _restraint(self, planned: Job, assembly: Assembly) -> str:
        rules = trial(self.book, ("work.restraint",))
        options: tuple[str, ...] = ("none", "barrier", "cage")
        if self.job.vehicle.category in (None, *LARGE):  # a cage suits every rim; nobody asks for less
            options = ("cage",)
        trials = [with_values(assembly, work=with_values(assembly.work, restraint=word)) for word in options]
        codes = rules.codes(planned, self.day, trials)
        return next((word for word, each in zip(options, codes, strict=True) if 1 not in each), "cage")

    def _set(self, assembly: Assembly) -> Assembly:
        """Return an assembly with the set-points as readings, as they will be when the plan was followed."""
        work: dict[str, Any] = {}
        off = is_off(assembly.work)
        tyre: dict[str, Any] = {"pressure": None if off else self._told(assembly).tyre.pressure}
        for point in self.points:
            if assembly.position not in point.positions:
                continue
            group, _, name = point.what.partition(".")
            value = point.high if point.what == "work.seating_pressure" else point.target
            if value is None or (group == "work" and getattr(assembly.work, name) is not None):
                continue
            (work if group == "work" else tyre)[name] = value
        return with_values(  # type: ignore[no-any-return]
            assembly,
            work=with_values(assembly.work, **work) if work else assembly.work,
            tyre=with_values(assembly.tyre, **tyre),
        )

    # --- the whole ---------------------------------------------------------------------------

    def _finished(self, planned: Job) -> WorkPlan:
        findings = check(planned, self.book).findings
        failing = [each for each in findings if each.outcome is Outcome.FAIL]
        stopped = dict(self._stops(failing))
        low = run_low(self.job, planned, self.conditions.load)
        stopped |= dict.fromkeys((each for each in low.stopped if each not in stopped), "")
        known = {gap.rule for gap in self.gaps}
        for each in failing:
            if each.gravity is not Gravity.ADVISE and self._is_chosen(each) and each.rule not in known:
                where = (each.subject.position,) if each.subject.position is not None else ()
                self.gaps.append(Gap(text=str(each), rule=each.rule, positions=where))
        points = [_allowed(each, stopped) for each in self.points]
        self.points = [each for each in points if each.positions]
        # nobody fills a tyre that must not be filled
        planned = put(planned, [_unfilled(each) for each in planned.assemblies if each.position in stopped])
        renewed = renewals(planned, self.job, planned.assemblies)
        made = steps(
            planned,
            planned.assemblies,
            self.choices,
            renewed,
            self.points,
            no_inflation=stopped,
            cautions=self._cautions(findings),
            reminders=reminders(planned, self.book, self.day),
            packs=self._registered_under(),
        )
        holding = [each for each in failing if each.gravity is Gravity.HOLD]
        return WorkPlan(
            job=self.job,
            book=self.book,
            planned=planned,
            notices=tuple(
                notices(
                    self.job,
                    self.book,
                    holding,
                    [each for each in holding if self._is_chosen(each)],
                    stopped,
                    low,
                    findings,
                )
            ),
            choices=tuple(self.choices),
            renewals=renewed,
            set_points=tuple(self.points),
            steps=made,
            gaps=tuple(self.gaps),
        )

    def _registered_under(self) -> tuple[str, ...]:
        """Return the packs in force where the vehicle is registered."""
        return next((each.packs for each in self.book.coverage.ties if each.tie == "registered_in"), ())

    def _reads(self, finding: Finding) -> frozenset[str]:
        return fields_read(self.book.rules[finding.rule])

    def _is_chosen(self, finding: Finding) -> bool:
        return any(path.startswith(_CHOSEN) for path in self._reads(finding))

    def _stops(self, failing: Sequence[Finding]) -> Mapping[Position, str]:
        """Return the wheels that must not be inflated, with the rule that says so."""
        out: dict[Position, str] = {}
        for each in failing:
            if each.gravity is not Gravity.HOLD:
                continue
            if not any(path.startswith(_AGAINST_AIR) for path in self._reads(each)):
                continue
            place = each.subject.position
            wheels = [place] if place is not None else [one.position for one in self.job.assemblies]
            for position in wheels:
                out.setdefault(position, each.rule)
        return out

    def _cautions(self, findings: Sequence[Finding]) -> Mapping[str, list[str]]:
        """Return the cautions of the rules that apply, by the step whose value or part they judge."""
        applying = {each.rule for each in findings if each.outcome is not Outcome.NOT_APPLICABLE}
        out: dict[str, list[str]] = {}
        for rule, opened in self.book.rules.items():
            if not opened.rule.caution or rule not in applying:
                continue
            for key, paths in _STEP_OF.items():
                if fields_read(opened) & paths:
                    out.setdefault(key, []).append(opened.rule.caution)
        return out


_STEP_OF: Mapping[str, frozenset[str]] = {
    "seat_beads": frozenset({"work.seating_pressure"}),
    "restrain": frozenset({"work.restraint", "work.restraint_rating"}),
    "torque_core": frozenset({"work.valve_core_torque"}),
    "torque_fixings": frozenset({"work.wheel_fixing_torque"}),
    "torque_valve_nut": frozenset({"work.valve_nut_torque", "work.sensor_nut_torque"}),
    "torque_sensor_screw": frozenset({"work.sensor_screw_torque"}),
    "set_pressure": frozenset({"valve.rated_pressure"}),
}


def _unfilled(assembly: Assembly) -> Assembly:
    work = with_values(assembly.work, seating_pressure=None)
    return with_values(assembly, work=work, tyre=with_values(assembly.tyre, pressure=None))  # type: ignore[no-any-return]


def _allowed(point: SetPoint, stopped: Mapping[Position, str]) -> SetPoint:
    """Return a set-point without the wheels that must not be inflated."""
    if point.what not in ("tyre.pressure", "work.seating_pressure"):
        return point
    return attrs.evolve(point, positions=tuple(each for each in point.positions if each not in stopped))
