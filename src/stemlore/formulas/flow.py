"""Flow of air through a hole, and how long a tyre takes to go down.

A nozzle or hole is choked while the pressure in front is great enough: then
the flow does not depend on ambient pressure. The temperature of the air in
the tyre is taken as constant.
"""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, choose, log, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = ["choking_pressure", "deflation_time", "hole_flow", "iso6358_flow"]

_TUTORIAL = Cited("choked-tutorial", "text and charts", Grade.SECONDARY)
_TABLE = Cited("orifice-table", "table", Grade.SECONDARY)
_TEXTBOOK = Cited("fluid-textbook", "problem 3.27", Grade.SECONDARY)
_CATALOGUE = Cited("iso-6358-catalogue", "formulas and example", Grade.SECONDARY)

_AMBIENT = ("kPa", "ambient pressure, absolute")
_HOLE = {
    "temperature": ("K", "temperature of the air in the tyre"),
    "diameter": ("mm", "diameter of the hole"),
    "discharge": ("1", "discharge coefficient of the hole, at most 1"),
}
_AIR = {"heat_ratio": "air.heat_ratio", "gas_constant": "us76.gas_constant", "one": "si.speed", "pi": "pi"}
_HOLES = (
    "the coefficient is the caller's: sources print 0.61 to 0.72 for sharp edges and 0.97 for rounded ones; "
    "a nail that fills its hole lets out far less"
)

# pounds in a cubic foot of free air, as the table prints it
_FREE_AIR = 0.07494


def _critical(heat_ratio: Number) -> Number:
    """Return the ratio of outer to inner absolute pressure below which flow is choked."""
    return (2 / (heat_ratio + 1)) ** (heat_ratio / (heat_ratio - 1))


def _flow_number(ratio: Number, heat_ratio: Number) -> Number:
    """Return the flow through a nozzle in parts of area times pressure over the root of R times T."""
    inner = ratio ** (2 / heat_ratio) - ratio ** ((heat_ratio + 1) / heat_ratio)
    return (2 * heat_ratio / (heat_ratio - 1) * inner) ** 0.5


def _speed(temperature: Number, gas_constant: Number, one: Number) -> Number:
    # a power takes plain numbers only
    return one * (gas_constant * temperature / (one * one)) ** 0.5


def _is_ambient(ambient: Number) -> Number:
    """Ambient pressure is above zero."""
    return positive(ambient)


@define_formula(
    args={"ambient": ("kPa", "pressure behind the hole, absolute")},
    returns=("kPa", "pressure over that, from which on the flow is choked"),
    valid=_is_ambient,
    constants={"heat_ratio": "air.heat_ratio"},
    sources=[_TUTORIAL],
    examples=[
        WorkedExample(
            {"ambient": "14.7 psi"}, "13.14 psi", "0.02 psi", _TUTORIAL, "with 0.528 for 0.52828 as the ratio"
        ),
        WorkedExample(
            {"ambient": "50 psi"},
            "44.7 psi",
            "0.06 psi",
            _TUTORIAL,
            "80 psi before and 35.30 psi behind the hole, both over 14.7 psi",
        ),
    ],
)
def choking_pressure(ambient: Number, heat_ratio: Number) -> Number:
    """Gauge pressure from which on air leaves a hole with the speed of sound."""
    return ambient / _critical(heat_ratio) - ambient


def _is_hole(
    pressure: Number, ambient: Number, temperature: Number, diameter: Number, discharge: Number
) -> Number:
    """All above zero, the discharge coefficient at most 1."""
    return (
        positive(pressure)
        & positive(ambient)
        & positive(temperature)
        & positive(diameter)
        & positive(discharge)
        & (discharge <= 1)
    )


def _table(psi: int, cubic_feet: str, tolerance: str, note: str) -> WorkedExample:
    pounds = float(cubic_feet) * _FREE_AIR
    return WorkedExample(
        {
            "pressure": f"{psi} psi",
            "ambient": "14.7 psi",
            "temperature": "70 degF",
            "diameter": "0.25 in",
            "discharge": "1 1",
        },
        f"{pounds:.6f} lb/min",
        tolerance,
        _TABLE,
        f"{cubic_feet} cubic feet of free air a minute at 0.07494 lb each{note}",
    )


@define_formula(
    args={"pressure": ("kPa", "gauge pressure in front of the hole"), "ambient": _AMBIENT, **_HOLE},
    returns=("g/s", "mass of air that goes out"),
    gives="mm2.kPa.s/m",
    valid=_is_hole,
    constants=_AIR,
    sources=[_TUTORIAL, _TABLE],
    misfit=_HOLES,
    examples=[
        _table(1, "7.18", "0.0008 lb/min", ""),
        _table(5, "15.9", "0.00375 lb/min", ""),
        _table(9, "21.1", "0.00375 lb/min", ""),
        _table(20, "31.4", "0.0085 lb/min", "; above 15 psi the table itself is approximate"),
        _table(35, "45.0", "0.01 lb/min", "; above 15 psi the table itself is approximate"),
        _table(100, "104", "0.0375 lb/min", ""),
    ],
)
def hole_flow(
    pressure: Number,
    ambient: Number,
    temperature: Number,
    diameter: Number,
    discharge: Number,
    heat_ratio: Number,
    gas_constant: Number,
    one: Number,
    pi: Number,
) -> Number:
    """Mass of air that a hole lets out, choked or not."""
    inside = pressure + ambient
    least = _critical(heat_ratio)
    ratio = choose(ambient / inside > least, ambient / inside, least)
    area = pi * diameter * diameter / (2 * 2)
    return (
        discharge * area * inside * _flow_number(ratio, heat_ratio) / _speed(temperature, gas_constant, one)
    )


def _goes_down(
    pressure: Number,
    pressure_after: Number,
    ambient: Number,
    volume: Number,
    temperature: Number,
    diameter: Number,
    discharge: Number,
) -> Number:
    """All above zero; the end at zero or more and at most the start; the coefficient at most 1."""
    return (
        _is_hole(pressure, ambient, temperature, diameter, discharge)
        & positive(volume)
        & (pressure_after + ambient >= ambient)
        & (pressure_after <= pressure)
    )


def _rest(ratio: Number, heat_ratio: Number) -> Number:
    """Return the integral of the flow that is not choked, from a ratio of pressures up to 1."""
    part = ratio ** ((heat_ratio - 1) / heat_ratio)
    root = ((1 - part) / part) ** 0.5
    # a polynomial for a gas of two atoms only: its five degrees of freedom are 2/(heat ratio - 1)
    return root + 2 * root**3 / 3 + root**3 * root * root * (heat_ratio - 1) / 2


@define_formula(
    args={
        "pressure": ("kPa", "gauge pressure at the start"),
        "pressure_after": ("kPa", "gauge pressure at the end"),
        "ambient": _AMBIENT,
        "volume": ("L", "volume of the air"),
        **_HOLE,
    },
    returns=("s", "time that it takes"),
    gives="L.s/mm2/m",
    valid=_goes_down,
    constants=_AIR,
    sources=[_TEXTBOOK],
    misfit=_HOLES
    + "; a tyre that goes down fast cools, which makes it slower, and folds, which makes it faster",
    examples=[
        WorkedExample(
            {
                "pressure": "800 kPa",
                "pressure_after": "575 kPa",
                "ambient": "100 kPa",
                "volume": "1000 L",
                "temperature": "300 K",
                "diameter": "11.283792 mm",
                "discharge": "1 1",
            },
            "14.31 s",
            "0.03 s",
            _TEXTBOOK,
            "a quarter of the air out of 1 m3 through 100 mm2: from the decay and the coefficient of 0.685 "
            "that the problem prints",
        )
    ],
)
def deflation_time(
    pressure: Number,
    pressure_after: Number,
    ambient: Number,
    volume: Number,
    temperature: Number,
    diameter: Number,
    discharge: Number,
    heat_ratio: Number,
    gas_constant: Number,
    one: Number,
    pi: Number,
) -> Number:
    """Time in which a hole lets the pressure down, at a constant temperature of the air."""
    least = _critical(heat_ratio)
    start, end, sonic = pressure + ambient, pressure_after + ambient, ambient / least
    choked = log(choose(start > sonic, start, sonic) / choose(end > sonic, end, sonic))
    choked = choked / _flow_number(least, heat_ratio)
    before, after = ambient / start, ambient / end
    slow = _rest(choose(before > least, before, least), heat_ratio)
    slow = slow - _rest(choose(after > least, after, least), heat_ratio)
    slow = slow * (2 * heat_ratio / (heat_ratio - 1)) ** 0.5
    area = pi * diameter * diameter / (2 * 2)
    return volume / (discharge * area * _speed(temperature, gas_constant, one)) * (choked + slow)


def _is_component(
    conductance: Number, critical_ratio: Number, upstream: Number, downstream: Number, temperature: Number
) -> Number:
    """All above zero, the critical ratio below 1, no flow backwards."""
    return (
        positive(conductance)
        & positive(critical_ratio)
        & (critical_ratio < 1)
        & positive(downstream)
        & (downstream <= upstream)
        & positive(temperature)
    )


@define_formula(
    args={
        "conductance": ("L/s/bar", "sonic conductance C of the component"),
        "critical_ratio": ("1", "critical pressure ratio b of the component"),
        "upstream": ("kPa", "pressure before it, absolute"),
        "downstream": ("kPa", "pressure behind it, absolute"),
        "temperature": ("K", "temperature of the air before it"),
    },
    returns=("L/min", "flow of free air at 20 °C and 100 kPa (ANR)"),
    gives="L.kPa/s/bar",
    valid=_is_component,
    constants={"reference": "iso6358.reference_temperature"},
    sources=[_CATALOGUE],
    misfit="both figures are the component's maker's; no valve core was seen with any",
    examples=[
        WorkedExample(
            {
                "conductance": "2 L/s/bar",
                "critical_ratio": "0.3 1",
                "upstream": "500 kPa",
                "downstream": "400 kPa",
                "temperature": "293 K",
            },
            "420 L/min",
            "0.5 L/min",
            _CATALOGUE,
            "the share of 0.7 is read off a graph there",
        ),
        WorkedExample(
            {
                "conductance": "2 L/s/bar",
                "critical_ratio": "0.3 1",
                "upstream": "500 kPa",
                "downstream": "100 kPa",
                "temperature": "293 K",
            },
            "600 L/min",
            "0.5 L/min",
            _CATALOGUE,
            "greatest flow, choked",
        ),
    ],
)
def iso6358_flow(
    conductance: Number,
    critical_ratio: Number,
    upstream: Number,
    downstream: Number,
    temperature: Number,
    reference: Number,
) -> Number:
    """Flow of air through a component whose figures were measured by ISO 6358."""
    ratio = downstream / upstream
    beyond = choose(ratio > critical_ratio, ratio, critical_ratio) - critical_ratio
    share = (1 - (beyond / (1 - critical_ratio)) ** 2) ** 0.5
    return conductance * upstream * (reference / temperature) ** 0.5 * share
