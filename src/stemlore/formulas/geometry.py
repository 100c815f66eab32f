"""Size of a tyre: diameter, circumference, radii, volume, width on another rim."""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "circumference",
    "dynamic_radius",
    "overall_diameter",
    "revolutions_per_distance",
    "rim_width",
    "section_height",
    "section_width_on_rim",
    "static_radius",
    "tyre_volume",
    "wheel_frequency",
]

_SIZE_PAGE = Cited("size-page", "worked size", Grade.SECONDARY)
_SIZE_TABLE = Cited("size-table", "table", Grade.SECONDARY)
_CONTEST = Cited("circumference-contest", "sample output", Grade.REPRODUCTION)
_NOTE = Cited("static-radius-note", "worked example", Grade.SECONDARY)
_FORCES = Cited("valve-forces", "worked example", Grade.SECONDARY)
_VOLUME = Cited("tyre-volume", "formula and sample run", Grade.READ)

_WIDTH = ("mm", "nominal section width, as marked")
_RATIO = ("1", "aspect ratio as a share: 0.55 where 55 is marked")
_RIM = ("mm", "nominal rim diameter: code times 25.4 mm")
_DIAMETER = {"diameter": ("mm", "overall diameter")}


def _is_section(width: Number, aspect_ratio: Number) -> Number:
    """Width and aspect ratio are above zero."""
    return positive(width) & positive(aspect_ratio)


def _is_size(width: Number, aspect_ratio: Number, rim_diameter: Number) -> Number:
    """Width, aspect ratio and rim diameter are above zero."""
    return positive(width) & positive(aspect_ratio) & positive(rim_diameter)


def _is_diameter(diameter: Number) -> Number:
    """The diameter is above zero."""
    return positive(diameter)


@define_formula(
    args={"width": _WIDTH, "aspect_ratio": _RATIO},
    returns=("mm", "section height"),
    valid=_is_section,
    sources=[_NOTE],
    examples=[WorkedExample({"width": "215 mm", "aspect_ratio": "65 %"}, "139.75 mm", "0.005 mm", _NOTE)],
)
def section_height(width: Number, aspect_ratio: Number) -> Number:
    """Nominal height of a tyre's section from its marks."""
    return width * aspect_ratio


@define_formula(
    args={"width": _WIDTH, "aspect_ratio": _RATIO, "rim_diameter": _RIM},
    returns=("mm", "overall diameter, new and unloaded"),
    valid=_is_size,
    sources=[_SIZE_PAGE],
    misfit="nominal: a tyre may be some per cent off its marks",
    examples=[
        WorkedExample(
            {"width": "205 mm", "aspect_ratio": "65 %", "rim_diameter": "15 in"}, "647 mm", "1 mm", _SIZE_PAGE
        ),
        WorkedExample(
            {"width": "245 mm", "aspect_ratio": "70 %", "rim_diameter": "16 in"}, "749 mm", "1 mm", _SIZE_PAGE
        ),
        WorkedExample(
            {"width": "205 mm", "aspect_ratio": "55 %", "rim_diameter": "16 in"},
            "632 mm",
            "0.5 mm",
            _SIZE_TABLE,
        ),
        WorkedExample(
            {"width": "215 mm", "aspect_ratio": "65 %", "rim_diameter": "15 in"}, "660.5 mm", "0.05 mm", _NOTE
        ),
    ],
)
def overall_diameter(width: Number, aspect_ratio: Number, rim_diameter: Number) -> Number:
    """Nominal overall diameter of a tyre from its marks."""
    return rim_diameter + 2 * width * aspect_ratio


@define_formula(
    args=_DIAMETER,
    returns=("mm", "circumference"),
    valid=_is_diameter,
    constants={"pi": "pi"},
    sources=[_CONTEST],
    misfit="of a free wheel; a loaded tyre rolls a few per cent less far",
    examples=[
        WorkedExample({"diameter": f"{diameter} mm"}, f"{cm} cm", "0.5 cm", _CONTEST, size)
        for diameter, cm, size in (
            (648.1, 204, "P 195/75 R 14"),
            (627, 197, "P 205/60 H R 15"),
            (542, 170, "T 115/70 D 15"),
            (773.9, 243, "LT 245/75 R 16"),
        )
    ],
)
def circumference(diameter: Number, pi: Number) -> Number:
    """Circumference of an unloaded tyre."""
    return pi * diameter


def _is_circumference(circumference: Number) -> Number:
    """The circumference is above zero."""
    return positive(circumference)


@define_formula(
    args={"circumference": ("mm", "way of one turn, rolling where it is known")},
    returns=("1/km", "turns"),
    gives="1/mm",
    valid=_is_circumference,
    sources=[Cited("turns-per-mile", "worked example", Grade.SECONDARY)],
    examples=[
        WorkedExample(
            {"circumference": "62.83 in"},
            "1008.44 1/mi",
            "0.02 1/mi",
            Cited("turns-per-mile", "worked example", Grade.SECONDARY),
        ),
        WorkedExample({"circumference": "1984.5 mm"}, "504 1/km", "0.5 1/km", _SIZE_TABLE, "205/55R16"),
        WorkedExample(
            {"circumference": "81.682 in"},
            "775 1/mi",
            "1 1/mi",
            Cited("revolutions-note", "worked example", Grade.SECONDARY),
            "215/65R15, 26 in of diameter",
        ),
    ],
)
def revolutions_per_distance(circumference: Number) -> Number:
    """Turns of a wheel on one kilometre."""
    return 1 / circumference


@define_formula(
    args=_DIAMETER,
    returns=("mm", "distance of the wheel's centre from the road"),
    valid=_is_diameter,
    constants={"share": "geometry.static_radius_share"},
    sources=[_NOTE],
    misfit="a rough share; 0.95 is told elsewhere, and load and pressure move it: the data sheet governs",
    examples=[
        WorkedExample({"diameter": "660.5 mm"}, "317.04 mm", "0.01 mm", _NOTE, "1991.01 mm over 2 times 3.14")
    ],
)
def static_radius(diameter: Number, share: Number) -> Number:
    """Rough static loaded radius of a radial passenger tyre."""
    return diameter * share / 2


def _is_rolling(speed: Number, frequency: Number) -> Number:
    """Speed and turns are above zero."""
    return positive(speed) & positive(frequency)


@define_formula(
    args={"speed": ("m/s", "true speed"), "frequency": ("Hz", "turns of the wheel a second")},
    returns=("m", "dynamic radius"),
    valid=_is_rolling,
    constants={"pi": "pi"},
    sources=[_FORCES],
    examples=[
        WorkedExample(
            {"speed": "200 mph", "frequency": "45.033333 Hz"},
            "12.4375 in",
            "0.005 in",
            _FORCES,
            "2702 turns a minute, read backwards",
        )
    ],
)
def dynamic_radius(speed: Number, frequency: Number, pi: Number) -> Number:
    """Dynamic rolling radius of a wheel from its speed and its turns."""
    return speed / (2 * pi * frequency)


def _can_roll(speed: Number, radius: Number) -> Number:
    """Speed and radius are above zero."""
    return positive(speed) & positive(radius)


@define_formula(
    args={"speed": ("m/s", "true speed"), "radius": ("m", "dynamic radius")},
    returns=("Hz", "turns of the wheel a second"),
    valid=_can_roll,
    constants={"pi": "pi"},
    sources=[_FORCES],
    examples=[
        WorkedExample(
            {"speed": "200 mph", "radius": "12.4375 in"},
            "45.033333 Hz",
            "0.0167 Hz",
            _FORCES,
            "24.875 in of diameter, 2702 turns a minute",
        )
    ],
)
def wheel_frequency(speed: Number, radius: Number, pi: Number) -> Number:
    """Turns of a wheel a second at a speed."""
    return speed / (2 * pi * radius)


@define_formula(
    args={"width": _WIDTH, "aspect_ratio": _RATIO, "rim_diameter": _RIM},
    returns=("L", "volume, an upper bound"),
    gives="mm3",
    valid=_is_size,
    constants={"pi": "pi"},
    sources=[_VOLUME],
    misfit="two cylinders without the thickness of the walls; no published volume of a tyre was found",
    examples=[
        WorkedExample(
            {"width": "185 mm", "aspect_ratio": "50 %", "rim_diameter": "14 in"},
            "24.09 L",
            "0.005 L",
            _VOLUME,
        )
    ],
)
def tyre_volume(width: Number, aspect_ratio: Number, rim_diameter: Number, pi: Number) -> Number:
    """Volume between two cylinders as wide as the tyre: more than there is."""
    height = width * aspect_ratio
    return pi * width * height * (height + rim_diameter)


def _is_code(code: Number) -> Number:
    """The code is above zero."""
    return positive(code)


@define_formula(
    args={"code": ("1", "width code of the rim, as marked: 6, 6.5, 8.25")},
    returns=("mm", "width between the flanges"),
    valid=_is_code,
    constants={"inch": "inch"},
    sources=[Cited("unit-inch", "table 3, note c", Grade.REPRODUCTION)],
    misfit="standards print 114, 140 and 152 mm for codes 4.50, 5.50 and 6.00",
    examples=[
        WorkedExample(
            {"code": f"{code} 1"}, f"{mm} mm", "0 mm", Cited("farm-rims", "table 1", Grade.REPRODUCTION)
        )
        for code, mm in (
            (6, 152.4),
            (7, 177.8),
            (8, 203.2),
            (9, 228.6),
            (10, 254.0),
            (12, 304.8),
            (25, 635.0),
        )
    ],
)
def rim_width(code: Number, inch: Number) -> Number:
    """Nominal rim width from its code."""
    return code * inch


def _are_rims(section_width: Number, measuring_rim: Number, rim: Number) -> Number:
    """Section width and both rim widths are above zero."""
    return positive(section_width) & positive(measuring_rim) & positive(rim)


@define_formula(
    args={
        "section_width": ("mm", "section width on the measuring rim"),
        "measuring_rim": ("mm", "width of the measuring rim"),
        "rim": ("mm", "width of the rim in question"),
    },
    returns=("mm", "section width on that rim"),
    valid=_are_rims,
    constants={"growth": "geometry.section_growth", "for_rim": "geometry.section_growth_rim"},
    sources=[Cited("section-note", "section width", Grade.SECONDARY)],
    misfit="0.2 in for each half inch is told as well: 0.08 mm more",
    examples=[
        WorkedExample(
            {"section_width": "8.23 in", "measuring_rim": "6 in", "rim": f"{rim} in"},
            f"{width} in",
            "0.01 in",
            Cited("rim-range-note", "table for 205/60R15", Grade.SECONDARY),
        )
        for rim, width in ((5.5, 8.03), (6, 8.23), (6.5, 8.43), (7, 8.63), (7.5, 8.83))
    ],
)
def section_width_on_rim(
    section_width: Number, measuring_rim: Number, rim: Number, growth: Number, for_rim: Number
) -> Number:
    """Section width of a tyre on a rim other than its measuring rim."""
    return section_width + growth * (rim - measuring_rim) / for_rim
