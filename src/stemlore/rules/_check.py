"""Judging one job by a rulebook."""

from __future__ import annotations

from datetime import date
from typing import Any

from stemlore.errors import Fault, RecordError
from stemlore.model import NO_OWN, Job, own_faults
from stemlore.rules import _facts as facts
from stemlore.rules._layout import layout_of
from stemlore.rules._resolve import OpenRule, RuleGroup
from stemlore.rules._walker import View, evaluate
from stemlore.rules.report import FAULT, Judged, Report, RuleFault
from stemlore.rules.rulebook import Rulebook

__all__ = ["check", "judge"]


def check(job: Job, book: Rulebook) -> Report:
    """Judge a job by a rulebook.

    Parameters
    ----------
    job : Job
        Vehicle, assemblies, what was done, makers' instructions.
    book : Rulebook
        The rules in force, from :func:`rulebook`.

    Returns
    -------
    Report
        Every rule on every subject: pass, fail, unknown or not applicable.
        A rule that raises becomes a fault and takes no other with it.

    Raises
    ------
    RecordError
        If a field that a pack in force declares as its own cannot be read; all of them at once.

    Notes
    -----
    The library advises; it does not certify that a vehicle is roadworthy.
    """
    if not isinstance(job, Job):
        why = f"a {type(job).__name__} is not a job"
        raise RecordError("check", [Fault("job", why, "read it first: read_job(document)")])
    if not isinstance(book, Rulebook):
        why = f"a {type(book).__name__} is not a rulebook"
        raise RecordError("check", [Fault("book", why, "open one first: rulebook(place, on=day)")])
    _check_own(job, book)
    happened = job.event.on
    day = book.on if happened is None else happened.earliest
    notes: tuple[str, ...] = ()
    if happened is not None and day != book.on:
        notes = (f"ages count on {day}, the day of the visit; the law is that of {book.on}",)
    if book.decision == "guarded":
        plain = sum(not each.guarded for each in book.rules.values())
        notes += (f"{plain} rules declare no uncertainty and were judged by simple acceptance",)
    return judge(job, book, day, notes)


def judge(job: Job, book: Rulebook, day: date, notes: tuple[str, ...] = ()) -> Report:
    """Judge a job with ages and seasons counted on a day, whatever the visit's."""
    layout = layout_of(job)
    judged: list[Judged] = []
    faults: list[RuleFault] = []
    for group in book.compiled.groups:
        kind = group.kind
        try:
            codes = group.judge(job, day, layout.rows(kind))
        except Exception:
            codes = [_walked(group, at, facts.view_of(job, day, at), faults) for at in layout.subjects(kind)]
        if not codes:
            continue
        if group.bodies:
            codes = [
                _with_bodies(group, at, each, facts.view_of(job, day, at), faults)
                for at, each in zip(layout.subjects(kind), codes, strict=True)
            ]
        if layout.unstated and kind in ("position", "axle", "pair"):
            codes = [
                each.translate(_UNSTATED) if at.subject.unstated else each
                for at, each in zip(layout.subjects(kind), codes, strict=True)
            ]
        judged.append(Judged(group, layout, codes))
    return Report(job, book, day, tuple(judged), tuple(faults), notes)


def _check_own(job: Job, book: Rulebook) -> None:
    """Raise for own fields of the packs in force that are unknown, misplaced or unreadable."""
    if job.own is NO_OWN:
        for each in job.assemblies:
            if each.own is not NO_OWN:
                break
        else:
            return
    packs = frozenset(book.packs)
    faults = own_faults(job.own, "vehicle", packs)
    for each in job.assemblies:
        faults += [fault.under(f"{each.position}") for fault in own_faults(each.own, "position", packs)]
    if faults:
        raise RecordError("own fields", faults)


# of wheels that nobody told of, nothing passes
_UNSTATED = bytes(2 if code == 0 else code for code in range(256))


def _walked(group: RuleGroup, at: Any, view: View, faults: list[RuleFault]) -> bytes:
    """Judge a subject rule by rule, so that a rule that raises takes no other with it."""
    codes = bytearray()
    for each in group.rules:
        try:
            codes.append(_code(each, view))
        except Exception as error:
            faults.append(
                RuleFault(rule=each.rule.id, subject=at.subject, error=f"{type(error).__name__}: {error}")
            )
            codes.append(FAULT)
    return bytes(codes)


def _code(each: OpenRule, view: View) -> int:
    applies = True if each.when is None else evaluate(each.when, view)
    if applies is None:
        return 2
    if not applies:
        return 3
    if each.rule.body is not None and not each.reason:
        return 0
    holds = evaluate(each.check, view)
    return 2 if holds is None else 0 if holds else 1


def _with_bodies(group: RuleGroup, at: Any, codes: bytes, view: View, faults: list[RuleFault]) -> bytes:
    out = bytearray(codes)
    for index in group.bodies:
        if out[index] != 0:
            continue
        rule = group.rules[index].rule
        try:
            holds = rule.body(view) if rule.body is not None else None
            if holds not in (True, False, None):
                raise TypeError(f"gave {holds!r}, not True, False or None")
            out[index] = 2 if holds is None else 0 if holds else 1
        except Exception as error:
            faults.append(
                RuleFault(rule=rule.id, subject=at.subject, error=f"{type(error).__name__}: {error}")
            )
            out[index] = FAULT
    return bytes(out)
