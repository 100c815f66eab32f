"""Forces on valve and sensor in a turning wheel.

The wheel turns at speed over rolling radius; what sits at a smaller radius is
pressed outwards in proportion to it.
"""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "centrifugal_acceleration",
    "centrifugal_force",
    "core_opening_acceleration",
    "core_opening_speed",
    "stem_deflection",
]

_FORUM = Cited("valve-forces", "first post", Grade.SECONDARY)
_BEND = Cited("circular-motion", "solution", Grade.SECONDARY)
_SPRING = Cited("spring-problem", "solution (b)", Grade.SECONDARY)

_SPEED = ("km/h", "road speed")
_ROLLING = ("mm", "dynamic rolling radius of the tyre")
_RADIUS = ("mm", "distance of the part from the wheel's axis")
_CORE = {
    "spring_force": ("N", "force that just lifts the pin of the core, without pressure"),
    "pin_mass": ("g", "mass of the part that moves: the pin with its seal"),
}
_BOUND = (
    "on the safe side: pressure in the tyre holds the core shut as well, but the mass of the spring, which "
    "helps to open, is not counted; the source says about 1200 times gravity and 175 mph where its own "
    "figures come to 1333 and 185, and takes 150 mph as safe"
)


def _turns(speed: Number, rolling_radius: Number, radius: Number) -> Number:
    """All above zero."""
    return positive(speed) & positive(rolling_radius) & positive(radius)


@define_formula(
    args={"speed": _SPEED, "rolling_radius": _ROLLING, "radius": _RADIUS},
    returns=("m/s2", "acceleration, 9.80665 m/s2 being that of gravity"),
    gives="km2/h2/mm",
    valid=_turns,
    sources=[_FORUM],
    examples=[
        WorkedExample(
            {"speed": "200 mph", "rolling_radius": "12.4375 in", "radius": "7.5 in"},
            "15259.1 m/s2",
            "5 m/s2",
            _FORUM,
            "1556 times gravity, 2702 turns a minute",
        )
    ],
)
def centrifugal_acceleration(speed: Number, rolling_radius: Number, radius: Number) -> Number:
    """Centrifugal acceleration of a part of the wheel at a road speed."""
    turning = speed / rolling_radius
    return turning * turning * radius


def _has_mass(mass: Number, speed: Number, rolling_radius: Number, radius: Number) -> Number:
    """All above zero."""
    return positive(mass) & _turns(speed, rolling_radius, radius)


@define_formula(
    args={
        "mass": ("g", "mass of the part, such as a sensor"),
        "speed": _SPEED,
        "rolling_radius": _ROLLING,
        "radius": _RADIUS,
    },
    returns=("N", "force outwards"),
    gives="g.km2/h2/mm",
    valid=_has_mass,
    sources=[_FORUM],
    examples=[
        WorkedExample(
            {"mass": "1000 kg", "speed": "10 m/s", "rolling_radius": "10 m", "radius": "10 m"},
            "10000 N",
            "0.5 N",
            _BEND,
            "a vehicle in a bend: the same law at one radius",
        )
    ],
)
def centrifugal_force(mass: Number, speed: Number, rolling_radius: Number, radius: Number) -> Number:
    """Centrifugal force on a part of the wheel at a road speed."""
    turning = speed / rolling_radius
    return mass * turning * turning * radius


def _is_core(spring_force: Number, pin_mass: Number) -> Number:
    """Force and mass are above zero."""
    return positive(spring_force) & positive(pin_mass)


@define_formula(
    args=_CORE,
    returns=("m/s2", "acceleration along the pin at which the spring alone holds it no longer"),
    gives="N/g",
    valid=_is_core,
    sources=[_FORUM],
    misfit=_BOUND,
    examples=[
        WorkedExample(
            {"spring_force": "3.92266 N", "pin_mass": "0.3 g"},
            "11768 m/s2",
            "1320 m/s2",
            _FORUM,
            "400 gf and 0.3 g; about 1200 times gravity is printed, 1333 follows",
        )
    ],
)
def core_opening_acceleration(spring_force: Number, pin_mass: Number) -> Number:
    """Acceleration that a valve core bears by its spring alone."""
    return spring_force / pin_mass


def _is_core_in_wheel(
    spring_force: Number, pin_mass: Number, rolling_radius: Number, radius: Number
) -> Number:
    """All above zero."""
    return positive(spring_force) & positive(pin_mass) & positive(rolling_radius) & positive(radius)


@define_formula(
    args={**_CORE, "rolling_radius": _ROLLING, "radius": _RADIUS},
    returns=("km/h", "road speed at which the spring alone holds the pin no longer"),
    gives="m/s",
    valid=_is_core_in_wheel,
    constants={"one": "si.speed"},
    sources=[_FORUM],
    misfit=_BOUND + "; for a core that points at the axis, a core at an angle bears more",
    examples=[
        WorkedExample(
            {
                "spring_force": "3.92266 N",
                "pin_mass": "0.3 g",
                "rolling_radius": "12.4375 in",
                "radius": "7.5 in",
            },
            "175 mph",
            "10.5 mph",
            _FORUM,
            "from about 1200 times gravity; 185 mph follow from 400 gf and 0.3 g",
        )
    ],
)
def core_opening_speed(
    spring_force: Number, pin_mass: Number, rolling_radius: Number, radius: Number, one: Number
) -> Number:
    """Road speed that a valve core bears by its spring alone."""
    # newton times millimetre by gram is the square of one metre a second
    squared = spring_force / pin_mass * (rolling_radius / radius) * rolling_radius
    return one * (squared / (one * one)) ** 0.5


def _is_bent(force: Number, stiffness: Number) -> Number:
    """Force and stiffness are above zero."""
    return positive(force) & positive(stiffness)


@define_formula(
    args={
        "force": ("N", "force across the stem, such as the centrifugal force on its sensor"),
        "stiffness": ("N/mm", "force for one millimetre at the same place, measured or the maker's"),
    },
    returns=("mm", "deflection at that place"),
    valid=_is_bent,
    sources=[_SPRING],
    misfit="rubber is stiffer when cold and yields with time: no stiffness of a valve was found published",
    examples=[
        WorkedExample({"force": "25 N", "stiffness": "5000 N/m"}, "5 mm", "0 mm", _SPRING, "a spring"),
    ],
)
def stem_deflection(force: Number, stiffness: Number) -> Number:
    """How far a valve stem bends under a force, from its stiffness."""
    return force / stiffness
