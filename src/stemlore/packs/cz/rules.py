"""Czech law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import (
    Cite,
    Rule,
    choose,
    constant,
    field,
    first_known,
    log,
    lookup,
    parameter,
    same,
    spread,
)

DECREE_341 = date(2015, 1, 1)
"""First day of Decree 341/2014; Decree 153/2023 took the clauses over."""
LAST_341 = date(2023, 6, 23)

CATEGORY = field("vehicle.category")
MOTOR = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
tread = field("tyre.tread_depth_main_grooves")
DIAMETER = field("tyre.outer_diameter")
# Of the greater one, so a ratio, whose logarithm is what the members spread over; said as a denial,
# because a margin in logarithms would tell nobody anything.
DIAMETERS_FIT = ~(
    spread(log(DIAMETER / constant("1 mm")))
    > log(constant(1.0) / (constant(1.0) - parameter("cz.axle.diameter_difference")))
)
speed = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h")

WINTER_MARK = field("tyre.mud_snow") | field("tyre.snowflake")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
STUDDED = field("tyre.studded")
LOOKED = first_known(STUDDED | ~STUDDED, first_known(WINTER_MARK, constant(False)))
# Regrooving is rare on light vehicles: there it counts only where somebody saw it.
REGROOVED = field("tyre.regrooved")
REGROOVING_TOLD = first_known(REGROOVED | ~REGROOVED, constant(False))
HEAVY_OR_VAN = CATEGORY.one_of("M2", "M3", "N1", "N2", "N3", "O3", "O4")
# So with makes: a light vehicle's are compared only where they were read.
SAME_MAKE = same(field("tyre.make"))
MAKES_TOLD = first_known(SAME_MAKE | ~SAME_MAKE, constant(False))
LIGHT_CATEGORY = CATEGORY.one_of("L", "M1", "N1", "O1", "O2")
SEASON = parameter("cz.winter.season")
WINTER_ROAD = first_known(field("event.winter_road"), parameter("cz.winter.assumed"))
LIGHT = field("vehicle.gross_mass") <= parameter("cz.winter.light_mass")
WINTER_DUTY = MOTOR & SEASON & WINTER_ROAD & (LIGHT | field("axle.driven"))

RULES = [
    Rule(
        id="cz.tyre.tread_depth_motorcycle",
        title="Tread on a two-wheeler that is no moped is not below the general minimum",
        subject="position",
        when=CATEGORY.equals("L"),
        check=(tread >= parameter("cz.tread.min_depth"))
        | (field("vehicle.design_speed") <= parameter("cz.tread.moped_speed")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 5; before 2023-06-24 Decree 341/2014, annex 12 part F no. 5",
        ),
        advice="Renew the tyre, or read in the papers whether it is a moped.",
    ),
    Rule(
        id="cz.tyre.damage",
        title="No crack or damage bares or hurts the tyre's carcass",
        subject="position",
        check=~field("condition.cord_exposed") & ~field("condition.cut_to_cord"),
        starts=DECREE_341,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 5; before 2023-06-24 Decree 341/2014, annex 12 part F no. 5",
        ),
        advice="Renew the tyre.",
    ),
    Rule(
        id="cz.tyre.studs",
        title="The tyre has no studs",
        subject="position",
        when=LOOKED,
        check=~STUDDED,
        starts=DECREE_341,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 11; before 2023-06-24 Decree 341/2014, annex 12 part F no. 11",
        ),
        advice="Fit tyres without studs; only vehicles of the rescue service may have them.",
    ),
    Rule(
        id="cz.axle.make",
        title="Tyres of one axle are of one make",
        subject="axle",
        when=~LIGHT_CATEGORY | MAKES_TOLD,
        check=SAME_MAKE,
        starts=DECREE_341,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 13; before 2023-06-24 Decree 341/2014, annex 12 part F no. 13",
        ),
        advice="Fit tyres of one make to the axle.",
    ),
    Rule(
        id="cz.tyre.regrooved",
        title="The tyre of a car is not regrooved",
        subject="position",
        when=CATEGORY.equals("M1") & REGROOVING_TOLD,
        check=~REGROOVED,
        starts=DECREE_341,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 10; before 2023-06-24 Decree 341/2014, annex 12 part F no. 10",
        ),
        advice="Renew the tyre.",
    ),
    Rule(
        id="cz.tyre.regroovable",
        title="A regrooved tyre of a heavy vehicle is marked as regroovable",
        subject="position",
        when=HEAVY_OR_VAN & choose(CATEGORY.equals("N1"), first_known(REGROOVED, constant(False)), REGROOVED),
        check=field("tyre.regroovable"),
        starts=DECREE_341,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 10; before 2023-06-24 Decree 341/2014, annex 12 part F no. 10",
        ),
        advice="Renew the tyre.",
    ),
    Rule(
        id="cz.pair.diameter",
        title="The outer diameters of twin tyres differ by no more than allowed",
        subject="pair",
        check=DIAMETERS_FIT,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 6; before 2023-06-24 Decree 341/2014, annex 12 part F no. 6",
        ),
        advice="Pair tyres of like diameter, measured unladen.",
    ),
    Rule(
        id="cz.axle.diameter",
        title="The outer diameters of the tyres of one axle differ by no more than allowed",
        subject="axle",
        check=DIAMETERS_FIT,
        tie="registered_in",
        basis="law",
        # seldom measured: a reading that is missing shall not keep every report from being clean
        gravity="advise",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 6; before 2023-06-24 Decree 341/2014, annex 12 part F no. 6",
        ),
        advice="Fit tyres of like diameter, measured unladen; a plain difference fails the periodic test.",
    ),
    Rule(
        id="cz.tyre.pressure_max",
        title="The tyre is not inflated beyond the pressure that its maker allows",
        subject="position",
        check=field("tyre.pressure") <= field("tyre.sidewall_pressure"),
        starts=DECREE_341,
        ends=LAST_341,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("decree-341", "annex 12 part F no. 4"),
        advice="Let air out to the pressure that the vehicle's maker gives.",
    ),
    Rule(
        id="cz.tyre.winter_speed_shown",
        title="The limit of a winter tyre that is slower than the vehicle is shown to the driver",
        subject="position",
        # a trailer has no design speed of its own, and no driver's view
        when=(MOTOR | CATEGORY.equals("L")) & WINTER_MARK & (field("vehicle.design_speed") > speed),
        check=field("vehicle.tyre_speed_shown"),
        starts=DECREE_341,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite(
            "decree-153",
            "annex 7 part E no. 2; before 2023-06-24 Decree 341/2014, annex 12 part F no. 2",
        ),
        advice="Put the tyres' lowest speed where the driver sees it, or set it in the instrument panel.",
    ),
    Rule(
        id="cz.tyre.winter_road",
        title="On a winter road the tyre is a winter tyre",
        subject="position",
        when=WINTER_DUTY,
        check=WINTER_MARK,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("road-act", "§ 40a(1)"),
        advice="Fit winter tyres; above 3500 kg all wheels of the axles that always drive need them.",
    ),
    Rule(
        id="cz.tyre.winter_road_tread",
        title="On a winter road the tread is not below the minimum of winter tyres",
        subject="position",
        when=WINTER_DUTY,
        check=(tread >= parameter("cz.winter.min_depth_heavy"))
        | (LIGHT & (tread >= parameter("cz.winter.min_depth_light"))),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("road-act", "§ 40a(1)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="cz.tyre.winter_season",
        title="In the winter months the tyre is a winter tyre",
        subject="position",
        when=CATEGORY.one_of("M1", "N1") & SEASON,
        check=WINTER_MARK,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("road-act", "§ 40a(1)"),
        advice="Offer winter tyres: they are a duty when snow, ice or frost lies or can be expected, "
        "and by the sign for winter equipment on any road.",
    ),
]
