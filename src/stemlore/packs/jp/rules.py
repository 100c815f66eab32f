"""Japanese law that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, field, lookup, parameter

CATEGORY = field("vehicle.category")
ROAD = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4")
FITMENT = field("axle.fitment")
MASS = field("axle.permitted_mass")

RULES = [
    Rule(
        id="jp.tyre.load_single",
        title="The tyres of an axle with single wheels carry its load",
        subject="position",
        when=ROAD & FITMENT.equals("single"),
        check=lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("jp.load.tyres_single")
        >= MASS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("jp-89", "Art. 89(4)(i)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="jp.tyre.load_dual",
        title="The tyres of an axle with dual wheels carry its load",
        subject="position",
        when=ROAD & FITMENT.equals("dual"),
        check=lookup("load_index", field("tyre.load_index_dual"), "load_kg") * parameter("jp.load.tyres_dual")
        >= MASS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("jp-89", "Art. 89(4)(i)"),
        advice="Fit tyres with a sufficient load index for dual fitment.",
    ),
]
