"""How far a reading may be off: gauge errors by rule, and the uncertainty of a reading.

The greatest permissible errors are those of the repealed directive on tyre
pressure gauges; marked gauges are still in use. A standard uncertainty is put
together from what may be off: errors between two limits as a rectangle,
repeated readings by their standard deviation, as root of the sum of squares.
"""

from __future__ import annotations

from stemlore.formulas._formula import Formula, WorkedExample, define_formula
from stemlore.formulas._operators import Number, choose, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "depth_expanded_uncertainty",
    "depth_uncertainty",
    "gauge_class_error",
    "pressure_expanded_uncertainty",
    "pressure_uncertainty",
    "tyre_gauge_error",
    "tyre_gauge_error_in_use",
    "tyre_gauge_temperature_error",
]

_LIMITS = Cited("tyre-gauge-decree", "annex 2.1", Grade.REPRODUCTION)
_TEMPERATURE = Cited("tyre-gauge-decree", "annex 2.2", Grade.REPRODUCTION)
_IN_USE = Cited("messev", "22(2)", Grade.READ)
_CLASSES = Cited("gauge-classes", "page 17", Grade.REPRODUCTION)
_NOTE = Cited("nist-1297", "5.1", Grade.READ)
_FACTOR = Cited("nist-1297", "6.1", Grade.REPRODUCTION)
_RECTANGLE = Cited("eurachem-uncertainty", "E.1", Grade.REPRODUCTION)
_RESOLUTION = Cited("resolution-note", "rectangular distribution", Grade.SECONDARY)
_BUDGET = Cited("gauge-budget", "6.1", Grade.SECONDARY)
_VISCOSITY = Cited("viscosity-zone", "A4.4, A4.5", Grade.SECONDARY)

_READING = {"pressure": ("kPa", "gauge pressure that is read")}
_ERROR = ("kPa", "greatest permissible error, either way")


def _is_pressure(pressure: Number) -> Number:
    """The pressure is above zero."""
    return positive(pressure)


def _by_range(
    pressure: Number,
    low_range: Number,
    high_range: Number,
    error_low: Number,
    error_high: Number,
    error_top: Number,
) -> Number:
    return choose(pressure <= low_range, error_low, choose(pressure <= high_range, error_high, error_top))


_RANGES: dict[str, str | tuple[str, str]] = {
    "low_range": "tyre_gauge.low_range",
    "high_range": "tyre_gauge.high_range",
    "error_low": "tyre_gauge.error_low",
    "error_high": "tyre_gauge.error_high",
    "error_top": "tyre_gauge.error_top",
}
_CELLS = ((400, 8), (401, 16), (1000, 16), (1001, 25))


@define_formula(
    args=_READING,
    returns=_ERROR,
    valid=_is_pressure,
    constants=_RANGES,
    sources=[_LIMITS],
    misfit="at 15 to 25 °C; law for gauges with the EEC mark until 30 November 2015; EN 12645, which "
    "stands today, was not read",
    examples=[
        WorkedExample({"pressure": f"{pressure} kPa"}, f"{error} kPa", "0 kPa", _LIMITS)
        for pressure, error in _CELLS
    ],
)
def tyre_gauge_error(
    pressure: Number,
    low_range: Number,
    high_range: Number,
    error_low: Number,
    error_high: Number,
    error_top: Number,
) -> Number:
    """Greatest permissible error of a tyre gauge when verified, by the pressure that is read."""
    return _by_range(pressure, low_range, high_range, error_low, error_high, error_top)


@define_formula(
    args=_READING,
    returns=_ERROR,
    valid=_is_pressure,
    constants={**_RANGES, "factor": "messev.in_use_factor"},
    sources=[_LIMITS, _IN_USE],
    misfit="German law: up to twice the error of verification is presumed fine, unless published otherwise",
    examples=[
        WorkedExample(
            {"pressure": f"{pressure} kPa"},
            f"{2 * error} kPa",
            "0 kPa",
            _IN_USE,
            "twice the error of verification",
        )
        for pressure, error in _CELLS
    ],
)
def tyre_gauge_error_in_use(
    pressure: Number,
    low_range: Number,
    high_range: Number,
    error_low: Number,
    error_high: Number,
    error_top: Number,
    factor: Number,
) -> Number:
    """Greatest permissible error of a tyre gauge in use, in Germany."""
    return factor * _by_range(pressure, low_range, high_range, error_low, error_high, error_top)


def _is_in_climate(
    pressure: Number, temperature: Number, high_range: Number, coldest: Number, hottest: Number
) -> Number:
    """Above zero and at most 1000 kPa; from -10 to 40 °C."""
    return positive(pressure) & (pressure <= high_range) & (temperature >= coldest) & (temperature <= hottest)


@define_formula(
    args={**_READING, "temperature": ("K", "temperature of the gauge")},
    returns=("kPa", "error to grant beside the greatest permissible one, either way"),
    valid=_is_in_climate,
    constants={
        "low_range": "tyre_gauge.low_range",
        "high_range": "tyre_gauge.high_range",
        "share_low": "tyre_gauge.temperature_share_low",
        "share_high": "tyre_gauge.temperature_share_high",
        "cool": ("tyre_gauge.reference_from", "K"),
        "warm": ("tyre_gauge.reference_to", "K"),
        "coldest": ("tyre_gauge.coldest", "K"),
        "hottest": ("tyre_gauge.hottest", "K"),
    },
    sources=[_TEMPERATURE],
    misfit="for gauges of the repealed directive; above 1000 kPa nothing was seen",
    examples=[
        WorkedExample(
            {"pressure": f"{pressure} kPa", "temperature": f"{celsius} degC"},
            f"{error} kPa",
            "1e-9 kPa",
            _TEMPERATURE,
            f"{percent} % for each degree",
        )
        for pressure, celsius, error, percent in (
            (400, 26, 0.4, "0.1 % of 400 kPa"),
            (400, 14, 0.4, "0.1 % of 400 kPa"),
            (1000, 26, 0.5, "0.05 % of 1000 kPa"),
            (230, 20, 0, "none from 15 to 25 °C, 0"),
        )
    ],
)
def tyre_gauge_temperature_error(
    pressure: Number,
    temperature: Number,
    low_range: Number,
    high_range: Number,
    share_low: Number,
    share_high: Number,
    cool: Number,
    warm: Number,
) -> Number:
    """Error that a tyre gauge is granted in cold or heat, on top of its greatest permissible one."""
    # by ratios, as a difference of temperatures is no temperature
    cold, heat = cool * (1 - temperature / cool), warm * (temperature / warm - 1)
    beyond = choose(temperature < cool, cold, choose(temperature > warm, heat, 0 * temperature))
    return beyond * choose(pressure <= low_range, share_low * low_range, share_high * high_range)


def _is_gauge(span: Number, accuracy_class: Number) -> Number:
    """Span and class are above zero."""
    return positive(span) & positive(accuracy_class)


@define_formula(
    args={
        "span": ("kPa", "span of the gauge's scale"),
        "accuracy_class": ("1", "accuracy class, as per cent: class 1.6 is 1.6 %"),
    },
    returns=_ERROR,
    valid=_is_gauge,
    sources=[_CLASSES],
    examples=[
        WorkedExample({"span": "10 bar", "accuracy_class": "1.6 %"}, "0.16 bar", "1e-9 bar", _CLASSES),
    ],
)
def gauge_class_error(span: Number, accuracy_class: Number) -> Number:
    """Greatest permissible error of a pressure gauge from its accuracy class (EN 837-1)."""
    return span * accuracy_class


# --- uncertainty of a reading -----------------------------------------------------------------


def _may_be_off(mpe: Number, resolution: Number, repeatability: Number, other: Number) -> Number:
    """None is below zero, and one at least is above."""
    return (
        (mpe >= 0 * mpe)
        & (resolution >= 0 * mpe)
        & (repeatability >= 0 * mpe)
        & (other >= 0 * mpe)
        & positive(mpe + resolution + repeatability + other)
    )


def _combined(mpe: Number, resolution: Number, repeatability: Number, other: Number) -> Number:
    # as shares of their sum: a rule's tree takes powers of plain numbers only
    whole = mpe + resolution + repeatability + other
    limits, steps = mpe / whole, resolution / whole / 2
    spread, others = repeatability / whole, other / whole
    # limits of error are a rectangle, a scale step half of one to either side
    return whole * ((limits * limits + steps * steps) / 3 + spread * spread + others * others) ** 0.5


def _is_covered(uncertainty: Number, coverage: Number) -> Number:
    """Uncertainty and coverage factor are above zero."""
    return positive(uncertainty) & positive(coverage)


def _expanded(uncertainty: Number, coverage: Number) -> Number:
    return uncertainty * coverage


def _given(symbol: str, **values: str) -> dict[str, str]:
    names = ("mpe", "resolution", "repeatability", "other")
    return {name: f"{values.get(name, '0')} {symbol}" for name in names}


def _uncertainty_of(what: str, symbol: str) -> Formula:
    return define_formula(
        name=f"{what}_uncertainty",
        doc=f"Standard uncertainty of a {what} reading, from all that may be off.",
        args={
            "mpe": (symbol, "greatest permissible error of the instrument, either way"),
            "resolution": (symbol, "scale step, or step of the last digit"),
            "repeatability": (symbol, "standard deviation of repeated readings, or of their mean"),
            "other": (symbol, "standard uncertainty from elsewhere, such as a correction"),
        },
        returns=(symbol, "standard uncertainty"),
        valid=_may_be_off,
        sources=[_NOTE, _RECTANGLE, _RESOLUTION],
        misfit="takes it that the causes have nothing to do with each other",
        examples=[
            WorkedExample(
                _given(symbol, mpe="1.5"), f"0.87 {symbol}", f"0.005 {symbol}", _RECTANGLE, "plain numbers"
            ),
            WorkedExample(
                _given(symbol, resolution="1"),
                f"0.2887 {symbol}",
                f"5e-5 {symbol}",
                _RESOLUTION,
                "for a step of one",
            ),
            WorkedExample(
                _given(symbol, repeatability="0.19", other="0.11"),
                f"0.222 {symbol}",
                f"0.004 {symbol}",
                _VISCOSITY,
                "printed 0.32 at a factor of 1.44; per cent in the source",
            ),
        ],
    )(_combined)


def _expanded_of(what: str, symbol: str) -> Formula:
    return define_formula(
        name=f"{what}_expanded_uncertainty",
        doc=f"Expanded uncertainty of a {what} reading.\n\n"
        "A factor of 2 stands for about 95 % in a normal distribution.",
        args={
            "uncertainty": (symbol, "standard uncertainty"),
            "coverage": ("1", "coverage factor, often 2"),
        },
        returns=(symbol, "expanded uncertainty"),
        valid=_is_covered,
        sources=[_FACTOR],
        examples=[
            WorkedExample(
                {"uncertainty": f"0.0207 {symbol}", "coverage": "2 1"},
                f"0.0414 {symbol}",
                f"5e-5 {symbol}",
                _BUDGET,
                "in bar; the source goes the other way",
            )
        ],
    )(_expanded)


pressure_uncertainty = _uncertainty_of("pressure", "kPa")
depth_uncertainty = _uncertainty_of("depth", "mm")
pressure_expanded_uncertainty = _expanded_of("pressure", "kPa")
depth_expanded_uncertainty = _expanded_of("depth", "mm")
