"""What UN Regulations say of a tyre's load at speed."""

from __future__ import annotations

from stemlore.rules import Cite, Node, Rule, choose, field, lesser, lookup, parameter

CATEGORY = field("vehicle.category")
FITMENT = field("axle.fitment")
SYMBOL = field("tyre.speed_symbol")
LOAD = lookup("load_index", field("tyre.load_index"), "load_kg")
AXLE_MASS = field("axle.permitted_mass")

# A tyre slower than the vehicle is not driven beyond its own speed.
SPEED = lesser(field("vehicle.design_speed"), lookup("speed_symbols", SYMBOL, "speed_km_h"))


def share(table: str, column: str) -> Node:
    """Return the share of its load that a tyre bears at that speed."""
    return lookup(table, SPEED, column, how="interpolated")


CAR_SHARE = choose(
    SYMBOL.equals("V"),
    share("load_speed", "v_percent"),
    choose(SYMBOL.equals("W"), share("load_speed", "w_percent"), share("load_speed", "y_percent")),
)
MOTORCYCLE_SHARE = choose(
    SYMBOL.equals("V"),
    share("load_speed_motorcycle", "v_percent"),
    share("load_speed_motorcycle", "w_percent"),
)

RULES = [
    Rule(
        id="un.tyre.load_at_speed",
        title="A fast car's tyres carry the axle's permitted mass at the speed that they may be driven",
        subject="position",
        when=CATEGORY.equals("M1")
        & FITMENT.equals("single")
        & (field("vehicle.design_speed") > parameter("un.load.full_car"))
        & SYMBOL.one_of("V", "W", "Y"),
        check=LOAD * CAR_SHARE * parameter("un.load.tyres_single") >= AXLE_MASS,
        what="load of the axle's two tyres at that speed",
        tie="registered_in",
        basis="standard",
        gravity="remedy",
        cite=Cite("chassis-textbook", "p. 291; the text of UN R30 was not read"),
        advice="Fit tyres with a greater load index or a faster speed symbol.",
    ),
    Rule(
        id="un.tyre.load_motorcycle",
        title="A fast motorcycle's tyre carries the axle's permitted mass at the speed that it may be driven",
        subject="position",
        when=CATEGORY.equals("L")
        & FITMENT.equals("centre")
        & (field("vehicle.design_speed") > parameter("un.load.full_motorcycle"))
        & SYMBOL.one_of("V", "W"),
        check=LOAD * MOTORCYCLE_SHARE >= AXLE_MASS,
        what="load of the tyre at that speed",
        tie="registered_in",
        basis="standard",
        gravity="remedy",
        cite=Cite("un-r75", "2.33.2 and 2.33.3, table 3"),
        advice="Fit tyres with a greater load index or speed symbol; with V or Z in the size ask the maker.",
    ),
]
