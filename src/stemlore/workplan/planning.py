"""Planning a job from the rules that judge it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from stemlore.errors import Fault, RecordError
from stemlore.model import Assembly, Event, Job, Position, Work
from stemlore.rules import Finding, Gravity, Outcome, Rulebook, check
from stemlore.rules.trial import fields_read, trial
from stemlore.workplan._records import put, with_values
from stemlore.workplan.catalogue import CatalogueItem, table_catalogue
from stemlore.workplan.choosing import choose_parts
from stemlore.workplan.ordering import steps
from stemlore.workplan.plan import MAKERS_FIRST, Choice, Gap, Notice, SetPoint, WorkPlan
from stemlore.workplan.renewing import renewals
from stemlore.workplan.setting import Conditions, pressure_points, seating_points, torque_points

__all__ = ["plan_work"]

_CHOSEN = ("valve.", "sensor.", "work.", "tyre.pressure", "event.relearn", "event.retorque_told")
"""What the plan chooses or sets; all else is found on the vehicle."""
_AGAINST_AIR = ("condition.", "wheel.", "tyre.size", "valve.", "work.restraint", "work.seating_pressure")
"""A failing hold rule that reads one of these stands against inflating."""
_LARGE = ("M2", "M3", "N2", "N3", "O3", "O4")


def plan_work(
    job: Job,
    book: Rulebook,
    *,
    catalogue: Sequence[CatalogueItem] | None = None,
    conditions: Conditions | None = None,
) -> WorkPlan:
    """Plan a job: which parts, what to renew, how tight, how much air, in which order, and what can hurt.

    Parts and values are chosen by the rules that :func:`stemlore.check`
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

    def plan(self) -> WorkPlan:
        if self.job.event.kind is None:
            self.gaps.append(Gap(text="What is done at this visit is not told", missing=("event.kind",)))
        if not self.job.assemblies:
            self.gaps.append(Gap(text="The job tells of no wheel", missing=("assembly.position",)))
        planned = with_values(
            self.job,
            assemblies=tuple(self._intended(each) for each in self.job.assemblies),
            event=self._event(),
        )
        planned = put(planned, self._with_parts(planned))
        planned = put(planned, [self._renewed(each) for each in planned.assemblies])
        planned = put(planned, [self._tightened(planned, each) for each in planned.assemblies])
        wheels = planned.assemblies
        torques, gaps = torque_points(planned, self.book, self.day, wheels, self.conditions)
        pressures, more = pressure_points(planned, self.book, self.day, wheels, self.conditions)
        opened = [each for each in wheels if each.work.tyre_demounted]
        self.points = [*torques, *seating_points(planned, self.book, self.day, opened), *pressures]
        self.gaps += [*gaps, *more]
        planned = put(planned, [self._set(each) for each in wheels])
        return self._finished(planned)

    # --- what is done ------------------------------------------------------------------------

    def _event(self) -> Event:
        """Return the visit as it will have been."""
        event = self.job.event
        monitored = self.job.vehicle.monitoring in ("direct", "indirect")
        changed = event.kind in ("tyre_change", "seasonal_change", "repair")
        values: dict[str, Any] = {}
        if event.relearn is None and changed:
            values["relearn"] = "done" if monitored else "not_needed"
        if event.retorque_told is None and changed:
            values["retorque_told"] = True
        return with_values(event, **values)  # type: ignore[no-any-return]

    def _intended(self, assembly: Assembly) -> Assembly:
        """Return an assembly with the work that the kind of visit means, where the job does not say."""
        kind, work = self.job.event.kind, assembly.work
        spare = assembly.position.spare
        opened = kind in ("tyre_change", "repair") and not spare
        removed = kind in ("tyre_change", "seasonal_change", "repair") and not spare
        wanted = {
            "tyre_renewed": kind == "tyre_change" and not spare if kind else None,
            "wheel_removed": removed if kind else None,
            "tyre_demounted": opened if kind else None,
        }
        told = {name: value for name, value in wanted.items() if getattr(work, name) is None}
        work = with_values(work, **told)
        if work.tyre_demounted or work.tyre_renewed:
            work = _opened(assembly, work)
            # the air of before is let out; what will be in the tyre is the plan's to say
            return with_values(assembly, work=work, tyre=with_values(assembly.tyre, pressure=None))  # type: ignore[no-any-return]
        return with_values(assembly, work=work)  # type: ignore[no-any-return]

    def _with_parts(self, planned: Job) -> list[Assembly]:
        """Choose a valve for every wheel that gets one, and return the wheels with it."""
        wanted = [each for each in planned.assemblies if each.work.valve_renewed and not each.position.spare]
        tubes = [each for each in wanted if each.valve.kind == "tube_stem"]
        sensors = [
            each for each in wanted
            if each.sensor.fitted and each not in tubes and not any(item.sensor for item in self.items)
        ]  # fmt: skip
        self._keep(tubes, "the valve is part of the tube: renew the tube with the tyre")
        self._keep(sensors, "the valve is the sensor's: renew it with its maker's kit or stem")
        free = [each for each in wanted if each not in tubes and each not in sensors]
        self.choices += choose_parts(planned, self.book, self.day, free, self.items)
        out: list[Assembly] = []
        for choice in self.choices:
            if choice.keep:
                continue
            taken = choice.best or choice.likely
            if choice.best is None:
                self.gaps.append(_nothing_fits(choice))
            if taken is None:
                continue
            new = taken.assembly
            values = {"valve": new.valve, "sensor": new.sensor}
            out += [with_values(each, **values) for each in free if each.position in choice.positions]
        return out

    def _keep(self, wheels: Sequence[Assembly], why: str) -> None:
        if wheels:
            self.choices.append(Choice(positions=tuple(each.position for each in wheels), keep=why))

    def _renewed(self, assembly: Assembly) -> Assembly:
        """Return an assembly with small parts renewed and words chosen that the rules judge."""
        work, valve = assembly.work, assembly.valve
        if work.valve_renewed and valve.kind in ("clamp_in", "truck_clamp_in"):
            work = with_values(work, seals_renewed=True, nut_renewed=True, nut_loosened=True)
        if (work.tyre_demounted or work.core_renewed or work.valve_renewed) and valve.cap in (None, "none"):
            valve = with_values(valve, cap="sealing")
        if work.core_renewed and assembly.sensor.fitted:
            valve = with_values(valve, core_material="nickel_plated")
        return with_values(assembly, work=work, valve=valve)  # type: ignore[no-any-return]

    def _tightened(self, planned: Job, assembly: Assembly) -> Assembly:
        """Return an assembly with the mildest restraint that the rules accept, and a leak test."""
        work = assembly.work
        if not (work.tyre_demounted or work.tyre_renewed):
            return assembly
        work = with_values(work, leak_tested=True)
        if work.restraint is None:
            work = with_values(work, restraint=self._restraint(planned, with_values(assembly, work=work)))
        return with_values(assembly, work=work)  # type: ignore[no-any-return]

    def _restraint(self, planned: Job, assembly: Assembly) -> str:
        rules = trial(self.book, ("work.restraint",))
        options: tuple[str, ...] = ("none", "barrier", "cage")
        if self.job.vehicle.category in (None, *_LARGE):  # a cage suits every rim; nobody asks for less
            options = ("cage",)
        trials = [with_values(assembly, work=with_values(assembly.work, restraint=word)) for word in options]
        codes = rules.codes(planned, self.day, trials)
        return next((word for word, each in zip(options, codes, strict=True) if 1 not in each), "cage")

    def _set(self, assembly: Assembly) -> Assembly:
        """Return an assembly with the set-points as readings, as they will be when the plan was followed."""
        work: dict[str, Any] = {}
        tyre: dict[str, Any] = {}
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
            tyre=with_values(assembly.tyre, **tyre) if tyre else assembly.tyre,
        )

    # --- the whole ---------------------------------------------------------------------------

    def _finished(self, planned: Job) -> WorkPlan:
        outlook = check(planned, self.book)
        failing = [each for each in outlook.findings if each.outcome is Outcome.FAIL]
        stopped = self._stops(failing)
        known = {gap.rule for gap in self.gaps}
        for each in failing:
            if each.gravity is not Gravity.ADVISE and self._is_chosen(each) and each.rule not in known:
                where = (each.subject.position,) if each.subject.position is not None else ()
                self.gaps.append(Gap(text=str(each), rule=each.rule, positions=where))
        points = [_allowed(each, stopped) for each in self.points]
        self.points = [each for each in points if each.positions]
        renewed = renewals(planned, self.day, planned.assemblies)
        made = steps(
            planned,
            planned.assemblies,
            self.choices,
            renewed,
            self.points,
            no_inflation=stopped,
            cautions=self._cautions(),
        )
        return WorkPlan(
            job=self.job,
            book=self.book,
            planned=planned,
            notices=tuple(self._notices(failing, stopped)),
            choices=tuple(self.choices),
            renewals=renewed,
            set_points=tuple(self.points),
            steps=made,
            gaps=tuple(self.gaps),
        )

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

    def _notices(self, failing: Sequence[Finding], stopped: Mapping[Position, str]) -> Iterator[Notice]:
        yield Notice(text=MAKERS_FIRST)
        if self.job.vehicle.category in _LARGE:
            yield Notice(
                text="Large wheels: inflate only within a restraint, stand out of the way of a burst, and "
                "let only trained staff do it."
            )
        for each in failing:
            place = each.subject.position
            if each.rule in stopped.values() and (place is None or place in stopped):
                yield Notice(
                    text=f"Do not inflate: {each}",
                    stops=True,
                    positions=() if place is None else (place,),
                    rule=each.rule,
                )
            elif each.gravity is Gravity.HOLD and not self._is_chosen(each):
                yield Notice(
                    text=f"The vehicle does not leave like this: {each}",
                    stops=True,
                    positions=() if place is None else (place,),
                    rule=each.rule,
                )

    def _cautions(self) -> Mapping[str, list[str]]:
        """Return the cautions of the rules in force by the step whose value or part they judge."""
        out: dict[str, list[str]] = {}
        for opened in self.book.rules.values():
            if not opened.rule.caution:
                continue
            for key, paths in _STEP_OF.items():
                if fields_read(opened) & paths:
                    out.setdefault(key, []).append(opened.rule.caution)
        return out


_STEP_OF: Mapping[str, frozenset[str]] = {
    "seat_beads": frozenset({"work.seating_pressure"}),
    "restrain": frozenset({"work.restraint"}),
    "torque_core": frozenset({"work.valve_core_torque"}),
    "torque_fixings": frozenset({"work.wheel_fixing_torque"}),
    "torque_sensor_screw": frozenset({"work.sensor_nut_torque", "work.sensor_screw_torque"}),
}


def _opened(assembly: Assembly, work: Work) -> Work:
    """Return the work at a wheel whose tyre comes off: valve or its seals, core and cap are renewed."""
    values: dict[str, Any] = {}
    own_stem = assembly.sensor.fitted and assembly.valve.kind == "clamp_in"
    if work.valve_renewed is None:
        values["valve_renewed"] = bool(work.tyre_renewed) and not own_stem
    if work.core_renewed is None:
        values["core_renewed"] = True
    if own_stem:
        for name in ("seals_renewed", "nut_renewed", "nut_loosened"):
            if getattr(work, name) is None:
                values[name] = True
    return with_values(work, **values)  # type: ignore[no-any-return]


def _nothing_fits(choice: Choice) -> Gap:
    if choice.likely is not None:
        likely = choice.likely
        text = f"{likely.item.code} fits if what is to be measured on it turns out well"
        return Gap(text=text, rule=likely.rules[0], positions=choice.positions, missing=likely.missing)
    if choice.undecided:
        text = f"Which valve fits cannot be decided: {len(choice.undecided)} are left"
        missing = tuple(choice.deciding)
        rule = choice.undecided[0].rules[0]
        return Gap(text=text, rule=rule, positions=choice.positions, missing=missing)
    way = choice.in_the_way[0] if choice.in_the_way else ""
    text = f"No part of the catalogue fits; {way} stands in the way"
    return Gap(text=text, rule=way, positions=choice.positions)


def _allowed(point: SetPoint, stopped: Mapping[Position, str]) -> SetPoint:
    """Return a set-point without the wheels that must not be inflated."""
    import attrs

    if point.what not in ("tyre.pressure", "work.seating_pressure"):
        return point
    return attrs.evolve(point, positions=tuple(each for each in point.positions if each not in stopped))
