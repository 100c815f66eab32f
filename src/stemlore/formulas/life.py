"""Life of valves and sensors by a Weibull model: survival, hazard, what is left.

A model is a characteristic life (by which 63 % have failed) and a shape
(above 1: wear), in years of age or in kilometres run. There is no default
model: no published one was found for valves or sensors. A shop fits its own
from its removals (:mod:`.life_fit`). What the trade says, for orientation and
never as a model, stands in :data:`QUOTED_LIVES`.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Any

import attrs

from stemlore.formulas._formula import Estimate, Formula, WorkedExample, define_formula
from stemlore.formulas._operators import Number, exp, log, positive
from stemlore.formulas._science import numpy, special
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade
from stemlore.units import unit

__all__ = [
    "AGE",
    "DISTANCE",
    "QUOTED_LIVES",
    "QuotedLife",
    "Scale",
    "conditional_survival_at_age",
    "conditional_survival_at_distance",
    "exactly",
    "hazard_at_age",
    "hazard_at_distance",
    "residual_age",
    "residual_distance",
    "share_age",
    "share_distance",
    "survival_at_age",
    "survival_at_distance",
]


@attrs.frozen
class QuotedLife:
    """A range of lives as people quote it: no distribution, no model.

    Attributes
    ----------
    what : str
        Which part.
    low, high : float
        Ends of the range.
    unit : str
        Unit of both.
    grade : Grade
        How far to trust it.
    """

    what: str
    low: float
    high: float
    unit: str
    grade: Grade


QUOTED_LIVES: tuple[QuotedLife, ...] = (
    QuotedLife("battery of a pressure sensor", 5.0, 10.0, "year", Grade.PRACTICE),
    QuotedLife("battery of a pressure sensor", 100_000.0, 150_000.0, "km", Grade.PRACTICE),
)
"""Ranges that the trade quotes; common practice without a source, and no model follows from them."""

_SOLVED = Cited("failure-homework", "solution (a) to (d)", Grade.SECONDARY)
_SPREADSHEET = Cited("survival-examples", "figures 1 and 2, example 1", Grade.SECONDARY)
_HANDBOOK = Cited("nist-handbook-weibull", "8.4.1.3", Grade.READ)
_CONDITIONAL = Cited("conditional-reliability", "two-parameter form", Grade.READ)
_WINDINGS = Cited("conditional-weibull", "example of the windings", Grade.SECONDARY)

_RATIOS = "no unit of time in the source, or hours; only ratios count"
_SHAPE = ("1", "shape of the model; above 1 the part wears")


def _is_model(so_far: Number, life: Number, shape: Number) -> Number:
    """The life so far is not negative; characteristic life and shape are above zero."""
    return (so_far >= 0 * life) & positive(life) & positive(shape)


def _is_used(so_far: Number, life: Number, shape: Number) -> Number:
    """Life so far, characteristic life and shape are above zero."""
    return positive(so_far) & positive(life) & positive(shape)


def _has_future(so_far: Number, more: Number, life: Number, shape: Number) -> Number:
    """The lives are not negative; characteristic life and shape are above zero."""
    return (so_far >= 0 * life) & (more >= 0 * life) & positive(life) & positive(shape)


def _has_share(so_far: Number, share: Number, life: Number, shape: Number) -> Number:
    """The share lies between 0 and 1, both left out; no life is negative, the model is above zero."""
    return (so_far >= 0 * life) & positive(share) & (share < 1) & positive(life) & positive(shape)


def _is_thinkable(so_far: Any, life: Any, shape: Any) -> Any:
    """The life so far is not negative and not beyond what any part reaches; the model is above zero."""
    return _is_model(so_far, life, shape) & ((so_far / life) ** shape <= 256)


def _survival(so_far: Number, life: Number, shape: Number) -> Number:
    return exp(0 - (so_far / life) ** shape)


def _hazard(so_far: Number, life: Number, shape: Number) -> Number:
    return shape / life * (so_far / life) ** (shape - 1)


def _conditional(so_far: Number, more: Number, life: Number, shape: Number) -> Number:
    return exp((so_far / life) ** shape - ((so_far + more) / life) ** shape)


def _until_share(so_far: Number, share: Number, life: Number, shape: Number) -> Number:
    return life * ((so_far / life) ** shape - log(1 - share)) ** (1 / shape) - so_far


def _mean_residual(so_far: Any, life: Any, shape: Any) -> Any:
    """Return the mean life left after surviving so far: the integral of survival, in closed form."""
    gamma = special("residual life")
    used = (so_far / life) ** shape
    return life * gamma.gamma(1 + 1 / shape) * gamma.gammaincc(1 / shape, used) / exp(0 - used)


@attrs.frozen
class Scale:
    """Years of age or kilometres run: what the formulas of one scale share."""

    unit: str
    word: str

    def of(self, meaning: str) -> tuple[str, str]:
        """Return unit and meaning of an argument."""
        return self.unit, meaning.replace("life", self.word)

    @property
    def model(self) -> dict[str, tuple[str, str]]:
        """The arguments of a model."""
        return {"life": (self.unit, f"characteristic {self.word}: 63 % have failed by it"), "shape": _SHAPE}

    def given(self, *lives: str, shape: str, **more: str) -> dict[str, str]:
        """Return arguments of an example: lives so far and characteristic, shape, others."""
        so_far, life = (f"{each} {self.unit}" for each in lives)
        return {"so_far": so_far, **more, "life": life, "shape": f"{shape} 1"}


AGE = Scale("year", "age")
DISTANCE = Scale("km", "distance")


def _survival_of(scale: Scale) -> Formula:
    return define_formula(
        name=f"survival_at_{scale.word}",
        doc=f"Share of parts that survive to {'an age' if scale is AGE else 'a distance run'}.",
        args={"so_far": scale.of("life asked for"), **scale.model},
        returns=("1", "share that survives"),
        valid=_is_model,
        sources=[_CONDITIONAL, _SPREADSHEET],
        examples=[
            WorkedExample(
                scale.given("800", "1120", shape="2.2"), "0.620643 1", "5e-7 1", _SPREADSHEET, _RATIOS
            ),
            WorkedExample(
                scale.given("1600", "1120", shape="2.2"), "0.111725 1", "5e-7 1", _SPREADSHEET, _RATIOS
            ),
            WorkedExample(scale.given("5", "4", shape="3"), "0.1418 1", "5e-5 1", _SOLVED, _RATIOS),
            WorkedExample(
                scale.given("3", "4", shape="3"),
                "0.6559 1",
                "1e-4 1",
                _SOLVED,
                "printed as 0.3441 that fail, cut off",
            ),
        ],
    )(_survival)


def _hazard_of(scale: Scale) -> Formula:
    return define_formula(
        name=f"hazard_at_{scale.word}",
        doc=f"Rate of failure by {scale.word}, of parts that survived so far.",
        args={"so_far": scale.of("life so far"), **scale.model},
        returns=(f"1/{scale.unit}", f"share of the survivors that fails by {scale.unit}"),
        valid=_is_used,
        sources=[_SOLVED],
        examples=[
            WorkedExample(
                scale.given("5", "4", shape="3"),
                f"1.17175 1/{scale.unit}",
                f"0.000125 1/{scale.unit}",
                _SOLVED,
                "printed as 0.04687 times the square of the time",
            )
        ],
    )(_hazard)


def _conditional_of(scale: Scale) -> Formula:
    return define_formula(
        name=f"conditional_survival_at_{scale.word}",
        doc=f"Share of the parts alive at {'an age' if scale is AGE else 'a distance run'} "
        "that survive a stretch more.",
        args={"so_far": scale.of("life so far"), "more": scale.of("life to come"), **scale.model},
        returns=("1", "share of those alive that survives"),
        valid=_has_future,
        sources=[_CONDITIONAL],
        examples=[
            WorkedExample(
                scale.given("800", "1120", shape="2.2", more=f"800 {scale.unit}"),
                "18 %",
                "0.5 %",
                _SPREADSHEET,
                _RATIOS,
            )
        ],
    )(_conditional)


def _share_of(scale: Scale) -> Formula:
    return define_formula(
        name=f"share_{scale.word}",
        doc=f"{scale.word.capitalize()} more by which a share of those alive has failed; 0.5 is the median.",
        args={
            "so_far": scale.of("life so far"),
            "share": ("1", "share of those alive that fails"),
            **scale.model,
        },
        returns=scale.of("life to come"),
        valid=_has_share,
        sources=[_SPREADSHEET],
        examples=[
            WorkedExample(
                scale.given("0", "1120", shape="2.2", share="0.4 1"),
                f"825.31 {scale.unit}",
                f"0.005 {scale.unit}",
                _SPREADSHEET,
                "60 % still work; " + _RATIOS,
            )
        ],
    )(_until_share)


def _residual_of(scale: Scale) -> Formula:
    def residual(so_far: Any, life: Any, shape: Any) -> Estimate:
        found = _mean_residual(so_far, life, shape)
        return exactly(found, scale.unit, Grade.SECONDARY)

    return define_formula(
        name=f"residual_{scale.word}",
        doc=f"Mean {scale.word} left to a part that survived so far; of a new one the mean life.",
        kind="procedure",
        args={"so_far": scale.of("life so far"), **scale.model},
        returns=scale.of("life left, on average"),
        valid=_is_thinkable,
        sources=[_WINDINGS, _HANDBOOK],
        misfit="a mean over many parts; a single one may fail tomorrow",
        examples=[
            WorkedExample(
                scale.given("6.5", "13", shape="2"),
                f"7.1 {scale.unit}",
                f"0.05 {scale.unit}",
                _WINDINGS,
                _RATIOS,
            ),
            WorkedExample(
                scale.given("0", "606.528", shape="1.7208"),
                f"540.737 {scale.unit}",
                f"0.005 {scale.unit}",
                _HANDBOOK,
                "the parameters are printed rounded; " + _RATIOS,
            ),
            WorkedExample(
                scale.given("0", "1120", shape="2.2"),
                f"991.9 {scale.unit}",
                f"0.05 {scale.unit}",
                _SPREADSHEET,
                _RATIOS,
            ),
        ],
    )(residual)


def exactly(
    value: Any,
    symbol: str,
    grade: Grade,
    given: Sequence[str] = ("the model as given",),
    among: Any = None,
) -> Estimate:
    """Return an estimate whose only error is rounding, on top of what is taken as given.

    ``among`` is the greatest of the values that it is a difference of.
    """
    np = numpy("an estimate")
    worth = float(value) if np.ndim(value) == 0 else value
    greatest = np.max(np.abs(worth if among is None else among))
    within = float(greatest) * 256 * sys.float_info.epsilon
    return Estimate(worth, unit(symbol), within, f"rounding only, with {' and '.join(given)}", grade)


survival_at_age = _survival_of(AGE)
survival_at_distance = _survival_of(DISTANCE)
hazard_at_age = _hazard_of(AGE)
hazard_at_distance = _hazard_of(DISTANCE)
conditional_survival_at_age = _conditional_of(AGE)
conditional_survival_at_distance = _conditional_of(DISTANCE)
share_age = _share_of(AGE)
share_distance = _share_of(DISTANCE)
residual_age = _residual_of(AGE)
residual_distance = _residual_of(DISTANCE)
