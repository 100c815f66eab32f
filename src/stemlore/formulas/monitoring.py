"""Pressure monitoring: where a lamp must light, and what wheel speeds can tell.

Wheels are numbered 1 front left, 2 front right, 3 rear left, 4 rear right.
"""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "diagonal_difference",
    "diagonal_ratio",
    "pressure_loss_from_speed",
    "speed_ratio_after_loss",
    "speed_ratio_of_radius",
    "warning_pressure_un",
    "warning_pressure_us",
]

_FMVSS = Cited("fmvss-138", "S4.2(a)", Grade.REPRODUCTION)
_R141 = Cited("un-r141-news", "told of 5.2 and 5.3", Grade.SECONDARY)
_LAMP = Cited("low-lamp-article", "example", Grade.SECONDARY)
_GARAGE = Cited("low-lamp-garage", "example", Grade.SECONDARY)
_PATENT = Cited("wheel-speed-patent", "abstract", Grade.READ)
_PAPER = Cited("wheel-speed-paper", "summary", Grade.SECONDARY)
_TEST = Cited("wheel-speed-test", "result", Grade.SECONDARY)
_TURNS = Cited("revolutions-note", "worked example", Grade.SECONDARY)

_WHEELS = {
    "front_left": ("Hz", "turns of the wheel by time, or its speed in any one unit"),
    "front_right": ("Hz", "the same of the wheel beside it"),
    "rear_left": ("Hz", "the same of the left wheel behind"),
    "rear_right": ("Hz", "the same of the right wheel behind"),
}
_SENSITIVITY = ("1/bar", "share of the rolling radius lost for one bar; measured on that tyre")
_BLIND = (
    "blind where tyres lose alike on all wheels, on both of an axle or on both of a side, and in bends; "
    "systems that look at vibration too are not covered"
)


def _is_pressure(pressure: Number) -> Number:
    """The pressure is above zero."""
    return positive(pressure)


@define_formula(
    args={"pressure": ("kPa", "recommended cold gauge pressure, from the placard")},
    returns=("kPa", "gauge pressure at which the lamp must light at the latest"),
    valid=_is_pressure,
    constants={"share": "fmvss138.share"},
    sources=[_FMVSS],
    misfit="a table of the standard gives floors by kind of tyre, and the higher counts; it was not readable",
    examples=[WorkedExample({"pressure": "32 psi"}, "24 psi", "0 psi", _LAMP)],
)
def warning_pressure_us(pressure: Number, share: Number) -> Number:
    """Pressure at which a monitoring system must warn by FMVSS 138, its table of floors left out."""
    return pressure * (1 - share)


@define_formula(
    args={"pressure": ("kPa", "gauge pressure in use, warm")},
    returns=("kPa", "gauge pressure at which the lamp must light at the latest"),
    valid=_is_pressure,
    constants={"share": "unr141.share"},
    sources=[_R141],
    misfit=(
        "told by others, the text was not read; one tyre within 10 min, all within 60 min; a floor of 150 "
        "kPa is told for one tyre but was found in no text"
    ),
    examples=[
        WorkedExample(
            {"pressure": "35 psi"}, "28 psi", "0 psi", _GARAGE, "a workshop's example of 20 % below"
        )
    ],
)
def warning_pressure_un(pressure: Number, share: Number) -> Number:
    """Pressure at which a monitoring system must warn by UN R141, as it is told."""
    return pressure * (1 - share)


def _are_radii(radius: Number, new_radius: Number) -> Number:
    """Both radii are above zero."""
    return positive(radius) & positive(new_radius)


@define_formula(
    args={
        "radius": ("mm", "rolling radius before"),
        "new_radius": ("mm", "rolling radius after, at the same road speed"),
    },
    returns=("1", "turns after by turns before"),
    valid=_are_radii,
    sources=[_TURNS],
    examples=[
        WorkedExample(
            {"radius": "13 in", "new_radius": "13.5 in"},
            "0.963871 1",
            "0.0013 1",
            _TURNS,
            "775 turns a mile become 747: 215/65R15 and 255/60R15",
        )
    ],
)
def speed_ratio_of_radius(radius: Number, new_radius: Number) -> Number:
    """How much faster a wheel turns when its rolling radius has changed."""
    return radius / new_radius


def _can_shrink(pressure_loss: Number, sensitivity: Number) -> Number:
    """Both above zero, and some radius is left."""
    return positive(pressure_loss) & positive(sensitivity) & (pressure_loss < 1 / sensitivity)


@define_formula(
    args={"pressure_loss": ("bar", "fall of gauge pressure in one tyre"), "sensitivity": _SENSITIVITY},
    returns=("1", "turns of that wheel by turns before; the diagonal ratio too, or its inverse"),
    valid=_can_shrink,
    sources=[_TEST],
    misfit="no sensitivity was found published: measure it on the tyre in question",
    examples=[
        WorkedExample(
            {"pressure_loss": "80.77 kPa", "sensitivity": "0.012258 1/bar"},
            "1.01 1",
            "0.005 1",
            _TEST,
            "230.77 to 150 kPa (65 %) made about 1 %; the sensitivity is that of this very car",
        )
    ],
)
def speed_ratio_after_loss(pressure_loss: Number, sensitivity: Number) -> Number:
    """How much faster the wheel of one tyre turns that has lost pressure."""
    whole = 1 / sensitivity
    return whole / (whole - pressure_loss)


def _has_sped_up(ratio: Number, sensitivity: Number) -> Number:
    """The wheel turns no slower than before; the sensitivity is above zero."""
    return (ratio >= 1) & positive(sensitivity)


@define_formula(
    args={"ratio": ("1", "turns of the wheel by turns before"), "sensitivity": _SENSITIVITY},
    returns=("kPa", "fall of gauge pressure in that tyre"),
    gives="bar",
    valid=_has_sped_up,
    sources=[_TEST],
    misfit="no sensitivity was found published; wear, load and temperature change the radius too",
    examples=[
        WorkedExample(
            {"ratio": "1.01 1", "sensitivity": "0.012258 1/bar"},
            "80.77 kPa",
            "0.005 kPa",
            _TEST,
            "the published case the other way round",
        )
    ],
)
def pressure_loss_from_speed(ratio: Number, sensitivity: Number) -> Number:
    """Pressure that one tyre has lost, from how much faster its wheel turns."""
    return (1 - 1 / ratio) / sensitivity


def _all_turn(front_left: Number, front_right: Number, rear_left: Number, rear_right: Number) -> Number:
    """All four wheels turn forwards."""
    return positive(front_left) & positive(front_right) & positive(rear_left) & positive(rear_right)


def _alike(*speeds: str) -> dict[str, str]:
    return dict(zip(_WHEELS, (f"{speed} Hz" for speed in speeds), strict=True))


@define_formula(
    args=_WHEELS,
    returns=("1", "product of the one diagonal by that of the other; 1 where tyres are as at the reset"),
    valid=_all_turn,
    sources=[_PATENT, _PAPER],
    misfit=_BLIND
    + "; derived here: the patent takes the difference of the diagonals, half of this to first order",
    examples=[
        WorkedExample(
            _alike("10.1", "10.1", "10.1", "10.1"), "1 1", "0 1", _PAPER, "all four lose alike: not seen"
        )
    ],
)
def diagonal_ratio(front_left: Number, front_right: Number, rear_left: Number, rear_right: Number) -> Number:
    """Ratio of the wheel speeds of both diagonals, which road speed drops out of."""
    return (front_left / front_right) * (rear_right / rear_left)


@define_formula(
    args=_WHEELS,
    returns=("1", "difference of both diagonals by the mean of their sums"),
    valid=_all_turn,
    sources=[_PATENT],
    misfit=_BLIND + "; the patent takes 0.05 to 0.5 % as a sign of a deflated tyre",
    examples=[
        WorkedExample(
            _alike("10.1", "10.1", "10.1", "10.1"), "0 1", "0 1", _PAPER, "all four lose alike: not seen"
        )
    ],
)
def diagonal_difference(
    front_left: Number, front_right: Number, rear_left: Number, rear_right: Number
) -> Number:
    """Difference of the wheel speeds of both diagonals, as a patent on the matter has it."""
    one, other = front_left + rear_right, front_right + rear_left
    return 2 * (one - other) / (one + other)
