"""What raises or lowers the load that a tyre may carry: speed, use on trucks, twin fitment."""

from __future__ import annotations

from stemlore.formulas._formula import Formula, WorkedExample, define_formula
from stemlore.formulas._operators import Number, choose, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "dual_load_lt",
    "load_share_at_speed_v",
    "load_share_at_speed_w",
    "load_share_at_speed_y",
    "moto_load_share_at_speed_v",
    "moto_load_share_at_speed_w",
    "passenger_load_on_truck",
    "pressure_supplement",
]

_TABLE = Cited("chassis-textbook", "p. 291, load and speed", Grade.REPRODUCTION)
_TEXT = Cited("chassis-textbook", "10.1.2.6", Grade.SECONDARY)
_R75 = Cited("un-r75", "2.33.2 to 2.33.4, table 3", Grade.REPRODUCTION)
_NHTSA = Cited("nhtsa-1976", "question and answer, 49 CFR 571.120 S5.1.2", Grade.READ)
_ANSWER = Cited("passenger-on-truck-answer", "answer", Grade.SECONDARY)
_CHART = Cited("lt-chart", "rows of single and dual tyres", Grade.SECONDARY)

_SPEED = {"speed": ("km/h", "greatest speed of the vehicle")}
_SHARE = ("1", "share of the rated load that may be used")


def _up_to_symbol(speed: Number, to: Number) -> Number:
    """Above zero and at most the speed of the symbol."""
    return positive(speed) & (speed <= to)


def _linear(speed: Number, start: Number, to: Number, share: Number) -> Number:
    return choose(speed <= start, 1, 1 - (1 - share) * (speed - start) / (to - start))


def _by_symbol(symbol: str, start: int, *cells: tuple[int, int]) -> Formula:
    key = symbol.lower()
    return define_formula(
        name=f"load_share_at_speed_{key}",
        doc=f"Share of the rated load that a passenger tyre of speed symbol {symbol} may carry.\n\n"
        f"All of it up to {start} km/h, then falling in a line. A tyre marked ZR without a speed\n"
        "symbol has no share of its own: ask its maker.",
        args=_SPEED,
        returns=_SHARE,
        valid=_up_to_symbol,
        constants={
            "start": f"speed.{key}.from",
            "to": f"speed.{key}.to",
            "share": f"speed.{key}.share",
        },
        sources=[_TABLE],
        examples=[
            WorkedExample({"speed": f"{speed} km/h"}, f"{percent} %", "0 %", _TABLE)
            for speed, percent in cells
        ],
    )(_linear)


load_share_at_speed_v = _by_symbol("V", 210, (210, 100), (220, 97), (230, 94), (240, 91))
load_share_at_speed_w = _by_symbol("W", 240, (210, 100), (240, 100), (250, 95), (260, 90), (270, 85))
load_share_at_speed_y = _by_symbol("Y", 270, (240, 100), (270, 100), (280, 95), (290, 90), (300, 85))


def _up_to_last_row(speed: Number, speed_3: Number) -> Number:
    """Above zero and at most the speed of the symbol."""
    return positive(speed) & (speed <= speed_3)


def _stepped(
    speed: Number,
    speed_0: Number,
    speed_1: Number,
    speed_2: Number,
    share_1: Number,
    share_2: Number,
    share_3: Number,
) -> Number:
    lower = choose(speed <= speed_2, share_2, share_3)
    return choose(speed <= speed_0, 1, choose(speed <= speed_1, share_1, lower))


def _moto(symbol: str, told: str, *cells: tuple[int, int]) -> Formula:
    key = f"moto_{symbol.lower()}"
    names = ("speed_0", "speed_1", "speed_2", "speed_3", "share_1", "share_2", "share_3")
    return define_formula(
        name=f"moto_load_share_at_speed_{symbol.lower()}",
        doc=f"Share of the rated load that a motorcycle tyre {told} may carry at a speed.\n\n"
        "Between two speeds of the table the share of the higher one counts: what was read\n"
        "prints no interpolation.",
        args=_SPEED,
        returns=_SHARE,
        valid=_up_to_last_row,
        constants={name: f"speed.{key}.{name}" for name in names},
        sources=[_R75],
        examples=[
            WorkedExample({"speed": f"{speed} km/h"}, f"{percent} %", "0 %", _R75) for speed, percent in cells
        ],
    )(_stepped)


moto_load_share_at_speed_v = _moto("V", "of speed symbol V", (210, 100), (220, 95), (230, 90), (240, 85))
moto_load_share_at_speed_w = _moto(
    "W", "of speed symbol W, or with Z in the size,", (210, 100), (240, 100), (250, 95), (260, 85), (270, 75)
)


@define_formula(
    args=_SPEED,
    returns=("kPa", "to add to the table's pressure"),
    valid=_up_to_symbol,
    constants={
        "start": "speed.supplement.from",
        "to": "speed.supplement.to",
        "greatest": "speed.supplement.greatest",
    },
    sources=[_TEXT],
    misfit="for speed symbols R to V; tyres marked W or Y start at 190 km/h and what follows was not read",
    examples=[
        WorkedExample({"speed": "160 km/h"}, "0 bar", "0 bar", _TEXT),
        WorkedExample({"speed": "177 km/h"}, "0.1 bar", "0.005 bar", _TEXT, "0.1 bar for each 17 km/h"),
        WorkedExample({"speed": "194 km/h"}, "0.2 bar", "0.005 bar", _TEXT, "0.1 bar for each 17 km/h"),
        WorkedExample({"speed": "210 km/h"}, "0.3 bar", "0 bar", _TEXT),
    ],
)
def pressure_supplement(speed: Number, start: Number, to: Number, greatest: Number) -> Number:
    """Pressure to add for speed to what the load asks for, ETRTO passenger tyres of symbols R to V."""
    return choose(speed <= start, 0 * greatest, greatest * (speed - start) / (to - start))


def _is_load(load: Number) -> Number:
    """The load is above zero."""
    return positive(load)


@define_formula(
    args={"load": ("kg", "rated load as a passenger tyre")},
    returns=("kg", "rated load on a truck, bus, trailer or multipurpose vehicle"),
    valid=_is_load,
    constants={"divisor": "load.passenger_on_truck"},
    sources=[_NHTSA],
    misfit="American rule; a European guideline lets passenger tyres on trailers carry more up to 100 km/h",
    examples=[
        WorkedExample(
            {"load": "1000 kg"}, "910 kg", "5 kg", _NHTSA, "91 % in the Tire and Rim Association's book"
        ),
        WorkedExample({"load": "1030 kg"}, "936 kg", "0.5 kg", _ANSWER),
    ],
)
def passenger_load_on_truck(load: Number, divisor: Number) -> Number:
    """Rated load of a passenger tyre on a truck, bus, trailer or multipurpose vehicle."""
    return load / divisor


@define_formula(
    args={"load": ("kg", "load of the tyre in single fitment, at the same pressure")},
    returns=("kg", "load of one tyre in twin fitment"),
    valid=_is_load,
    constants={"share": "load.dual_share"},
    sources=[Cited("dual-description", "text", Grade.SECONDARY)],
    misfit="up to 11 lb for one tyre in the chart; where a second load index is marked, that one counts",
    examples=[
        WorkedExample(
            {"load": f"{single} lb"},
            f"{pair / 2:g} lb",
            "11 lb",
            _CHART,
            f"the chart prints {pair} lb for the pair",
        )
        for single, pair in (
            (1700, 3090),
            (1870, 3400),
            (2030, 3690),
            (2205, 4015),
            (2335, 4250),
            (2485, 4520),
            (2623, 4765),
            (2765, 5030),
            (2905, 5290),
            (3042, 5556),
        )
    ],
)
def dual_load_lt(load: Number, share: Number) -> Number:
    """Load of one light truck tyre in twin fitment, where only the single load is known."""
    return load * share
