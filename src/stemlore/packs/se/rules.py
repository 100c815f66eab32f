"""Swedish law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, any_of, constant, field, first_known, parameter, same, some

HEAVY_TOO = date(2013, 1, 1)
"""First day of the duty of heavy vehicles."""
ALL_AXLES = date(2019, 6, 1)
"""First day of the duty of their other axles and trailers."""
STUDS_SEEN = date(2013, 1, 1)
"""Day of the page that tells of mixed studs."""

CATEGORY = field("vehicle.category")
GROSS = field("vehicle.gross_mass")
LIGHT_MASS = parameter("se.winter.light_mass")
# A heavy car is an exception, and counts only where somebody looked.
HEAVY_CAR = CATEGORY.equals("M1") & first_known(GROSS > LIGHT_MASS, constant(False))
LIGHT = any_of(
    CATEGORY.equals("N1"),
    CATEGORY.equals("M1") & ~first_known(GROSS > LIGHT_MASS, constant(False)),
    CATEGORY.equals("M2") & (GROSS <= LIGHT_MASS),
)
HEAVY = CATEGORY.one_of("M3", "N2", "N3") | (CATEGORY.equals("M2") & (GROSS > LIGHT_MASS))

STUDDED = field("tyre.studded")
MARKED = STUDDED | field("tyre.snowflake") | field("tyre.professional_off_road")
MUD_SNOW = field("tyre.mud_snow")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
LOOKED = first_known(STUDDED | ~STUDDED, first_known(MUD_SNOW | field("tyre.snowflake"), constant(False)))
SEEN = first_known(STUDDED, constant(False))
FULL_MARK = MARKED | (MUD_SNOW & parameter("se.winter.mud_snow_suffices"))
MILD_MARK = MARKED | MUD_SNOW

WINTER_ROAD = first_known(field("event.winter_road"), parameter("se.winter.assumed"))
SEASON = parameter("se.winter.season")
DUTY = SEASON & WINTER_ROAD
HEAVY_DUTY = parameter("se.winter.heavy_season") & (WINTER_ROAD | parameter("se.winter.heavy_any_road"))
DRIVEN = field("axle.driven")
FRONT = field("axle.number").equals(1)
SINCE_2019 = parameter("se.winter.heavy_all_axles")

RULES = [
    Rule(
        id="se.tyre.winter_mark",
        title="On a winter road the tyre of a light vehicle is a winter tyre",
        subject="position",
        when=DUTY & LIGHT,
        check=FULL_MARK,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("trafikforordningen", "4 kap. 18 a §; marks by TSFS 2009:19, 3 §"),
        advice="Fit winter tyres, or chains on all wheels; test drives after repair are free where safe.",
    ),
    Rule(
        id="se.tyre.winter_mark_trailer",
        title="On a winter road the tyre of a light trailer is a winter tyre",
        subject="position",
        when=DUTY & CATEGORY.one_of("O1", "O2"),
        check=MARKED | (MUD_SNOW & parameter("se.winter.mud_snow_suffices_trailer")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("trafikforordningen", "4 kap. 18 a §; marks by TSFS 2009:19, 3 §"),
        advice="Fit winter tyres to the trailer; behind a car with studs they have studs too.",
    ),
    Rule(
        id="se.tyre.winter_mark_heavy",
        title="In the winter a driven or front axle of a heavy lorry or bus has winter tyres",
        subject="position",
        when=HEAVY_DUTY & HEAVY & (DRIVEN | (FRONT & SINCE_2019)),
        check=FULL_MARK,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("trafikforordningen", "4 kap. 18 b §; to 2025-10-31 18 a §; marks: TSFS 2009:19, 3 §"),
        advice="Fit tyres with the alpine symbol, POR tyres or studded ones.",
    ),
    Rule(
        id="se.tyre.winter_mark_heavy_other",
        title="In the winter the other axles of a heavy lorry, bus or trailer have winter tyres",
        subject="position",
        when=HEAVY_DUTY & ((HEAVY & ~DRIVEN & ~FRONT) | CATEGORY.one_of("O3", "O4")),
        check=MILD_MARK,
        starts=ALL_AXLES,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("trafikforordningen", "4 kap. 18 b §; to 2025-10-31 18 a §; marks: TSFS 2009:19, 3 §"),
        advice="Fit tyres that bear M+S or the alpine symbol, POR tyres or studded ones.",
    ),
    Rule(
        id="se.tyre.winter_mark_heavy_car",
        title="On a winter road the tyre of a heavy car is a winter tyre",
        subject="position",
        when=DUTY & HEAVY_CAR & (DRIVEN | SINCE_2019),
        check=FULL_MARK | (MUD_SNOW & ~DRIVEN & ~FRONT),
        starts=HEAVY_TOO,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("trafikforordningen", "4 kap. 18 a §; marks by TSFS 2009:19, 3 §"),
        advice="Fit winter tyres; M+S alone will do on axles neither driven nor in front.",
    ),
    Rule(
        id="se.tyre.winter_tread_depth",
        title="On a winter road tread of a light vehicle is not below the winter minimum",
        subject="position",
        when=DUTY & LIGHT,
        check=field("tyre.tread_depth_main_grooves") >= parameter("se.winter.min_depth"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("winter-page-2024", "part on cars, light lorries and buses"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="se.tyre.winter_tread_depth_heavy",
        title="On a winter road tread of a heavy vehicle is not below the winter minimum",
        subject="position",
        when=DUTY & (HEAVY | HEAVY_CAR) & (DRIVEN | SINCE_2019),
        check=field("tyre.tread_depth_main_grooves") >= parameter("se.winter.min_depth_heavy"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("winter-page-2024", "part on heavy vehicles"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="se.tyre.winter_season",
        title="In the season of winter tyres the tyre is a winter tyre",
        subject="position",
        when=LIGHT & ~WINTER_ROAD,
        check=~SEASON | FULL_MARK,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("trafikforordningen", "4 kap. 18 a §"),
        advice="Offer winter tyres: from December to March the law asks for them on a winter road.",
    ),
    Rule(
        id="se.tyre.studs",
        title="Studs are on the road only in their season or on a winter road",
        subject="position",
        when=LOOKED,
        check=~STUDDED | parameter("se.studs.season") | WINTER_ROAD,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("winter-page-2013", "part on studs"),
        advice="Fit tyres without studs; some streets bar studs at all times.",
    ),
    Rule(
        id="se.vehicle.studs_mixed",
        title="All tyres of a light vehicle have studs, or none has",
        subject="vehicle",
        when=LIGHT & some(SEEN),
        check=same(STUDDED),
        unseen_before=STUDS_SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("winter-page-2013", "part on studs"),
        advice="Fit studded tyres to all wheels or to none.",
    ),
]
