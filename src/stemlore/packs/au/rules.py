"""Australian law."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, field, parameter

CATEGORY = field("vehicle.category")
# of these nobody need tell the mass
LIGHT = CATEGORY.one_of("L", "N1", "O1", "O2") | (
    field("vehicle.gross_mass") <= parameter("au.tread.light_mass")
)

RULES = [
    Rule(
        id="au.tyre.tread_depth",
        title="Tread of a light vehicle in the main grooves is not below the legal minimum",
        subject="position",
        when=LIGHT,
        check=field("tyre.tread_depth_main_grooves") >= parameter("au.tread.light_min"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("alvsr", "rule on tyre tread"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="au.tyre.tread_depth_heavy",
        title="Tread of a heavy vehicle in the main grooves is not below the legal minimum",
        subject="position",
        when=~LIGHT,
        check=field("tyre.tread_depth_main_grooves") >= parameter("au.tread.heavy_min"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("au-heavy", "first reason"),
        advice="Renew the tyre; only three quarters of the width that meets the road count.",
    ),
]
