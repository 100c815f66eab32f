"""How sure a verdict on a reading is: probability of conformity, guard bands, risks.

A reading with its standard uncertainty is taken as a normal distribution of
what may be true. A guard band moves the limit of acceptance inside the limit,
so that what is accepted conforms with a known confidence. The words are those
of JCGM 106; what is computed is the normal distribution and was checked
against published figures of it, as the guide's own text was not read.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

from stemlore.formulas._formula import Estimate, Formula, WorkedExample, define_formula
from stemlore.formulas._operators import Number, positive
from stemlore.formulas._science import numpy, special
from stemlore.formulas.constants import Cited
from stemlore.formulas.life import exactly
from stemlore.provenance import Grade

__all__ = [
    "depth_at_least_probability",
    "depth_at_most_probability",
    "depth_between_probability",
    "depth_consumers_risk",
    "depth_lower_acceptance_limit",
    "depth_producers_risk",
    "depth_upper_acceptance_limit",
    "guard_factor",
    "pressure_at_least_probability",
    "pressure_at_most_probability",
    "pressure_between_probability",
    "pressure_consumers_risk",
    "pressure_lower_acceptance_limit",
    "pressure_producers_risk",
    "pressure_upper_acceptance_limit",
]

_PARTS = Cited("tolerance-problem", "solution", Grade.SECONDARY)
_NOTE = Cited("nist-1297", "6.2, note", Grade.REPRODUCTION)
_ILAC = Cited("ilac-g8", "4.1, 4.2.2", Grade.REPRODUCTION)
_MICROMETER = Cited("micrometer-rule", "principle", Grade.SECONDARY)
_FACTORS = Cited("compliance-sheet", "acceptance limits", Grade.SECONDARY)
_RISKS = Cited("risk-figures", "figures of pages 7 and 10", Grade.SECONDARY)

_PLAIN = "plain numbers in the source"
_NORMAL = ("a normal distribution",)


def _is_reading(uncertainty: Any) -> Any:
    """The uncertainty is above zero."""
    return positive(uncertainty)


def _is_between(uncertainty: Any, lower: Any, upper: Any) -> Any:
    """The uncertainty is above zero, the lower limit below the upper."""
    return positive(uncertainty) & (lower < upper)


def _is_band(guard: Number) -> Number:
    """The guard band is not below zero."""
    return guard >= 0 * guard


def _is_risk(risk: Any) -> Any:
    """The risk lies between 0 and a half, both left out."""
    return positive(risk) & (risk < 0.5)


def _is_population(spread: Any, uncertainty: Any, lower: Any, upper: Any, guard: Any) -> Any:
    """Spread and uncertainty are above zero; the limits leave room between the guard bands."""
    return positive(spread) & positive(uncertainty) & (guard >= 0) & (lower + guard < upper - guard)


def _normal(deviations: Any) -> Any:
    return special("conformity").ndtr(deviations)


def _estimate(value: Any) -> Estimate:
    return exactly(value, "1", Grade.SECONDARY, _NORMAL)


@define_formula(
    kind="procedure",
    args={"risk": ("1", "greatest probability of accepting what does not conform")},
    returns=("1", "guard band in standard uncertainties, against one limit"),
    valid=_is_risk,
    sources=[_FACTORS],
    examples=[
        WorkedExample({"risk": "5 %"}, "1.64 1", "0.005 1", _FACTORS),
        WorkedExample({"risk": "1 %"}, "2.33 1", "0.005 1", _FACTORS),
    ],
)
def guard_factor(risk: Any) -> Estimate:
    """Width of a guard band in standard uncertainties, from the risk of a wrong acceptance at the limit."""
    return _estimate(0 - special("guard_factor").ndtri(risk))


def _at_most(reading: Any, uncertainty: Any, limit: Any) -> Estimate:
    return _estimate(_normal((limit - reading) / uncertainty))


def _at_least(reading: Any, uncertainty: Any, limit: Any) -> Estimate:
    return _estimate(_normal((reading - limit) / uncertainty))


def _between(reading: Any, uncertainty: Any, lower: Any, upper: Any) -> Estimate:
    # from the nearer side, so that what is small is not a difference of near ones
    outside = _normal((lower - reading) / uncertainty) + _normal((reading - upper) / uncertainty)
    return exactly(1 - outside, "1", Grade.SECONDARY, _NORMAL, among=1)


def _probability_of(
    what: str, symbol: str, side: str, body: Callable[..., Estimate], examples: list[WorkedExample]
) -> Formula:
    limits = {"limit": (symbol, "limit")}
    if side == "between":
        limits = {"lower": (symbol, "lower limit"), "upper": (symbol, "upper limit")}
    words = {
        "at_most": "at most an upper limit",
        "at_least": "at least a lower limit",
        "between": "within two limits",
    }
    return define_formula(
        name=f"{what}_{side}_probability",
        doc=f"Probability that the true {what} is {words[side]}, from a reading.\n\n"
        "Where the reading was accepted, what is missing to 1 is the risk of a wrong acceptance.",
        kind="procedure",
        args={
            "reading": (symbol, "reading"),
            "uncertainty": (symbol, "standard uncertainty of the reading"),
            **limits,
        },
        returns=("1", "probability of conformity"),
        valid=_is_between if side == "between" else _is_reading,
        sources=[_PARTS, _NOTE],
        misfit="takes the error as normal; where one rectangular error rules, the ends are surer than told",
        examples=examples,
    )(body)


def _part(symbol: str, **limits: str) -> dict[str, str]:
    return {
        "reading": f"1.281 {symbol}",
        "uncertainty": f"0.008 {symbol}",
        **{name: f"{value} {symbol}" for name, value in limits.items()},
    }


def _at_most_of(what: str, symbol: str) -> Formula:
    examples = [WorkedExample(_part(symbol, limit="1.299"), "0.987775527 1", "1e-6 1", _PARTS, _PLAIN)]
    return _probability_of(what, symbol, "at_most", _at_most, examples)


def _at_least_of(what: str, symbol: str) -> Formula:
    examples = [
        WorkedExample(
            _part(symbol, limit="1.251"), "0.9999115827 1", "1e-6 1", _PARTS, "printed as 8.84173e-5 below it"
        )
    ]
    return _probability_of(what, symbol, "at_least", _at_least, examples)


def _between_of(what: str, symbol: str) -> Formula:
    examples = [
        WorkedExample(_part(symbol, lower="1.251", upper="1.299"), "0.98768711 1", "1e-6 1", _PARTS, _PLAIN)
    ]
    examples += [
        WorkedExample(
            {
                "reading": f"0 {symbol}",
                "uncertainty": f"1 {symbol}",
                "lower": f"-{factor} {symbol}",
                "upper": f"{factor} {symbol}",
            },
            f"{percent} %",
            "0.005 %",
            _NOTE,
            "for a coverage factor",
        )
        for factor, percent in (
            ("1", "68.27"),
            ("1.645", "90"),
            ("2", "95.45"),
            ("2.576", "99"),
            ("3", "99.73"),
        )
    ]
    return _probability_of(what, symbol, "between", _between, examples)


# --- acceptance limits: arithmetic, so that they may stand in rules -----------------------------


def _inside_upper(limit: Number, guard: Number) -> Number:
    return limit - guard


def _inside_lower(limit: Number, guard: Number) -> Number:
    return limit + guard


def _acceptance_of(what: str, symbol: str, side: str) -> Formula:
    limit, accepted = ("0.003", "0.002") if side == "upper" else ("-0.003", "-0.002")
    return define_formula(
        name=f"{what}_{side}_acceptance_limit",
        doc=f"Limit for a {what} reading inside a{'n upper' if side == 'upper' else ' lower'} limit, "
        "by a guard band.",
        args={
            "limit": (symbol, f"{side} limit"),
            "guard": (symbol, "guard band, often the expanded uncertainty of the reading"),
        },
        returns=(symbol, f"{'greatest' if side == 'upper' else 'least'} reading that is accepted"),
        valid=_is_band,
        sources=[_ILAC],
        examples=[
            WorkedExample(
                {"limit": f"{limit} {symbol}", "guard": f"0.0010 {symbol}"},
                f"{accepted} {symbol}",
                f"1e-9 {symbol}",
                _MICROMETER,
                "a deviation in mm, permitted 0.003 either way",
            )
        ],
    )(_inside_upper if side == "upper" else _inside_lower)


# --- risks over many: what is there, and what the readings let through --------------------------

_TINY = sys.float_info.min


def _both_below(first: float, second: float, correlation: float) -> float:
    """Return the probability that two normal deviations lie below two bounds, by Owen's function."""
    owen = special("conformity").owens_t
    apart = (1 - correlation * correlation) ** 0.5
    # a bound of exactly zero is taken as the limit from above
    h, k = (float(each) or _TINY for each in (first, second))
    joint = (_normal(h) + _normal(k)) / 2
    joint -= owen(h, (k / h - correlation) / apart) + owen(k, (h / k - correlation) / apart)
    return float(joint if (h > 0) == (k > 0) else joint - 0.5)


def _shares(
    mean: float, spread: float, uncertainty: float, lower: float, upper: float, guard: float
) -> tuple[float, float, float]:
    """Return the shares that conform, that are accepted, and both."""
    seen = (spread * spread + uncertainty * uncertainty) ** 0.5
    low, high = (lower - mean) / spread, (upper - mean) / spread
    from_, to = (lower + guard - mean) / seen, (upper - guard - mean) / seen
    tie = spread / seen
    both = _both_below(high, to, tie) - _both_below(low, to, tie)
    both -= _both_below(high, from_, tie) - _both_below(low, from_, tie)
    return float(_normal(high) - _normal(low)), float(_normal(to) - _normal(from_)), both


def _consumers(*values: float) -> float:
    _, accepted, both = _shares(*values)
    return max(accepted - both, 0)


def _producers(*values: float) -> float:
    conform, _, both = _shares(*values)
    return max(conform - both, 0)


def _risk_of(what: str, symbol: str, whose: str) -> Formula:
    one = _consumers if whose == "consumers" else _producers

    def risk(mean: Any, spread: Any, uncertainty: Any, lower: Any, upper: Any, guard: Any) -> Estimate:
        found = numpy("conformity").vectorize(one, otypes=[float])(
            mean, spread, uncertainty, lower, upper, guard
        )
        return exactly(found, "1", Grade.SECONDARY, _NORMAL, among=1)

    told = "does not conform and is accepted" if whose == "consumers" else "conforms and is rejected"

    def example(uncertainty: str, guard: str, percent: str, within: str) -> WorkedExample:
        given = {"mean": 0, "spread": 1, "uncertainty": uncertainty, "lower": -2, "upper": 2, "guard": guard}
        values = {name: f"{value} {symbol}" for name, value in given.items()}
        return WorkedExample(
            values, f"{percent} %", f"{within} %", _RISKS, "limits at two standard deviations"
        )

    cells = (
        [("0.25", "0", "0.8", "0.01"), ("0.5", "0.18", "0.8", "0.05")]
        if whose == "consumers"
        else [("0.25", "0", "1.5", "0.05"), ("0.5", "0.18", "6.6", "0.1")]
    )
    return define_formula(
        name=f"{what}_{whose}_risk",
        doc=f"Share of many parts whose {what} {told}: the {whose[:-1]}'s risk.\n\n"
        "Both limits are guarded alike; where there is one limit only, put the other far away.",
        kind="procedure",
        args={
            "mean": (symbol, "mean of what is true among the parts"),
            "spread": (symbol, "standard deviation of what is true among the parts"),
            "uncertainty": (symbol, "standard uncertainty of one reading"),
            "lower": (symbol, "lower limit"),
            "upper": (symbol, "upper limit"),
            "guard": (symbol, "guard band inside both limits; 0 for simple acceptance"),
        },
        returns=("1", f"share of all parts that {told}"),
        valid=_is_population,
        sources=[_RISKS],
        misfit="takes parts and errors of reading as normal; mean and spread must come from records",
        examples=[example(*cell) for cell in cells],
    )(risk)


pressure_at_most_probability = _at_most_of("pressure", "kPa")
pressure_at_least_probability = _at_least_of("pressure", "kPa")
pressure_between_probability = _between_of("pressure", "kPa")
depth_at_most_probability = _at_most_of("depth", "mm")
depth_at_least_probability = _at_least_of("depth", "mm")
depth_between_probability = _between_of("depth", "mm")
pressure_upper_acceptance_limit = _acceptance_of("pressure", "kPa", "upper")
pressure_lower_acceptance_limit = _acceptance_of("pressure", "kPa", "lower")
depth_upper_acceptance_limit = _acceptance_of("depth", "mm", "upper")
depth_lower_acceptance_limit = _acceptance_of("depth", "mm", "lower")
pressure_consumers_risk = _risk_of("pressure", "kPa", "consumers")
pressure_producers_risk = _risk_of("pressure", "kPa", "producers")
depth_consumers_risk = _risk_of("depth", "mm", "consumers")
depth_producers_risk = _risk_of("depth", "mm", "producers")
