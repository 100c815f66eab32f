"""Law of Western Australia that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, field, parameter

CATEGORY = field("vehicle.category")
# of these nobody need tell the mass
LIGHT = CATEGORY.one_of("L", "N1", "O1", "O2") | (
    field("vehicle.gross_mass") <= parameter("au_wa.tread.light_mass")
)

RULES = [
    Rule(
        id="au_wa.tyre.tread_depth",
        title="Tread of a light vehicle in the main grooves is not below the legal minimum",
        subject="position",
        when=LIGHT,
        check=field("tyre.tread_depth_main_grooves") >= parameter("au_wa.tread.light_min"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("wa-2014", "reg. 270(2)(a)(ii)"),
        supersedes=("au.tyre.tread_depth",),
        advice="Renew the tyre.",
    ),
    Rule(
        id="au_wa.tyre.tread_depth_heavy",
        title="Tread of a heavy vehicle in the main grooves is not below the legal minimum",
        subject="position",
        when=~LIGHT,
        check=field("tyre.tread_depth_main_grooves") >= parameter("au_wa.tread.heavy_min"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("wa-2014", "reg. 270(2)(a)(i)"),
        supersedes=("au.tyre.tread_depth_heavy",),
        advice="Renew the tyre; only three quarters of the width that meets the road count.",
    ),
]
