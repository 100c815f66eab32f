"""Loss of pressure through the rubber, and how much air a leak lets out.

At a constant temperature gas goes through the rubber in proportion to the
gauge pressure, which therefore decays exponentially. How fast, is a matter of
the tyre; only what was published for passenger tyres stands here.

An activation energy is given as a temperature: the energy over the molar gas
constant, 1000 K for each 8.314 kJ/mol.
"""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, choose, exp, log, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "activation_from_rates",
    "atmosphere_flow",
    "fall_time",
    "leak_throughput",
    "permeation_limit",
    "permeation_rate",
    "pressure_after_permeation",
    "rate_at_temperature",
    "standard_flow",
    "throughput_of_flow",
]

_SCIENCE = Cited("tire-science-13", "abstract", Grade.READ)
_LEAKY = Cited("leaky-container", "leakage rate model", Grade.SECONDARY)
_STUDY = Cited("nitrogen-study", "results", Grade.SECONDARY)
_RATES = Cited("rate-law-example", "worked example", Grade.SECONDARY)
_PROBLEM = Cited("rate-law-problem", "solution", Grade.SECONDARY)
_UNITS = Cited("leak-units", "table", Grade.SECONDARY)
_TANK = Cited("leak-calculator", "practical example", Grade.SECONDARY)

_PRESSURE = ("kPa", "gauge pressure at the start")
_AFTER = ("kPa", "gauge pressure at the end, at the same temperature and ambient pressure")
_TIME = ("d", "time from start to end")
_RATE = ("1/d", "share of the gauge pressure lost in a day, at one moment")
_THROUGHPUT = ("mbar.L/s", "throughput of the leak: pressure times volume that goes out, by time")
_ACTIVATION = "activation energy over the molar gas constant"
_ONE_GAS = (
    "one gas through one wall; oxygen leaves faster than nitrogen, and published losses of tyres are no "
    "more than averages"
)
_STEADY = "the same temperature, volume and ambient pressure at start and end"


def _is_loss(pressure: Number, pressure_after: Number, time: Number) -> Number:
    """All above zero, and the pressure does not rise."""
    return positive(pressure_after) & positive(time) & (pressure_after <= pressure)


@define_formula(
    args={"pressure": _PRESSURE, "pressure_after": _AFTER, "time": _TIME},
    returns=_RATE,
    valid=_is_loss,
    sources=[_LEAKY],
    misfit=_ONE_GAS,
    examples=[
        WorkedExample(
            {"pressure": "30 psi", "pressure_after": "26.5 psi", "time": "365 d"},
            "0.00032 1/d",
            "0.00002 1/d",
            _STUDY,
            "printed is 11.7 % of the start in a year; of what is left at each moment it is 12.4 %",
        )
    ],
)
def permeation_rate(pressure: Number, pressure_after: Number, time: Number) -> Number:
    """Rate of permeation from the gauge pressures at the ends of a time."""
    return log(pressure / pressure_after) / time


def _can_decay(pressure: Number, rate: Number, time: Number) -> Number:
    """Pressure, rate and time are above zero."""
    return positive(pressure) & positive(rate) & positive(time)


@define_formula(
    args={"pressure": _PRESSURE, "rate": _RATE, "time": _TIME},
    returns=("kPa", "gauge pressure at the end, at the same temperature and ambient pressure"),
    valid=_can_decay,
    sources=[_LEAKY],
    misfit=_ONE_GAS,
    examples=[
        WorkedExample(
            {"pressure": "30 psi", "rate": "0.00032 1/d", "time": "365 d"},
            "26.5 psi",
            "0.2 psi",
            _STUDY,
            "with 11.7 % in a year as the rate; it is meant of the start",
        ),
        WorkedExample(
            {"pressure": "30 psi", "rate": "0.0002 1/d", "time": "365 d"},
            "27.8 psi",
            "0.1 psi",
            _STUDY,
            "filled with nitrogen: 7.3 % in a year",
        ),
    ],
)
def pressure_after_permeation(pressure: Number, rate: Number, time: Number) -> Number:
    """Gauge pressure after some time at a constant rate of permeation."""
    return pressure * exp(-(rate * time))


def _is_warmed(rate: Number, temperature: Number, new_temperature: Number, activation: Number) -> Number:
    """All above zero."""
    return positive(rate) & positive(temperature) & positive(new_temperature) & positive(activation)


@define_formula(
    args={
        "rate": ("1/d", "rate at the one temperature"),
        "temperature": ("K", "the one temperature"),
        "new_temperature": ("K", "the other temperature"),
        "activation": ("K", _ACTIVATION),
    },
    returns=("1/d", "rate at the other temperature"),
    valid=_is_warmed,
    sources=[_PROBLEM],
    misfit=(
        "the law of Arrhenius; published losses of tyres at 21 and 32 °C imply an activation between 3309 "
        "and 8965 K (27.5 and 74.5 kJ/mol), so there is no figure for every tyre"
    ),
    examples=[
        WorkedExample(
            {
                "rate": "1 1/d",
                "temperature": "298 K",
                "new_temperature": "308 K",
                "activation": "6013.95 K",
            },
            "1.93 1/d",
            "0.005 1/d",
            _PROBLEM,
            "50 kJ/mol over 8.314 J/(mol.K)",
        )
    ],
)
def rate_at_temperature(
    rate: Number, temperature: Number, new_temperature: Number, activation: Number
) -> Number:
    """Rate of permeation at another temperature."""
    return rate * exp(activation / temperature - activation / new_temperature)


def _can_be_told_apart(
    rate: Number, new_rate: Number, temperature: Number, new_temperature: Number
) -> Number:
    """All above zero; the warmer one has the greater rate."""
    return positive(rate) & positive(temperature) & (new_temperature > temperature) & (new_rate >= rate)


@define_formula(
    args={
        "rate": ("1/d", "rate at the lower temperature"),
        "new_rate": ("1/d", "rate at the higher temperature"),
        "temperature": ("K", "lower temperature"),
        "new_temperature": ("K", "higher temperature"),
    },
    returns=("K", _ACTIVATION),
    valid=_can_be_told_apart,
    sources=[_RATES],
    misfit="from two rates only, it has no way to show its own error",
    examples=[
        WorkedExample(
            {
                "rate": "0.001 1/d",
                "new_rate": "0.01 1/d",
                "temperature": "300 K",
                "new_temperature": "350 K",
            },
            "4836.4 K",
            "3 K",
            _RATES,
            "40.21 kJ/mol over 8.314 J/(mol.K); the source rounds a step to 0.000476",
        )
    ],
)
def activation_from_rates(
    rate: Number, new_rate: Number, temperature: Number, new_temperature: Number
) -> Number:
    """Activation of permeation from the rates at two temperatures."""
    return log(new_rate / rate) * new_temperature * (temperature / (new_temperature - temperature))


def _is_of_a_tyre(temperature: Number, lowest: Number, highest: Number) -> Number:
    """From -45 to 120 °C."""
    return (temperature >= lowest) & (temperature <= highest)


@define_formula(
    args={"temperature": ("K", "temperature of the air in the tyre, mean over the time")},
    returns=("kPa/d", "greatest fall of gauge pressure that was measured as permeation"),
    gives="kPa/d",
    valid=_is_of_a_tyre,
    constants={
        "lowest": "air.lowest_temperature",
        "highest": "air.highest_temperature",
        "cool": ("permeation.cool.temperature", "K"),
        "warm": ("permeation.warm.temperature", "K"),
        "at_cool": ("permeation.cool.greatest", "kPa"),
        "at_warm": ("permeation.warm.greatest", "kPa"),
        "month": "calendar.month",
    },
    sources=[_SCIENCE],
    misfit=(
        "passenger tyres of the 1980s at rest; nothing was published below 21 or above 32 °C, where the "
        "nearer of the two figures is kept; truck tyres at high pressure lose more"
    ),
    examples=[
        WorkedExample(
            {"temperature": "21 degC"}, "0.2267 kPa/d", "0.0017 kPa/d", _SCIENCE, "6.9 kPa in a month"
        ),
        WorkedExample(
            {"temperature": "32 degC"}, "0.3384 kPa/d", "0.0017 kPa/d", _SCIENCE, "10.3 kPa in a month"
        ),
    ],
)
def permeation_limit(
    temperature: Number, cool: Number, warm: Number, at_cool: Number, at_warm: Number, month: Number
) -> Number:
    """Greatest fall of pressure published as permeation, between the temperatures it was measured at."""
    kept = choose(temperature < cool, cool, choose(temperature > warm, warm, temperature))
    # the share of the way in 1/T: the law of Arrhenius through both figures
    share = (warm / kept) * ((kept - cool) / (warm - cool))
    return at_cool / month * exp(share * log(at_warm / at_cool))


def _is_fall(volume: Number, pressure_fall: Number, time: Number) -> Number:
    """All above zero."""
    return positive(volume) & positive(pressure_fall) & positive(time)


@define_formula(
    args={
        "volume": ("L", "volume of the air"),
        "pressure_fall": ("mbar", "fall of pressure"),
        "time": ("s", "time that it took"),
    },
    returns=_THROUGHPUT,
    valid=_is_fall,
    sources=[_TANK],
    misfit=_STEADY,
    examples=[
        WorkedExample(
            {"volume": "5 L", "pressure_fall": "2 mbar", "time": "30 s"},
            "0.333 mbar.L/s",
            "0.0005 mbar.L/s",
            _TANK,
        )
    ],
)
def leak_throughput(volume: Number, pressure_fall: Number, time: Number) -> Number:
    """Throughput of a leak from the fall of pressure in a known volume."""
    return pressure_fall * volume / time


def _can_fall(volume: Number, pressure_fall: Number, throughput: Number) -> Number:
    """All above zero."""
    return positive(volume) & positive(pressure_fall) & positive(throughput)


@define_formula(
    args={
        "volume": ("L", "volume of the air"),
        "pressure_fall": ("mbar", "fall of pressure"),
        "throughput": _THROUGHPUT,
    },
    returns=("s", "time that the fall takes"),
    valid=_can_fall,
    sources=[_TANK],
    misfit=_STEADY + "; a leak slows as the pressure falls, so a great fall takes longer",
    examples=[
        WorkedExample(
            {"volume": "5 L", "pressure_fall": "2 mbar", "throughput": "0.333 mbar.L/s"},
            "30 s",
            "0.05 s",
            _TANK,
            "the published case the other way round",
        )
    ],
)
def fall_time(volume: Number, pressure_fall: Number, throughput: Number) -> Number:
    """Time that a leak of constant throughput takes for a fall of pressure."""
    return pressure_fall * volume / throughput


def _is_throughput(throughput: Number, temperature: Number) -> Number:
    """Throughput and temperature are above zero."""
    return positive(throughput) & positive(temperature)


_STANDARD: dict[str, str | tuple[str, str]] = {
    "standard_pressure": ("standard.pressure", "mbar"),
    "standard_temperature": "standard.temperature",
}


@define_formula(
    args={"throughput": _THROUGHPUT, "temperature": ("K", "temperature of the gas")},
    returns=("cm3/min", "standard flow at 0 °C and 1013 mbar (sccm)"),
    gives="L/s",
    valid=_is_throughput,
    constants=_STANDARD,
    sources=[_UNITS],
    misfit="standard means 0 °C here; some instruments mean 20 or 25 °C",
    examples=[
        WorkedExample(
            {"throughput": "1 mbar.L/s", "temperature": "0 degC"}, "59.2 cm3/min", "0.05 cm3/min", _UNITS
        )
    ],
)
def standard_flow(
    throughput: Number, temperature: Number, standard_pressure: Number, standard_temperature: Number
) -> Number:
    """Standard flow of a leak, in standard cubic centimetres a minute."""
    return throughput / standard_pressure * (standard_temperature / temperature)


def _is_flow(flow: Number, temperature: Number) -> Number:
    """Flow and temperature are above zero."""
    return positive(flow) & positive(temperature)


@define_formula(
    args={
        "flow": ("cm3/min", "standard flow at 0 °C and 1013 mbar (sccm)"),
        "temperature": ("K", "temperature of the gas"),
    },
    returns=_THROUGHPUT,
    gives="cm3.mbar/min",
    valid=_is_flow,
    constants=_STANDARD,
    sources=[_UNITS],
    misfit="standard means 0 °C here; some instruments mean 20 or 25 °C",
    examples=[
        WorkedExample(
            {"flow": "59.2 cm**3/min", "temperature": "0 degC"},
            "1 mbar.L/s",
            "0.001 mbar.L/s",
            _UNITS,
            "the published pair the other way round",
        )
    ],
)
def throughput_of_flow(
    flow: Number, temperature: Number, standard_pressure: Number, standard_temperature: Number
) -> Number:
    """Throughput of a leak from its standard flow."""
    return flow * standard_pressure * (temperature / standard_temperature)


def _is_at_ambient(throughput: Number, ambient: Number) -> Number:
    """Throughput and ambient pressure are above zero."""
    return positive(throughput) & positive(ambient)


@define_formula(
    args={"throughput": _THROUGHPUT, "ambient": ("mbar", "ambient pressure, absolute")},
    returns=("cm3/s", "volume of air at ambient pressure that goes out, by time"),
    gives="L/s",
    valid=_is_at_ambient,
    sources=[_UNITS],
    examples=[
        WorkedExample(
            {"throughput": "1 mbar.L/s", "ambient": "1013 mbar"},
            "0.987 cm3/s",
            "0.0005 cm3/s",
            _UNITS,
            "atm.cc/s",
        )
    ],
)
def atmosphere_flow(throughput: Number, ambient: Number) -> Number:
    """Volume of air that a leak lets out, as bubbles under water or behind soap show it."""
    return throughput / ambient
