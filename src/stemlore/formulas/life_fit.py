"""A life model from a shop's own removals: which parts had failed, and how old they were.

Maximum likelihood for a Weibull model with right censoring: a part removed
while it still worked tells that its life is longer than its age. Bands are
from the profile likelihood, never from the curvature at the best fit: with
the few failures of a shop the latter is crude (see the source).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import attrs

from stemlore.errors import OutOfRangeError
from stemlore.formulas._formula import Estimate, Formula, WorkedExample, define_formula
from stemlore.formulas._science import numpy, optimize, special
from stemlore.formulas.constants import Cited
from stemlore.formulas.life import AGE, DISTANCE, Scale
from stemlore.provenance import Grade
from stemlore.units import unit

__all__ = ["Band", "LifeFit", "fit_life_age", "fit_life_distance"]

_HANDBOOK = Cited("nist-handbook-weibull", "8.4.1.3", Grade.READ)
_INTERVALS = Cited("weibull-intervals", "abstract", Grade.READ)
_HOURS = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386, *[500] * 10)


@attrs.frozen
class Band:
    """A value with the ends of its confidence band."""

    value: float
    low: float
    high: float


@attrs.frozen(eq=False, kw_only=True)
class LifeFit(Estimate):
    """A fitted life model; ``value`` is the characteristic life.

    Attributes
    ----------
    shape, life : Band
        The two parameters with their bands.
    confidence : float
        Of the bands, as a share.
    failures, removals : int
        Parts that had failed, and all.
    log_likelihood : float
        At the best fit.
    """

    shape: Band
    life: Band
    confidence: float
    failures: int
    removals: int
    log_likelihood: float
    _likelihood: _Likelihood = attrs.field(repr=False)

    def survival(self, so_far: float) -> Band:
        """Return the share that survives so far, with its band.

        Raises
        ------
        OutOfRangeError
            If it is not above zero.
        """
        if not (so_far > 0 and math.isfinite(so_far)):
            raise OutOfRangeError(f"survival at {so_far:g} {self.unit}", advice="ask for a life above zero")
        best = (so_far / self.life.value) ** self.shape.value
        # how much of the hazard is used up by then, on a scale of logarithms
        low, high = self._likelihood.band(
            lambda used: self._likelihood.best_through(math.log(so_far), used), math.log(best)
        )
        return Band(math.exp(-best), math.exp(-math.exp(high)), math.exp(-math.exp(low)))


@attrs.frozen(eq=False)
class _Likelihood:
    """The likelihood of removals; ages as logarithms, a model as a line through a point.

    A model is given by its shape and one point: the logarithm of the used-up
    hazard at the logarithm of an age. The characteristic life is where that
    logarithm is zero, so that one function serves life and survival.
    """

    ages: Any
    failed: Any
    drop: float

    @property
    def failures(self) -> int:
        return int(self.failed.sum())

    def at(self, shape: float, age: float, used: float) -> float:
        """Return the logarithm of the likelihood."""
        hazards = used + shape * (self.ages - age)
        of_failures = (math.log(shape) + hazards - self.ages)[self.failed].sum()
        return float(of_failures - numpy("life_fit").exp(hazards).sum())

    def shape_through(self, age: float, used: float) -> float:
        """Return the most likely shape of the models through a point."""
        np, apart = numpy("life_fit"), self.ages - age
        late = apart[self.failed].sum()

        def slope(shape: float) -> float:
            with np.errstate(over="ignore"):
                return float(self.failures / shape + late - (np.exp(used + shape * apart) * apart).sum())

        return _root(slope, 1.0)

    def best_through(self, age: float, used: float) -> float:
        """Return the greatest likelihood of the models through a point."""
        return self.at(self.shape_through(age, used), age, used)

    def used_at(self, shape: float, age: float) -> float:
        """Return the most likely point at an age for a shape: as many expected to fail as failed."""
        np = numpy("life_fit")
        return math.log(self.failures) - float(np.logaddexp.reduce(shape * (self.ages - age)))

    def best_shape(self) -> float:
        """Return the most likely shape of all."""
        np, last = numpy("life_fit"), self.ages.max()
        late = (self.ages - last)[self.failed].mean()

        def slope(shape: float) -> float:
            weights = np.exp(shape * (self.ages - last))
            return float(1 / shape + late - (weights * (self.ages - last)).sum() / weights.sum())

        return _root(slope, 1.0)

    def of_shape(self, shape: float) -> float:
        """Return the greatest likelihood of a shape."""
        last = float(self.ages.max())
        return self.at(shape, last, self.used_at(shape, last))

    def band(self, profile: Callable[[float], float], best: float) -> tuple[float, float]:
        """Return where a profile has dropped from its best value by what the confidence asks for."""
        wanted = profile(best) - self.drop

        def end(step: float) -> float:
            while profile(best + step) > wanted:
                step *= 2
            near, far = sorted((best, best + step))
            return float(optimize("life_fit").brentq(lambda x: profile(x) - wanted, near, far))

        return end(-0.5), end(0.5)


def _root(falling: Callable[[float], float], guess: float) -> float:
    """Return where a falling function of a number above zero is zero."""
    low = high = guess
    while falling(low) < 0:
        low /= 2
    while falling(high) > 0:
        high *= 2
    return guess if low == high else float(optimize("life_fit").brentq(falling, low, high))


def _are_removals(lives: Any, failed: Any, confidence: Any) -> Any:
    """Lives above zero, for each a 1 (it had failed) or 0 (it worked); confidence between 0 and 1."""
    np = numpy("life_fit")
    lives, failed, confidence = (np.asarray(each, dtype=float) for each in (lives, failed, confidence))
    if lives.ndim != 1 or lives.shape != failed.shape or not lives.size or confidence.ndim:
        return False
    kinds = (failed == 0) | (failed == 1)
    return bool((lives > 0).all() and kinds.all() and 0 < confidence < 1)


def _enough(failures: int, removals: int, least: float) -> None:
    if failures < least:
        raise OutOfRangeError(
            f"{failures} failures among {removals} removals are too few for a life model",
            advice=f"{least:g} are needed, {least - failures:g} more; until then keep records",
        )


def _fit_of(scale: Scale) -> Formula:
    def fit(lives: Any, failed: Any, confidence: Any, least: float, trusted: float) -> LifeFit:
        had_failed = failed == 1
        failures, removals = int(had_failed.sum()), int(lives.size)
        _enough(failures, removals, least)
        if (lives[had_failed] == lives.max()).all():
            raise OutOfRangeError(
                "all failures stand at one life, the greatest: no shape is the most likely",
                advice="give each part's own life, not one for all",
            )
        normal = special("life_fit").ndtri((1 + float(confidence)) / 2)
        likelihood = _Likelihood(numpy("life_fit").log(lives), had_failed, float(normal) ** 2 / 2)
        shape = likelihood.best_shape()
        last = float(likelihood.ages.max())
        centre = last - likelihood.used_at(shape, last) / shape
        shapes = likelihood.band(lambda x: likelihood.of_shape(math.exp(x)), math.log(shape))
        lives_at = likelihood.band(lambda x: likelihood.best_through(x, 0), centre)
        life = Band(math.exp(centre), *(math.exp(x) for x in lives_at))
        few = f"; fewer than {trusted:g} failures, the true bands are wider" if failures < trusted else ""
        return LifeFit(
            value=life.value,
            unit=unit(scale.unit),
            within=max(life.high - life.value, life.value - life.low),
            basis=f"profile likelihood at {float(confidence):.4g} confidence over {failures} failures "
            f"among {removals} removals{few}",
            grade=Grade.READ,
            shape=Band(shape, *(math.exp(x) for x in shapes)),
            life=life,
            confidence=float(confidence),
            failures=failures,
            removals=removals,
            log_likelihood=likelihood.of_shape(shape),
            likelihood=likelihood,
        )

    return define_formula(
        subject="life_fit",
        name=f"fit_life_{scale.word}",
        doc=f"Life model by {scale.word} from a shop's own removals, by maximum likelihood.\n\n"
        "Gives the characteristic life, and in the result the shape, bands of both by profile\n"
        "likelihood and survival with its band. Parts removed while they worked are right-censored.",
        kind="procedure",
        args={
            "lives": scale.of("life of each part when it was removed"),
            "failed": ("1", "1 where it had failed, 0 where it still worked"),
            "confidence": ("1", "confidence of the bands, such as 0.95"),
        },
        returns=scale.of("characteristic life"),
        valid=_are_removals,
        constants={"least": "life_fit.least_failures", "trusted": "life_fit.trusted_failures"},
        sources=[_HANDBOOK, _INTERVALS],
        misfit="one model for all parts given: fit kinds of part apart; parts that were lost sight of or "
        "bought used are not counted rightly",
        examples=[
            WorkedExample(
                {
                    "lives": tuple(f"{life} {scale.unit}" for life in _HOURS),
                    "failed": tuple("0 1" if hours == _HOURS[-1] else "1 1" for hours in _HOURS),
                    "confidence": "0.95 1",
                },
                f"606.528 {scale.unit}",
                f"0.001 {scale.unit}",
                _HANDBOOK,
                "in hours; 10 failed, 10 were taken out working at 500",
            )
        ],
    )(fit)


fit_life_age = _fit_of(AGE)
fit_life_distance = _fit_of(DISTANCE)
