"""Dutch law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, constant, field, first_known, lookup, parameter, spread

SEEN = date(2012, 12, 31)
"""Day of the text that was read."""
LOADED_SINCE = date(1998, 1, 1)
"""First day of use from which the load index is held against the register."""

CATEGORY = field("vehicle.category")
ALL = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
BUS = CATEGORY.one_of("M2", "M3")
# an N1 weighs no more than the limit anyway
PRESSURE_TESTED = CATEGORY.one_of("M1", "N1") | (
    CATEGORY.equals("M2") & (field("vehicle.gross_mass") <= parameter("nl.pressure.light_mass"))
)
LOAD_TESTED = (
    (BUS | CATEGORY.one_of("N1", "N2", "N3")) & (field("vehicle.first_registration") >= LOADED_SINCE)
) | (BUS & field("vehicle.permit_100"))
FITMENT = field("axle.fitment")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
STUDDED = field("tyre.studded")
LOOKED = first_known(
    STUDDED | ~STUDDED, first_known(field("tyre.mud_snow") | field("tyre.snowflake"), constant(False))
)

RULES = [
    Rule(
        id="nl.tyre.mounted_as_marked",
        title="Direction and side marked on the tyre are followed",
        subject="position",
        when=ALL,
        # a symmetric tyre bears no such mark
        check=field("condition.mounted_as_marked") | field("tyre.tread_pattern").equals("symmetric"),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("regeling-voertuigen", "art. 5.2.27(6), 5.3.27(6), 5.3a.27(6)"),
        advice="Turn the tyre on its rim, or change wheels across.",
    ),
    Rule(
        id="nl.tyre.studs",
        title="The tread holds no metal that can stand out",
        subject="position",
        when=ALL & LOOKED,
        check=~STUDDED,
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("regeling-voertuigen", "art. 5.2.27(7), 5.3.27(8), 5.3a.27(8)"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="nl.axle.pressure",
        title="Pressures on one axle differ by no more than allowed",
        subject="axle",
        when=PRESSURE_TESTED,
        check=spread(field("tyre.pressure")) <= parameter("nl.pressure.max_difference"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("regeling-voertuigen", "art. 5.2.27(9), 5.3.27(10), 5.3a.27(10), way of testing"),
        advice="Set both pressures to the placard.",
    ),
    Rule(
        id="nl.tyre.pressure",
        title="The tyre is not below the pressure that the vehicle's maker prescribes",
        subject="position",
        when=PRESSURE_TESTED,
        check=field("tyre.pressure") >= field("axle.cold_pressure_partial"),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("regeling-voertuigen", "art. 5.2.27(9), 5.3.27(10), 5.3a.27(10)"),
        supersedes=("world.tyre.pressure",),
        advice="Look for the leak and set the pressure cold to the table in or on the vehicle.",
        caution="A tyre that ran far too low may burst when filled: take it off and look inside first.",
    ),
    Rule(
        id="nl.tyre.load_single",
        title="The tyres of an axle with single wheels carry the axle load in the register",
        subject="position",
        when=LOAD_TESTED & FITMENT.equals("single"),
        check=lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("nl.load.tyres_single")
        >= field("axle.permitted_mass"),
        what="load of the axle's two tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("regeling-voertuigen", "art. 5.3.27(7), 5.3a.27(7)"),
        supersedes=("eu.tyre.load_single",),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="nl.tyre.load_dual",
        title="The tyres of an axle with dual wheels carry the axle load in the register",
        subject="position",
        when=LOAD_TESTED & FITMENT.equals("dual"),
        check=lookup("load_index", field("tyre.load_index_dual"), "load_kg") * parameter("nl.load.tyres_dual")
        >= field("axle.permitted_mass"),
        what="load of the axle's four tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("regeling-voertuigen", "art. 5.3.27(7), 5.3a.27(7)"),
        supersedes=("eu.tyre.load_dual",),
        advice="Fit tyres with a sufficient load index for dual fitment.",
    ),
]
