"""French law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import (
    Cite,
    Rule,
    any_of,
    constant,
    every,
    field,
    first_known,
    parameter,
    same,
    some,
    spread,
)

CATEGORY = field("vehicle.category")
depth = field("tyre.tread_depth_main_grooves")

LIGHT = CATEGORY.one_of("L", "M1", "N1", "O1", "O2")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
STUDDED = field("tyre.studded")
WINTER_MARK = field("tyre.mud_snow") | field("tyre.snowflake")
LOOKED = first_known(STUDDED | ~STUDDED, first_known(WINTER_MARK, constant(False)))
SEEN = first_known(STUDDED, constant(False))
# a depth taken across the whole tread tells it; else somebody looks
PATTERN = first_known(
    field("tyre.tread_depth_whole_tread") > parameter("fr.tread.worn_away"), field("own.fr.pattern_visible")
)
PATTERN_TOLD = first_known(PATTERN | ~PATTERN, constant(False))
# Makes of a light vehicle are compared only where they were read.
SAME_MAKE = same(field("tyre.make"))
MAKES_TOLD = first_known(SAME_MAKE | ~SAME_MAKE, constant(False))
STUDS_SEEN = date(2024, 4, 16)

MOUNTED_FROM = date(1995, 1, 1)
MOUNTED_TO = date(2019, 8, 30)
"""Days between which the order of 1994 was in force for vehicles; it was repealed on the next."""

MOUNTED = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4") & parameter(
    "fr.mounting.bound"
)

# nobody is asked about the mountains unless the vehicle goes there
IN_ZONE = parameter("fr.winter.season") & first_known(
    field("own.fr.mountain_zone"), parameter("fr.winter.zone_assumed")
)
WINTER_TYRE = field("tyre.mud_snow") & (field("tyre.snowflake") | ~parameter("fr.winter.snowflake_needed"))
CHAINS = field("vehicle.chains_aboard") >= parameter("fr.winter.drive_wheels")
PERMANENT = some(field("tyre.studded")) | (
    parameter("fr.winter.por_counts") & some(field("tyre.professional_off_road"))
)
ALONE = CATEGORY.one_of("M2", "M3") | ~field("own.fr.tows_trailer")
HEAVY_WHEELS = parameter("fr.winter.heavy_wheels")

RULES = [
    Rule(
        id="fr.tyre.tread_depth_others",
        title="Grooves of a heavy vehicle or two-wheeler are too shallow at no more than one of four points",
        subject="position",
        when=CATEGORY.one_of("L", "M2", "M3", "N2", "N3", "O3", "O4"),
        # where the shallowest place is deep enough, nobody needs to count points
        check=(depth >= parameter("fr.tread.min_depth_others"))
        | (field("own.fr.points_below") <= parameter("fr.tread.points_allowed")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("order-2019", "article on depth, para. 3"),
        advice="Measure at four points evenly round the tyre; renew it where two or more are below 1 mm.",
    ),
    Rule(
        id="fr.axle.tread_difference",
        title="Main grooves of two tyres on one axle differ by no more than allowed",
        subject="axle",
        check=spread(depth) <= parameter("fr.tread.max_difference"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("order-2019", "article on depth, para. 4"),
        advice="Renew the more worn tyre, or bring tyres of like depth together on the axle.",
    ),
    Rule(
        id="fr.tyre.pattern_visible",
        title="Pattern is to be seen on the whole tread",
        subject="position",
        # of a light vehicle judged only where somebody looked at more than the main grooves
        when=~LIGHT | PATTERN_TOLD,
        check=PATTERN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("code-de-la-route", "R314-1, para. 2"),
        advice="Renew the tyre; only tyres of public works plant may do without pattern.",
    ),
    Rule(
        id="fr.vehicle.construction",
        title="All tyres fitted to the vehicle are of one construction",
        subject="vehicle",
        when=MOUNTED,
        check=same(field("tyre.construction")),
        starts=MOUNTED_FROM,
        ends=MOUNTED_TO,
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("order-1994", "art. 3.2; vehicles in use from 1995-01-01, art. 9"),
        advice="Fit tyres of one construction; a temporary spare is free.",
    ),
    Rule(
        id="fr.axle.type",
        title="Tyres fitted to one axle are of one type",
        subject="axle",
        when=MOUNTED,
        check=same(field("tyre.size_designation"))
        & same(field("tyre.construction"))
        & same(field("tyre.mud_snow"))
        & same(field("tyre.speed_symbol"))
        & same(field("tyre.load_index")),
        starts=MOUNTED_FROM,
        ends=MOUNTED_TO,
        tie="workshop",
        basis="law",
        gravity="remedy",
        cite=Cite("order-1994", "art. 3.3; type as Directive 92/23/EEC, Annex II 2.1, has it"),
        advice="Fit tyres of one make, size, use, construction, speed symbol and load index to the axle.",
    ),
    Rule(
        id="fr.axle.make",
        title="Tyres fitted to one axle are of one make",
        subject="axle",
        when=parameter("fr.mounting.bound")
        & (
            CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4")
            | (CATEGORY.one_of("M1", "N1", "O1", "O2") & MAKES_TOLD)
        ),
        check=SAME_MAKE,
        starts=MOUNTED_FROM,
        ends=MOUNTED_TO,
        tie="workshop",
        basis="law",
        gravity="remedy",
        cite=Cite("order-1994", "art. 3.3; type as Directive 92/23/EEC, Annex II 2.1, has it"),
        advice="Fit tyres of one make to the axle.",
    ),
    Rule(
        id="fr.vehicle.winter_equipment",
        title="A light vehicle in the listed mountains has winter tyres, or chains aboard",
        subject="vehicle",
        # with twin wheels two winter tyres an axle suffice, which marks alone do not tell
        when=CATEGORY.one_of("M1", "N1") & ~field("vehicle.twin_wheels") & IN_ZONE,
        check=any_of(CHAINS, every(WINTER_TYRE), PERMANENT),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("code-de-la-route", "D314-8 II 1, III and V"),
        advice="Fit winter tyres all round, or see that chains or socks for two drive wheels are aboard.",
    ),
    Rule(
        id="fr.vehicle.winter_equipment_heavy",
        title="A heavy vehicle in the listed mountains has winter tyres where allowed, or chains aboard",
        subject="vehicle",
        when=CATEGORY.one_of("M2", "M3", "N2", "N3") & IN_ZONE,
        check=any_of(
            CHAINS,
            ALONE
            & (field("own.fr.winter_steered_wheels") >= HEAVY_WHEELS)
            & (field("own.fr.winter_driven_wheels") >= HEAVY_WHEELS),
            PERMANENT,
        ),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("code-de-la-route", "D314-8 II 2 to 4 and III"),
        advice="See that chains for two drive wheels are aboard; a goods vehicle with a trailer needs them.",
    ),
    Rule(
        id="fr.tyre.studs",
        title="Out of the season the tyre has no studs",
        subject="position",
        when=CATEGORY.one_of("M1", "N1", "M2", "M3") & ~parameter("fr.studs.season") & LOOKED,
        check=~STUDDED,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("order-1985", "art. 7 with R314-3 of the code"),
        advice="Fit tyres without studs, unless the prefect has widened the season.",
    ),
    Rule(
        id="fr.tyre.studs_heavy",
        title="A tyre of a goods vehicle above 3.5 t has no studs",
        subject="position",
        when=CATEGORY.one_of("N2", "N3") & LOOKED,
        check=~STUDDED,
        unseen_before=STUDS_SEEN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("order-1985", "art. 1 with R314-3 of the code"),
        advice="Fit tyres without studs, unless the prefect has granted an exemption.",
    ),
    Rule(
        id="fr.tyre.stud_construction",
        title="A studded tyre is radial",
        subject="position",
        when=SEEN,
        check=field("tyre.construction").equals("radial"),
        unseen_before=STUDS_SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("order-1985", "art. 2"),
        advice="Fit a radial tyre.",
    ),
    Rule(
        id="fr.tyre.stud_count",
        title="A studded tyre of a light vehicle has the allowed number of studs",
        subject="position",
        when=CATEGORY.one_of("M1", "N1") & SEEN,
        check=(field("tyre.stud_count") >= parameter("fr.studs.least"))
        & (field("tyre.stud_count") <= parameter("fr.studs.most")),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("order-1985", "art. 3"),
        advice="Fit a tyre with an allowed number of studs, none of them in the middle third of the tread.",
    ),
]
