"""Polish law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, constant, every, field, first_known, lookup, parameter, same, some

SEEN = date(2016, 10, 27)
"""Day of the older consolidated text in which the clauses read alike."""

CATEGORY = field("vehicle.category")
MOTOR = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
# § 11 speaks of motor vehicles and their trailers; a moped is neither, nor told from small motorcycles
COVERED = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4") | (
    CATEGORY.equals("L") & ~field("vehicle.light_two_wheeler")
)
tread = field("tyre.tread_depth_main_grooves")
speed = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h")
# Patterns of a light vehicle are compared only where they were read.
SAME_PATTERN = same(field("tyre.pattern_name"))
PATTERNS_TOLD = first_known(SAME_PATTERN | ~SAME_PATTERN, constant(False))
LIGHT = CATEGORY.one_of("M1", "N1", "O1", "O2")
HEAVY = CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4")
SNOW_MARK = field("tyre.mud_snow") | field("tyre.snowflake")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
STUDDED = field("tyre.studded")
LOOKED = first_known(STUDDED | ~STUDDED, first_known(SNOW_MARK, constant(False)))

CONSTRUCTION = field("tyre.construction")
FRONT = field("axle.number").equals(1)
TWO_AXLES_SINGLE = every(field("axle.fitment").equals("single")) & every(
    field("axle.number") <= parameter("pl.construction.two_axles")
)

RULES = [
    Rule(
        id="pl.tyre.tread_depth",
        title="The wear indicator is not reached, or the tread is not below the minimum",
        subject="position",
        when=COVERED,
        # the indicator decides where it was measured; the depth stands for tyres without one
        check=first_known(
            field("tyre.tread_depth_at_wear_bar") > parameter("pl.tread.at_bar"),
            tread >= parameter("pl.tread.min_depth"),
        ),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("conditions", "§ 11(7) no. 4"),
        supersedes=("eu.tyre.tread_depth",),
        advice="Renew the tyre, or measure at the wear bar where the tyre has one lower than 1.6 mm.",
    ),
    Rule(
        id="pl.tyre.damage",
        title="No crack bares or hurts the tyre's cord",
        subject="position",
        when=COVERED,
        check=~field("condition.cord_exposed") & ~field("condition.cut_to_cord"),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("conditions", "§ 11(7) no. 5"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="pl.tyre.studs",
        title="The tyre has no studs",
        subject="position",
        when=COVERED & LOOKED,
        check=~STUDDED,
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("conditions", "§ 11(7) no. 6"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="pl.axle.pattern",
        title="Tyres of one axle have one tread pattern",
        subject="axle",
        when=HEAVY | (LIGHT & PATTERNS_TOLD),
        check=SAME_PATTERN,
        unseen_before=SEEN,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("conditions", "§ 11(7) no. 1"),
        advice="Fit tyres of one pattern to the axle.",
    ),
    Rule(
        id="pl.vehicle.construction_radial_front",
        title="With radial tyres in front, a two-axle vehicle has radial tyres behind",
        subject="vehicle",
        when=MOTOR & TWO_AXLES_SINGLE,
        check=~(
            some(FRONT & CONSTRUCTION.equals("radial"))
            & some(~FRONT & CONSTRUCTION.one_of("diagonal", "bias_belted"))
        ),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("conditions", "§ 11(7) no. 2(a)"),
        advice="Fit radial tyres to the rear axle too.",
    ),
    Rule(
        id="pl.vehicle.construction_belted_front",
        title="With bias-belted tyres in front, a two-axle vehicle has no diagonal tyres behind",
        subject="vehicle",
        when=MOTOR & TWO_AXLES_SINGLE,
        check=~(
            some(FRONT & CONSTRUCTION.equals("bias_belted")) & some(~FRONT & CONSTRUCTION.equals("diagonal"))
        ),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("conditions", "§ 11(7) no. 2(b)"),
        advice="Fit bias-belted or radial tyres to the rear axle.",
    ),
    Rule(
        id="pl.tyre.load_trailer",
        title="The tyres of a light trailer's axle carry its permitted mass",
        subject="position",
        when=CATEGORY.one_of("O1", "O2") & field("axle.fitment").equals("single"),
        check=lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("pl.load.tyres_single")
        >= field("axle.permitted_mass"),
        what="load of the axle's two tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("conditions", "§ 11(5)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="pl.tyre.winter_speed_floor",
        title="A snow tyre that is slower than the vehicle is good for 160 km/h",
        subject="position",
        when=MOTOR & SNOW_MARK & (field("vehicle.design_speed") > speed),
        # said as a denial: speed symbols go in steps, so a margin would mean nothing
        check=~(speed < parameter("pl.speed.snow_tyre_floor")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("conditions", "§ 11(5a)"),
        advice="Fit tyres with a sufficient speed symbol.",
    ),
    Rule(
        id="pl.tyre.winter_speed_shown",
        title="The limit of a snow tyre that is slower than the vehicle is shown to the driver",
        subject="position",
        when=MOTOR & SNOW_MARK & (field("vehicle.design_speed") > speed),
        check=field("vehicle.tyre_speed_shown"),
        unseen_before=SEEN,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("conditions", "§ 11(5a)"),
        advice="Put the tyre's speed where the driver sees and reads it.",
    ),
]
