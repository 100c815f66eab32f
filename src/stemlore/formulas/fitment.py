"""Another size on the same vehicle, the speedometer's limits, and the valve in its wheel."""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, choose, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "greatest_indicated_speed",
    "indicated_speed",
    "sealing_land",
    "size_change",
    "true_speed",
    "valve_clearance",
]

_SIZE_TABLE = Cited("size-table", "alternative sizes", Grade.SECONDARY)
_ARTICLE = Cited("speedometer-article", "error", Grade.SECONDARY)
_R39 = Cited("un-r39", "5.3", Grade.REPRODUCTION)
_EXAMPLES = Cited("speedometer-examples", "list", Grade.SECONDARY)
_ISO = Cited("iso-4000-2", "6.2", Grade.REPRODUCTION)
_BRV = Cited("brv-guideline", "protrusion", Grade.SECONDARY)

_OLD = ("mm", "overall diameter of the size that the vehicle was set up with")
_NEW = ("mm", "overall diameter of the size fitted")


def _are_sizes(old_diameter: Number, new_diameter: Number) -> Number:
    """Both diameters are above zero."""
    return positive(old_diameter) & positive(new_diameter)


def _are_sizes_at_speed(speed: Number, old_diameter: Number, new_diameter: Number) -> Number:
    """Speed and both diameters are above zero."""
    return positive(speed) & positive(old_diameter) & positive(new_diameter)


@define_formula(
    args={"old_diameter": _OLD, "new_diameter": _NEW},
    returns=("1", "change of diameter, as a share"),
    valid=_are_sizes,
    sources=[_SIZE_TABLE],
    examples=[
        WorkedExample(
            {"old_diameter": "632 mm", "new_diameter": f"{new} mm"},
            f"{percent} %",
            "0.05 %",
            _SIZE_TABLE,
            size,
        )
        for new, percent, size in (
            (616, -2.5, "175/60R16"),
            (620, -1.9, "195/55R16"),
            (628, -0.6, "185/60R16"),
            (650, 2.8, "135/90R16"),
        )
    ],
)
def size_change(old_diameter: Number, new_diameter: Number) -> Number:
    """Change of overall diameter from one size to another."""
    return (new_diameter - old_diameter) / old_diameter


@define_formula(
    args={
        "speed": ("km/h", "speed indicated"),
        "old_diameter": _OLD,
        "new_diameter": _NEW,
    },
    returns=("km/h", "true speed"),
    valid=_are_sizes_at_speed,
    sources=[_ARTICLE],
    misfit="takes it that the speedometer was right with the old size",
    examples=[
        WorkedExample(
            {"speed": "60 mph", "old_diameter": "26 in", "new_diameter": "27 in"},
            "62 mph",
            "0.5 mph",
            Cited("revolutions-note", "worked example", Grade.SECONDARY),
            "215/65R15 to 255/60R15, printed as 775 and 747 turns a mile",
        )
    ],
)
def true_speed(speed: Number, old_diameter: Number, new_diameter: Number) -> Number:
    """True speed at an indicated one, after a change of size."""
    return speed * new_diameter / old_diameter


@define_formula(
    args={"speed": ("km/h", "true speed"), "old_diameter": _OLD, "new_diameter": _NEW},
    returns=("km/h", "speed indicated"),
    valid=_are_sizes_at_speed,
    sources=[_ARTICLE],
    misfit="takes it that the speedometer was right with the old size",
    examples=[
        WorkedExample(
            {"speed": "100 km/h", "old_diameter": "24.19685 in", "new_diameter": "22.677165 in"},
            "106.70139 km/h",
            "0.00001 km/h",
            _ARTICLE,
            "185/70R14 to 195/50R15, printed as 1.0670139 times the speed",
        )
    ],
)
def indicated_speed(speed: Number, old_diameter: Number, new_diameter: Number) -> Number:
    """Speed indicated at a true one, after a change of size."""
    return speed * old_diameter / new_diameter


def _is_driving(speed: Number) -> Number:
    """The speed is above zero."""
    return positive(speed)


@define_formula(
    args={"speed": ("km/h", "true speed")},
    returns=("km/h", "greatest speed that may be indicated"),
    valid=_is_driving,
    constants={"share": "speedometer.share", "allowance": "speedometer.allowance"},
    sources=[_R39],
    examples=[
        WorkedExample({"speed": f"{true} km/h"}, f"{shown} km/h", "0 km/h", _EXAMPLES)
        for true, shown in ((50, 59), (70, 81), (90, 103), (110, 125), (130, 147))
    ],
)
def greatest_indicated_speed(speed: Number, share: Number, allowance: Number) -> Number:
    """Greatest speed that a speedometer may show; the least is the true speed."""
    return speed + share * speed + allowance


def _is_valve(edge_depth: Number, valve_reach: Number) -> Number:
    """Both distances are above zero."""
    return positive(edge_depth) & positive(valve_reach)


@define_formula(
    args={
        "edge_depth": ("mm", "from the valve hole out to the wheel's edge or cover, along the axle"),
        "valve_reach": ("mm", "from the valve hole out to the end of the valve with its cap, along the axle"),
    },
    returns=("mm", "clearance; below zero the valve stands out"),
    valid=_is_valve,
    sources=[_BRV],
    misfit="no numeric clearance was found in any source, only that the cap must not stand out",
    examples=[
        WorkedExample(
            {"edge_depth": "30 mm", "valve_reach": "30 mm"},
            "0 mm",
            "0 mm",
            _BRV,
            "the bound of the guideline",
        )
    ],
)
def valve_clearance(edge_depth: Number, valve_reach: Number) -> Number:
    """Distance that a valve with its cap stays inside the wheel's edge or cover."""
    return edge_depth - valve_reach


def _is_rim(thickness: Number) -> Number:
    """The thickness is above zero."""
    return positive(thickness)


@define_formula(
    args={"thickness": ("mm", "thickness of the rim at the valve hole")},
    returns=("mm", "least width of the smooth sealing land around the hole"),
    valid=_is_rim,
    constants={"least": "valve.sealing_land", "share": "valve.sealing_share"},
    sources=[_ISO],
    examples=[
        WorkedExample({"thickness": "2 mm"}, "0.75 mm", "0 mm", _ISO, "the fixed width of the clause"),
        WorkedExample({"thickness": "3 mm"}, "0.75 mm", "0 mm", _ISO, "both figures of the clause agree"),
        WorkedExample({"thickness": "4 mm"}, "1 mm", "0 mm", _ISO, "25 per cent of the thickness"),
    ],
)
def sealing_land(thickness: Number, least: Number, share: Number) -> Number:
    """Least smooth land around the hole of a snap-in valve."""
    return choose(share * thickness >= least, share * thickness, least)
