"""When to replace a part that wears: cost by age, the cheapest age, now or at the next visit.

A part is replaced when it fails, at the cost of a failure, or before, at the
planned cost. Both costs are in the same currency and include what the failure
costs beside the part. Replacing before failure pays only where the part wears
(shape above 1) and a failure costs more than a planned replacement; elsewhere
the answer is to leave it until it fails, and the procedures say so.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import Any

from stemlore.errors import OutOfRangeError
from stemlore.formulas._formula import Estimate, Formula, WorkedExample, define_formula
from stemlore.formulas._operators import positive
from stemlore.formulas._science import numpy, optimize, special
from stemlore.formulas.constants import Cited
from stemlore.formulas.life import AGE, DISTANCE, Scale, exactly
from stemlore.provenance import Grade

__all__ = [
    "replacement_age",
    "replacement_cost_by_age",
    "replacement_cost_by_distance",
    "replacement_distance",
    "replacement_now_by_age",
    "replacement_now_by_distance",
]

_FORMULA = Cited("replacement-wiki", "cost per unit time", Grade.READ)
_DOCUMENTED = Cited("replacement-docs", "worked example", Grade.REPRODUCTION)
_HOURS = "no unit of time in the source; costs are plain numbers"

_COSTS = {
    "planned_cost": ("1", "cost of replacing before failure"),
    "failure_cost": ("1", "cost of a failure, with all that it brings, in the same currency"),
}


def _is_priced(so_far: Any, life: Any, shape: Any, planned_cost: Any, failure_cost: Any) -> Any:
    """Age, model and costs are above zero."""
    return (
        positive(so_far) & positive(life) & positive(shape) & positive(planned_cost) & positive(failure_cost)
    )


def _pays(life: Any, shape: Any, planned_cost: Any, failure_cost: Any) -> Any:
    """The part wears (shape above 1) and a failure costs more than a planned replacement.

    Elsewhere no age is the cheapest: leave the part until it fails.
    """
    return positive(life) & (shape > 1) & positive(planned_cost) & (failure_cost > planned_cost)


def _pays_at_visits(
    so_far: Any, interval: Any, life: Any, shape: Any, planned_cost: Any, failure_cost: Any
) -> Any:
    """The part wears (shape above 1), a failure costs more than a planned replacement, the lives make sense.

    Elsewhere replacing early never pays: leave the part until it fails.
    """
    known = (so_far >= 0) & positive(interval) & (_used(so_far, life, shape) <= 256)
    return known & _pays(life, shape, planned_cost, failure_cost)


def _used(so_far: Any, life: Any, shape: Any) -> Any:
    return (so_far / life) ** shape


def _mean_run(so_far: Any, more: Any, life: Any, shape: Any) -> Any:
    """Return how far a part alive now runs on average within a stretch more."""
    gamma = special("replacement")
    used, later = _used(so_far, life, shape), _used(so_far + more, life, shape)
    # the upper tails, as the lower ones differ by nothing when most have failed
    between = gamma.gammaincc(1 / shape, used) - gamma.gammaincc(1 / shape, later)
    return life * gamma.gamma(1 + 1 / shape) * between / numpy("replacement").exp(0 - used)


def _run(share: Any, shape: Any) -> Any:
    """Return the mean run up to an age, both as shares of the characteristic life."""
    gamma = special("replacement")
    return gamma.gamma(1 + 1 / shape) * gamma.gammainc(1 / shape, share**shape)


def _rate(share: Any, shape: Any, planned_cost: Any, failure_cost: Any) -> Any:
    """Return the long-run cost for each characteristic life when replaced at an age."""
    failed = 0 - numpy("replacement").expm1(0 - share**shape)
    return (planned_cost * (1 - failed) + failure_cost * failed) / _run(share, shape)


def _cheapest(shape: float, planned_cost: float, failure_cost: float) -> float:
    """Return the cheapest age as a share of the characteristic life."""
    ratio = planned_cost / (failure_cost - planned_cost)

    def excess(share: float) -> float:
        used = share**shape
        return float(shape * share ** (shape - 1) * _run(share, shape) + math.expm1(0 - used) - ratio)

    high = 1.0
    while excess(high) < 0:
        high *= 2
        if high**shape > 256 * 256:
            # by then all have failed: what a later age saves cannot be told from nothing
            raise OutOfRangeError(
                "the cheapest age lies beyond the age that any part reaches",
                advice="leave the part until it fails",
            )
    return float(optimize("replacement").brentq(excess, 0, high, xtol=sys.float_info.epsilon))


def _each(function: Callable[..., float], *args: Any) -> Any:
    return numpy("replacement").vectorize(function, otypes=[float])(*args)


def _cost_of(scale: Scale) -> Formula:
    def cost(so_far: Any, life: Any, shape: Any, planned_cost: Any, failure_cost: Any) -> Estimate:
        rate = _rate(so_far / life, shape, planned_cost, failure_cost) / life
        return exactly(rate, f"1/{scale.unit}", Grade.REPRODUCTION, _GIVEN)

    return define_formula(
        subject="replacement",
        name=f"replacement_cost_by_{scale.word}",
        doc=f"Long-run cost when every part is replaced at {'an age' if scale is AGE else 'a distance run'}, "
        "or when it fails.",
        kind="procedure",
        args={"so_far": scale.of("life at which it is replaced"), **scale.model, **_COSTS},
        returns=(f"1/{scale.unit}", f"cost by {scale.unit}, in the currency of the costs"),
        valid=_is_priced,
        sources=[_FORMULA],
        examples=[
            WorkedExample(
                {**scale.given("493.19", "1000", shape="2.5"), "planned_cost": "1 1", "failure_cost": "5 1"},
                f"0.0035 1/{scale.unit}",
                f"5e-5 1/{scale.unit}",
                _DOCUMENTED,
                _HOURS,
            )
        ],
    )(cost)


def _age_of(scale: Scale) -> Formula:
    def age(life: Any, shape: Any, planned_cost: Any, failure_cost: Any) -> Estimate:
        found = life * _each(_cheapest, shape, planned_cost, failure_cost)
        return exactly(found, scale.unit, Grade.REPRODUCTION, _GIVEN)

    return define_formula(
        subject="replacement",
        name=f"replacement_{scale.word}",
        doc=f"{scale.word.capitalize()} at which replacing before failure costs least in the long run.",
        kind="procedure",
        args={**scale.model, **_COSTS},
        returns=scale.of("life at which to replace"),
        valid=_pays,
        sources=[_FORMULA],
        misfit="the cost is flat around its least; where the model is a fit, its band moves the age further",
        examples=[
            WorkedExample(
                {
                    "life": f"1000 {scale.unit}",
                    "shape": "2.5 1",
                    "planned_cost": "1 1",
                    "failure_cost": "5 1",
                },
                f"493.19 {scale.unit}",
                f"0.2 {scale.unit}",
                _DOCUMENTED,
                "the source goes through ages in steps; " + _HOURS,
            )
        ],
    )(age)


def _now_of(scale: Scale) -> Formula:
    def now(
        so_far: Any, interval: Any, life: Any, shape: Any, planned_cost: Any, failure_cost: Any
    ) -> Estimate:
        best = _each(_cheapest, shape, planned_cost, failure_cost)
        least = _rate(best, shape, planned_cost, failure_cost) / life
        fails = 0 - numpy("replacement").expm1(
            _used(so_far, life, shape) - _used(so_far + interval, life, shape)
        )
        run = _mean_run(so_far, interval, life, shape)
        dearer = failure_cost - planned_cost
        return exactly(dearer * fails - least * run, "1", Grade.REPRODUCTION, _GIVEN, among=dearer)

    return define_formula(
        subject="replacement",
        name=f"replacement_now_by_{scale.word}",
        doc="What replacing at this visit saves against waiting for the next; below zero, wait.\n\n"
        "What the failures until then are expected to cost more, less what running on saves at the\n"
        "least long-run cost.",
        kind="procedure",
        args={
            "so_far": scale.of("life so far"),
            "interval": scale.of("life to come until the next visit"),
            **scale.model,
            **_COSTS,
        },
        returns=("1", "saved by replacing now, in the currency of the costs"),
        valid=_pays_at_visits,
        sources=[_FORMULA],
        misfit="takes it that later parts are replaced at the cheapest age; bound to visits, they cost more",
        examples=[
            WorkedExample(
                {
                    **scale.given("493.19", "1000", shape="2.5", interval=f"1 {scale.unit}"),
                    "planned_cost": "1 1",
                    "failure_cost": "5 1",
                },
                "0 1",
                "1e-5 1",
                _DOCUMENTED,
                "at the cheapest age printed neither now nor a moment later pays",
            )
        ],
    )(now)


_GIVEN = ("the model", "the costs as given")

replacement_cost_by_age = _cost_of(AGE)
replacement_cost_by_distance = _cost_of(DISTANCE)
replacement_age = _age_of(AGE)
replacement_distance = _age_of(DISTANCE)
replacement_now_by_age = _now_of(AGE)
replacement_now_by_distance = _now_of(DISTANCE)
