"""Norwegian law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, any_of, constant, field, first_known, lookup, parameter, same, some

PERIOD = date(2008, 11, 1)
"""First day of the winter period of tread depth."""
WORDED = date(2019, 11, 1)
"""First day of the season whose wording was seen."""

CATEGORY = field("vehicle.category")
MOTOR = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
TYRED = MOTOR | CATEGORY.one_of("L", "O1", "O2", "O3", "O4")
# An exception counts only where somebody looked: not known is not so.
FAST = ~first_known(field("vehicle.design_speed") <= parameter("no.tread.slow_speed"), constant(False))
gross = field("vehicle.gross_mass")
HEAVY_MASS = parameter("no.winter.heavy_mass")
# Lorries and heavy trailers are heavy by their category, vans and light trailers are not.
BIG_CAR = CATEGORY.equals("M1") & first_known(gross > HEAVY_MASS, constant(False))
BIG_BUS = CATEGORY.equals("M2") & (gross > HEAVY_MASS)
# Only a car can be a motor caravan; the others need not be asked.
CARAVAN = (gross <= parameter("no.winter.caravan_mass")) & field("own.no.motor_caravan")
HEAVY_MOTOR = any_of(CATEGORY.one_of("M3", "N2", "N3"), BIG_BUS, BIG_CAR & ~CARAVAN)
HEAVY = HEAVY_MOTOR | CATEGORY.one_of("O3", "O4")
LIGHT = any_of(
    CATEGORY.one_of("L", "N1", "O1", "O2"),
    CATEGORY.equals("M2") & (gross <= HEAVY_MASS),
    CATEGORY.equals("M1") & ~first_known(gross > HEAVY_MASS, constant(False)),
)

# Where both periods agree nobody need tell the place.
NORTH = field("own.no.north")
NORTH_PERIOD = parameter("no.tread.season_north")
SOUTH = parameter("no.tread.season")
SOUTH_HEAVY = parameter("no.tread.season_heavy")
WINTER = any_of(SOUTH & NORTH_PERIOD, NORTH & NORTH_PERIOD, ~NORTH & SOUTH)
WINTER_HEAVY = any_of(SOUTH_HEAVY & NORTH_PERIOD, NORTH & NORTH_PERIOD, ~NORTH & SOUTH_HEAVY)
WINTER_ROAD = first_known(field("event.winter_road"), parameter("no.winter.assumed"))

main_grooves = field("tyre.tread_depth_main_grooves")
STUDDED = field("tyre.studded")
SNOWFLAKE = field("tyre.snowflake")
WINTER_TYRE = field("tyre.mud_snow") | SNOWFLAKE
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
LOOKED = first_known(STUDDED | ~STUDDED, first_known(WINTER_TYRE, constant(False)))
STUDS_SEEN = first_known(STUDDED, constant(False))
DRIVEN = field("axle.driven")
FRONT = field("axle.number").equals(1)
OTHER_STEERED = field("axle.steered") & ~FRONT
HEAVY_TIME = parameter("no.winter.heavy_season") & HEAVY_MOTOR
FITMENT = field("axle.fitment")
AXLE_MASS = field("axle.permitted_mass")

RULES = [
    Rule(
        id="no.tyre.tread_depth",
        title="Tread in the main grooves is not below the legal minimum",
        subject="position",
        when=TYRED & FAST,
        check=main_grooves >= parameter("no.tread.min_depth"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("bruk-1-4", "No 1 a"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="no.tyre.winter_tread_depth",
        title="In the winter period tread in the main grooves is not below the winter minimum",
        subject="position",
        when=TYRED & FAST,
        check=(main_grooves >= parameter("no.tread.min_depth_winter")) | ~WINTER,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("bruk-1-4", "No 1 a"),
        advice="Renew the tyre, whatever its type.",
    ),
    Rule(
        id="no.tyre.winter_tread_depth_heavy",
        title="In the winter period tread of a heavy vehicle is not below the winter minimum",
        subject="position",
        when=FAST & HEAVY,
        check=(main_grooves >= parameter("no.tread.min_depth_winter_heavy")) | ~WINTER_HEAVY,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("bruk-1-4", "No 1 a"),
        advice="Renew the tyre, whatever its type.",
    ),
    Rule(
        id="no.tyre.winter_mark_heavy",
        title="In their season driven and front axles of a heavy motor vehicle have the alpine symbol",
        subject="position",
        when=HEAVY_TIME & (DRIVEN | FRONT),
        check=SNOWFLAKE | (field("tyre.mud_snow") & parameter("no.winter.mud_snow_suffices")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("bruk-1-4", "No 2"),
        advice="Fit tyres with the alpine symbol.",
    ),
    Rule(
        id="no.tyre.winter_mark_heavy_other",
        title="In their season the other axles of a heavy motor vehicle have winter tyres",
        subject="position",
        when=HEAVY_TIME & ~DRIVEN & ~FRONT,
        check=WINTER_TYRE,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("bruk-1-4", "No 2"),
        advice="Fit tyres that bear M+S or the alpine symbol.",
    ),
    Rule(
        id="no.tyre.winter_mark_other_steered",
        title="In their season another steered axle of a heavy motor vehicle has the alpine symbol",
        subject="position",
        when=HEAVY_TIME & OTHER_STEERED & ~DRIVEN,
        check=SNOWFLAKE | (field("tyre.mud_snow") & parameter("no.winter.mud_snow_suffices")),
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("bruk-1-4", "No 2"),
        advice="See whether it is a front steered axle: these need the alpine symbol, others M+S.",
    ),
    Rule(
        id="no.tyre.winter_grip",
        title="On a winter road the tyre is a winter tyre",
        subject="position",
        when=TYRED & WINTER_ROAD,
        check=WINTER_TYRE | STUDDED,
        unseen_before=WORDED,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("bruk-1-4", "No 2"),
        advice="Tell the driver: there must be grip enough, by winter tyres or chains where needed.",
    ),
    Rule(
        id="no.tyre.studs",
        title="Studs are on the road only in their season or where the road calls for them",
        subject="position",
        when=LOOKED,
        check=~STUDDED | WINTER_ROAD | WINTER,
        starts=PERIOD,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("municipality-2021", "on § 1-4 No 3"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="no.tyre.studs_winter_tyre",
        title="Only a winter tyre has studs",
        subject="position",
        when=STUDS_SEEN & (MOTOR | CATEGORY.one_of("O1", "O2", "O3", "O4")),
        check=WINTER_TYRE,
        starts=PERIOD,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("bruk-1-4", "No 2; start as told by the hauliers in 2008"),
        advice="Fit studs to winter tyres only.",
    ),
    Rule(
        id="no.vehicle.studs_all",
        title="All tyres of a light vehicle have studs, or none has",
        subject="vehicle",
        when=LIGHT & some(STUDS_SEEN),
        check=same(STUDDED),
        unseen_before=date(2021, 10, 24),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("municipality-2021", "on § 1-4 No 4 a"),
        advice="Fit studded tyres to all wheels or to none.",
    ),
    Rule(
        id="no.axle.properties",
        title="Tyres of one axle are nearly alike: size, construction and studs",
        subject="axle",
        when=FAST,
        check=same(field("tyre.size_designation"))
        & same(field("tyre.construction"))
        & (same(STUDDED) | ~some(STUDS_SEEN)),
        unseen_before=WORDED,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("bruk-1-4", "No 1 b"),
        advice="Fit like tyres to the axle.",
    ),
    Rule(
        id="no.tyre.load_single",
        title="The tyres of an axle with single wheels carry its permitted mass",
        subject="position",
        when=FITMENT.equals("single"),
        check=lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("no.load.tyres_single")
        >= AXLE_MASS,
        what="load of the axle's two tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("kjoretoy-13-1", "No 2.2"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="no.tyre.load_dual",
        title="The tyres of an axle with dual wheels carry its permitted mass",
        subject="position",
        when=FITMENT.equals("dual"),
        check=lookup("load_index", field("tyre.load_index_dual"), "load_kg") * parameter("no.load.tyres_dual")
        >= AXLE_MASS,
        what="load of the axle's four tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("kjoretoy-13-1", "No 2.2"),
        advice="Fit tyres with a sufficient load index for dual fitment.",
    ),
]
