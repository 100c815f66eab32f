"""Unbalance of a wheel: what a sensor adds, what corrects it, what may be left.

Static unbalance is mass times radius; couple unbalance is static unbalance
times its distance along the axis.
"""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "balance_tolerance",
    "correcting_mass",
    "couple_in_plane",
    "couple_unbalance",
    "sensor_counterweight",
    "unbalance",
    "unbalance_in_plane",
]

_SPLIT = Cited("plane-split", "practical example", Grade.SECONDARY)
_UNITS = Cited("unbalance-units", "static and couple unbalance", Grade.SECONDARY)
_COUPLE = Cited("couple-unbalance", "example", Grade.SECONDARY)
_MANUAL = Cited("balance-manual", "5.1.7", Grade.REPRODUCTION)
_BOOK = Cited("balance-book", "p. 400, equation 16.4 and table 16.1", Grade.REPRODUCTION)
_ISO = Cited("iso-1940-article", "basic formula", Grade.SECONDARY)

_STATIC = ("g.mm", "static unbalance")
_PLANES = ("mm", "distance between both planes of the weights")


def _is_heavy(mass: Number, radius: Number) -> Number:
    """Mass and radius are above zero."""
    return positive(mass) & positive(radius)


@define_formula(
    args={"mass": ("g", "mass on one side"), "radius": ("mm", "its distance from the wheel's axis")},
    returns=_STATIC,
    valid=_is_heavy,
    sources=[_SPLIT],
    examples=[
        WorkedExample({"mass": "20 g", "radius": "200 mm"}, "4000 g.mm", "0 g.mm", _SPLIT),
        WorkedExample({"mass": "1 oz", "radius": "8 in"}, "8 oz.in", "0.001 oz.in", _UNITS),
        WorkedExample(
            {"mass": "15 g", "radius": "173 mm"}, "2600 g.mm", "10 g.mm", _MANUAL, "about 15 g at the rim"
        ),
    ],
)
def unbalance(mass: Number, radius: Number) -> Number:
    """Static unbalance of a mass on a wheel."""
    return mass * radius


def _can_be_corrected(unbalance: Number, radius: Number) -> Number:
    """Unbalance and radius are above zero."""
    return positive(unbalance) & positive(radius)


@define_formula(
    args={"unbalance": _STATIC, "radius": ("mm", "radius at which the weight sits")},
    returns=("g", "mass of the weight, opposite the unbalance"),
    valid=_can_be_corrected,
    sources=[_SPLIT],
    examples=[
        WorkedExample({"unbalance": "2000 g.mm", "radius": "200 mm"}, "10 g", "0.05 g", _SPLIT),
        WorkedExample({"unbalance": "4000 g.mm", "radius": "200 mm"}, "20 g", "0.5 g", _COUPLE),
        WorkedExample({"unbalance": "8 oz.in", "radius": "8 in"}, "1 oz", "0.00001 oz", _UNITS),
    ],
)
def correcting_mass(unbalance: Number, radius: Number) -> Number:
    """Mass that corrects an unbalance at a radius."""
    return unbalance / radius


def _is_opposite(mass: Number, radius: Number, weight_radius: Number) -> Number:
    """All above zero."""
    return positive(mass) & positive(radius) & positive(weight_radius)


@define_formula(
    args={
        "mass": ("g", "mass of sensor and valve, less that of the valve balanced with before"),
        "radius": ("mm", "distance of their centre of gravity from the wheel's axis"),
        "weight_radius": ("mm", "radius at which the weight sits"),
    },
    returns=("g", "mass of the weight, opposite the sensor"),
    valid=_is_opposite,
    sources=[_SPLIT],
    misfit="static unbalance only; a weight in another plane than the sensor leaves a couple",
    examples=[
        WorkedExample(
            {"mass": "20 g", "radius": "200 mm", "weight_radius": "200 mm"}, "20 g", "0.05 g", _SPLIT
        )
    ],
)
def sensor_counterweight(mass: Number, radius: Number, weight_radius: Number) -> Number:
    """Mass that balances a sensor statically, on the other side of the wheel."""
    return mass * (radius / weight_radius)


def _has_planes(unbalance: Number, distance: Number, plane_distance: Number) -> Number:
    """All above zero: the mass lies on this plane's side of the other."""
    return positive(unbalance) & positive(distance) & positive(plane_distance)


@define_formula(
    args={
        "unbalance": _STATIC,
        "distance": ("mm", "distance of the mass from the other plane, along the axis"),
        "plane_distance": _PLANES,
    },
    returns=("g.mm", "unbalance that falls to this plane"),
    valid=_has_planes,
    sources=[_SPLIT],
    misfit="beyond this plane it is more than the whole, and the other weight sits on the sensor's side",
    examples=[
        WorkedExample(
            {"unbalance": "4000 g.mm", "distance": "150 mm", "plane_distance": "300 mm"},
            "2000 g.mm",
            "0.5 g.mm",
            _SPLIT,
        ),
        WorkedExample(
            {"unbalance": "8 oz.in", "distance": "3.5 in", "plane_distance": "7 in"},
            "4 oz.in",
            "0.001 oz.in",
            _UNITS,
            "half on each side of the wheel",
        ),
    ],
)
def unbalance_in_plane(unbalance: Number, distance: Number, plane_distance: Number) -> Number:
    """Part of an unbalance that falls to one of both planes, by the law of the lever."""
    return unbalance * (distance / plane_distance)


def _is_off_centre(unbalance: Number, distance: Number) -> Number:
    """Unbalance and distance are above zero."""
    return positive(unbalance) & positive(distance)


@define_formula(
    args={
        "unbalance": ("g.mm", "unbalance in each of two planes, on opposite sides"),
        "distance": ("mm", "distance between these planes"),
    },
    returns=("g.mm2", "couple unbalance"),
    valid=_is_off_centre,
    sources=[_COUPLE],
    examples=[
        WorkedExample(
            {"unbalance": "4000 g.mm", "distance": "15 cm"},
            "600000 g.mm2",
            "0.5 g.mm2",
            _COUPLE,
            "6000 g.cm2",
        )
    ],
)
def couple_unbalance(unbalance: Number, distance: Number) -> Number:
    """Couple unbalance of two equal unbalances on opposite sides."""
    return unbalance * distance


def _has_couple(couple: Number, plane_distance: Number) -> Number:
    """Couple and distance are above zero."""
    return positive(couple) & positive(plane_distance)


@define_formula(
    args={"couple": ("g.mm2", "couple unbalance"), "plane_distance": _PLANES},
    returns=("g.mm", "unbalance in each plane, on opposite sides"),
    valid=_has_couple,
    sources=[_COUPLE, _UNITS],
    examples=[
        WorkedExample(
            {"couple": "600000 g.mm.mm", "plane_distance": "15 cm"}, "4000 g.mm", "0.5 g.mm", _COUPLE
        ),
        WorkedExample(
            {"couple": "56 oz.in.in", "plane_distance": "7 in"},
            "8 oz.in",
            "0.001 oz.in",
            _UNITS,
            "1 oz in each plane at 8 in",
        ),
    ],
)
def couple_in_plane(couple: Number, plane_distance: Number) -> Number:
    """Unbalance that corrects a couple in each of both planes."""
    return couple / plane_distance


def _is_wheel(
    mass: Number, outer_diameter: Number, rim_diameter: Number, speed: Number, grade: Number
) -> Number:
    """All above zero, the rim smaller than the tyre."""
    return (
        positive(mass)
        & positive(rim_diameter)
        & (rim_diameter < outer_diameter)
        & positive(speed)
        & positive(grade)
    )


@define_formula(
    args={
        "mass": ("kg", "mass of the wheel with its tyre"),
        "outer_diameter": ("mm", "outer diameter of the tyre"),
        "rim_diameter": ("mm", "diameter at which the weights sit"),
        "speed": ("km/h", "greatest speed of the vehicle"),
        "grade": ("mm/s", "balancing grade"),
    },
    returns=("g", "mass at the rim that may be left"),
    gives="kg.mm.h/km/s",
    valid=_is_wheel,
    sources=[_BOOK, _ISO],
    misfit=(
        "the constant is 3.67 in the book (its point is lost) where the units give 3.6; the book's grades "
        "are 12 for fast cars, 14 for cars, 16, 18 and 20 for lorries, without a unit, while ISO 21940-11 is "
        "told to have 40 for car wheels; its table grants 5, 10, 30, 60 and 150 g on each side"
    ),
    examples=[
        WorkedExample(
            {
                "mass": "1 lb",
                "outer_diameter": "1000 mm",
                "rim_diameter": "2 in",
                "speed": "0.188496 km/h",
                "grade": "1 mm/s",
            },
            "6.015 oz",
            "0.0005 oz",
            _ISO,
            "6.015 oz.in for one pound at one turn a minute and grade 1",
        )
    ],
)
def balance_tolerance(
    mass: Number, outer_diameter: Number, rim_diameter: Number, speed: Number, grade: Number
) -> Number:
    """Unbalance that may be left in a wheel, as a mass at the rim, by its balancing grade."""
    return mass * grade * (outer_diameter / rim_diameter) / speed
