"""Finnish law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, constant, field, first_known, parameter, same, some

ACT = date(2020, 6, 1)
"""First day of the Road Traffic Act of 2018."""

CATEGORY = field("vehicle.category")
# An exception counts only where somebody looked: not known is not so.
SLOW = first_known(field("vehicle.design_speed") <= parameter("fi.tread.slow_speed"), constant(False))
HEAVY = first_known(field("vehicle.gross_mass") > parameter("fi.winter.light_mass"), constant(False))
TWINS = first_known(field("vehicle.twin_wheels"), constant(False))

main_grooves = field("tyre.tread_depth_main_grooves")
STUDDED = field("tyre.studded")
MARKED = STUDDED | field("tyre.snowflake") | field("tyre.professional_off_road")
MUD_SNOW = field("tyre.mud_snow")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
LOOKED = first_known(STUDDED | ~STUDDED, first_known(MUD_SNOW | field("tyre.snowflake"), constant(False)))
SEEN = first_known(STUDDED, constant(False))
CAR_MARK = MARKED | (MUD_SNOW & parameter("fi.winter.mud_snow_suffices"))
TRAILER_MARK = MARKED | (MUD_SNOW & parameter("fi.winter.mud_snow_suffices_trailer"))

SEASON = parameter("fi.winter.season")
WINTER_ROAD = first_known(field("event.winter_road"), parameter("fi.winter.assumed"))
DUTY = SEASON & WINTER_ROAD
LIGHT_CAR = CATEGORY.equals("N1") | (CATEGORY.equals("M1") & ~HEAVY)
LIGHT = LIGHT_CAR | CATEGORY.one_of("L", "O2")
BIG = CATEGORY.one_of("M2", "M3", "N2", "N3") | (CATEGORY.equals("M1") & HEAVY)
DRIVE_AXLE = field("axle.driven") & ~field("axle.steered")

RULES = [
    Rule(
        id="fi.tyre.tread_depth",
        title="Tread in the main grooves is not below the legal minimum",
        subject="position",
        when=CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4") & ~SLOW,
        check=main_grooves >= parameter("fi.tread.min_depth"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 104(1)"),
        supersedes=("eu.tyre.tread_depth",),
        advice="Renew the tyre.",
    ),
    Rule(
        id="fi.tyre.tread_depth_motorcycle",
        title="Tread on a vehicle of category L is not below the minimum of motorcycles",
        subject="position",
        when=CATEGORY.equals("L") & ~SLOW,
        check=main_grooves >= parameter("fi.tread.min_depth_motorcycle"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 104(1)"),
        advice="Renew the tyre; mopeds, three- and four-wheelers need the 1.6 mm of cars.",
    ),
    Rule(
        id="fi.tyre.winter_mark",
        title="On a winter road the tyre of a light car is a winter tyre",
        subject="position",
        when=DUTY & LIGHT_CAR,
        check=CAR_MARK,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 105(1)"),
        advice="Fit winter tyres, or keep to moves of the workshop of at most 20 km.",
    ),
    Rule(
        id="fi.tyre.winter_mark_trailer",
        title="On a winter road the tyre of a light trailer is a winter tyre",
        subject="position",
        when=DUTY & CATEGORY.equals("O2"),
        check=TRAILER_MARK,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 105(1), item 5"),
        advice="Fit winter tyres to the trailer.",
    ),
    Rule(
        id="fi.tyre.winter_tread_depth",
        title="On a winter road tread of a light vehicle is not below the winter minimum",
        subject="position",
        when=DUTY & LIGHT,
        check=main_grooves >= parameter("fi.winter.min_depth"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 105(1)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="fi.tyre.winter_tread_heavy_drive",
        title="On a winter road tread of a heavy vehicle's driven axle is not below the winter minimum",
        subject="position",
        when=DUTY & BIG & DRIVE_AXLE,
        check=main_grooves >= parameter("fi.winter.min_depth_heavy_drive"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 105(2)"),
        advice="Renew the tyre; it must be a winter tyre.",
    ),
    Rule(
        id="fi.tyre.winter_tread_heavy_other",
        title="On a winter road tread of a heavy vehicle's other axle is not below the winter minimum",
        subject="position",
        when=DUTY & ((BIG & ~DRIVE_AXLE) | CATEGORY.one_of("O3", "O4")),
        check=main_grooves >= parameter("fi.winter.min_depth_heavy_other"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 105(2)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="fi.tyre.winter_season",
        title="In the season of winter tyres the tyre is a winter tyre",
        subject="position",
        when=LIGHT_CAR & ~WINTER_ROAD,
        check=~SEASON | CAR_MARK,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("tieliikennelaki", "§ 105(1)"),
        advice="Offer winter tyres: from November to March the law asks for them where weather or road does.",
    ),
    Rule(
        id="fi.tyre.winter_fixed_season",
        title="In the fixed season before 2020-06-01 the tyre is a winter tyre",
        subject="position",
        when=CATEGORY.one_of("M1", "N1"),
        check=~parameter("fi.winter.season_before") | STUDDED | field("tyre.snowflake") | MUD_SNOW,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("news-2020", "part on the season before"),
        advice="Fit winter tyres.",
    ),
    Rule(
        id="fi.tyre.studs",
        title="Studs are on the road only in their season or where the road calls for them",
        subject="position",
        when=LOOKED,
        # the road may call for them on any day: out of season it must be told that it does not
        check=~STUDDED | parameter("fi.studs.season") | field("event.winter_road"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 106(2)"),
        advice="Fit tyres without studs; moves for repair, test or sale are free.",
    ),
    Rule(
        id="fi.vehicle.studs_all",
        title="All tyres of a car, van or light trailer have studs, or none has",
        subject="vehicle",
        # with twin wheels the second of a pair may be without
        when=(LIGHT_CAR | CATEGORY.one_of("O1", "O2")) & ~TWINS & some(SEEN),
        check=same(STUDDED),
        starts=ACT,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tieliikennelaki", "§ 106(4)"),
        advice="Fit studded tyres to all wheels, with like counts of studs, or to none.",
    ),
    Rule(
        id="fi.axle.studs",
        title="Tyres of one axle are alike in studs",
        subject="axle",
        when=(BIG | CATEGORY.one_of("O3", "O4")) & some(SEEN),
        check=same(STUDDED),
        starts=ACT,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("tieliikennelaki", "§ 104(2)"),
        advice="Fit tyres with like properties to the axle.",
    ),
]
