"""Ambient pressure with altitude, and gauge against absolute pressure."""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = ["absolute_pressure", "altitude_of", "ambient_pressure", "gauge_pressure"]

_PHYSICS_164 = Cited("physics-164", "solution", Grade.REPRODUCTION)
_PHYSICS_167 = Cited("physics-167", "solution", Grade.REPRODUCTION)
_ATMOSPHERE = Cited("us-standard-atmosphere", "first layer", Grade.REPRODUCTION)
_ALTITUDES = Cited("altitude-table", "table", Grade.SECONDARY)
_AMBIENT = ("kPa", "ambient pressure, absolute")


def _is_absolute(absolute: Number, ambient: Number) -> Number:
    """Absolute and ambient pressure are above zero."""
    return positive(absolute) & positive(ambient)


def _is_gauge(pressure: Number, ambient: Number) -> Number:
    """Gauge and ambient pressure together are above zero, and so is ambient pressure."""
    return positive(pressure + ambient) & positive(ambient)


@define_formula(
    args={"pressure": ("kPa", "gauge pressure"), "ambient": _AMBIENT},
    returns=("kPa", "absolute pressure"),
    valid=_is_gauge,
    sources=[_PHYSICS_164],
    examples=[
        WorkedExample({"pressure": "164 kPa", "ambient": "101 kPa"}, "265 kPa", "0.5 kPa", _PHYSICS_164),
        WorkedExample({"pressure": "167 kPa", "ambient": "101.3 kPa"}, "268.3 kPa", "0.05 kPa", _PHYSICS_167),
    ],
)
def absolute_pressure(pressure: Number, ambient: Number) -> Number:
    """Absolute pressure of a tyre from what the gauge reads."""
    return pressure + ambient


@define_formula(
    args={"absolute": ("kPa", "absolute pressure in the tyre"), "ambient": _AMBIENT},
    returns=("kPa", "gauge pressure"),
    valid=_is_absolute,
    sources=[_PHYSICS_167],
    examples=[
        WorkedExample({"absolute": "281.4 kPa", "ambient": "101.3 kPa"}, "180 kPa", "0.5 kPa", _PHYSICS_167),
        WorkedExample({"absolute": "276 kPa", "ambient": "101 kPa"}, "175 kPa", "0.5 kPa", _PHYSICS_164),
    ],
)
def gauge_pressure(absolute: Number, ambient: Number) -> Number:
    """What a gauge reads at an absolute pressure, as of a sensor that measures absolutely."""
    return absolute - ambient


_US76 = {
    "p0": "us76.sea_level_pressure",
    "t0": "us76.sea_level_temperature",
    "lapse": "us76.lapse_rate",
    "g": "us76.gravity",
    "r": "us76.gas_constant",
    "radius": "us76.earth_radius",
    "lowest": "us76.lowest_altitude",
    "highest": "us76.highest_altitude",
}


def _in_first_layer(altitude: Number, lowest: Number, highest: Number) -> Number:
    """The altitude lies between -610 m and 11 km."""
    return (altitude >= lowest) & (altitude <= highest)


@define_formula(
    args={"altitude": ("m", "height over sea level")},
    returns=("kPa", "ambient pressure, absolute"),
    gives="Pa",
    valid=_in_first_layer,
    constants=_US76,
    sources=[_ATMOSPHERE],
    misfit="the weather moves ambient pressure; a reading on the day is better",
    examples=[
        WorkedExample({"altitude": f"{feet} ft"}, f"{psi} psi", tolerance, _ALTITUDES)
        for feet, psi, tolerance in (
            (0, 14.7, "0.05 psi"),
            (1000, 14.2, "0.05 psi"),
            (2000, 13.7, "0.05 psi"),
            (4000, 12.7, "0.05 psi"),
            (5000, 12.2, "0.05 psi"),
            (8000, 10.9, "0.05 psi"),
            (9000, 10.5, "0.05 psi"),
            (10000, 10.1, "0.05 psi"),
        )
    ]
    + [
        WorkedExample(
            {"altitude": "6000 ft"},
            "11.7 psi",
            "0.1 psi",
            _ALTITUDES,
            "the table prints 11.7 where the standard atmosphere has 11.78",
        ),
        WorkedExample(
            {"altitude": "7000 ft"},
            "11.3 psi",
            "0.1 psi",
            _ALTITUDES,
            "the table prints 11.3 where the standard atmosphere has 11.34",
        ),
    ],
)
def ambient_pressure(
    altitude: Number, p0: Number, t0: Number, lapse: Number, g: Number, r: Number, radius: Number
) -> Number:
    """Ambient pressure at an altitude in the US Standard Atmosphere 1976.

    Height over sea level is turned into geopotential height first.
    """
    return _pressure_at(altitude, p0, t0, lapse, g, r, radius)


def _pressure_at(
    altitude: Number, p0: Number, t0: Number, lapse: Number, g: Number, r: Number, radius: Number
) -> Number:
    height = altitude * radius / (radius + altitude)
    return p0 * (1 - lapse * height / t0) ** (g / (r * lapse))


def _is_of_first_layer(
    ambient: Number,
    p0: Number,
    t0: Number,
    lapse: Number,
    g: Number,
    r: Number,
    radius: Number,
    lowest: Number,
    highest: Number,
) -> Number:
    """The ambient pressure is one that the standard atmosphere has between -610 m and 11 km."""
    return (ambient <= _pressure_at(lowest, p0, t0, lapse, g, r, radius)) & (
        ambient >= _pressure_at(highest, p0, t0, lapse, g, r, radius)
    )


@define_formula(
    args={"ambient": _AMBIENT},
    returns=("m", "height over sea level"),
    valid=_is_of_first_layer,
    constants={**_US76, "p0": ("us76.sea_level_pressure", "kPa")},
    sources=[_ATMOSPHERE],
    misfit="as for ambient_pressure: the weather shifts it",
    examples=[
        WorkedExample({"ambient": "12.2 psi"}, "5000 ft", "130 ft", _ALTITUDES, "0.05 psi is 115 ft there"),
        WorkedExample({"ambient": "10.1 psi"}, "10000 ft", "140 ft", _ALTITUDES, "0.05 psi is 130 ft there"),
    ],
)
def altitude_of(
    ambient: Number, p0: Number, t0: Number, lapse: Number, g: Number, r: Number, radius: Number
) -> Number:
    """Altitude at which the US Standard Atmosphere 1976 has an ambient pressure."""
    height = t0 / lapse * (1 - (ambient / p0) ** (r * lapse / g))
    return radius * height / (radius - height)
