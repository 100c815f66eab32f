"""Italian law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, constant, every, field, first_known, lookup, parameter, same, some

CATEGORY = field("vehicle.category")
depth = field("tyre.tread_depth_main_grooves")
MOTOR = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
speed = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h")
# a tyre that is fast enough asks nobody for its winter mark
slower = field("tyre.mud_snow") & ~(speed >= field("vehicle.design_speed"))

LIGHT = CATEGORY.one_of("L", "M1", "N1", "O1", "O2")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
STUDDED = field("tyre.studded")
WINTER_MARK = field("tyre.mud_snow") | field("tyre.snowflake")
LOOKED = first_known(STUDDED | ~STUDDED, first_known(WINTER_MARK, constant(False)))
SEEN = first_known(STUDDED, constant(False))
# a depth taken across the whole tread tells it; else somebody looks
PATTERN = first_known(
    field("tyre.tread_depth_whole_tread") > parameter("it.tread.worn_away"), field("own.it.pattern_visible")
)
PATTERN_TOLD = first_known(PATTERN | ~PATTERN, constant(False))
# Makes of a light vehicle are compared only where they were read.
SAME_MAKE = same(field("tyre.make"))
MAKES_TOLD = first_known(SAME_MAKE | ~SAME_MAKE, constant(False))

REGULATION = date(1992, 12, 28)
CIRCULAR = date(2014, 1, 17)
DECREE = date(1994, 4, 30)
STUDS = date(1971, 10, 22)

RULES = [
    Rule(
        id="it.tyre.tread_depth_motorcycle",
        title="Tread of a two-wheeler that is no moped is not below the minimum of motorcycles",
        subject="position",
        when=CATEGORY.equals("L"),
        check=(depth >= parameter("it.tread.min_depth_motorcycle")) | field("own.it.moped"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("dpr-495-1992", "appendix VIII to art. 237"),
        advice="Renew the tyre, or read in the papers whether it is a moped.",
    ),
    Rule(
        id="it.tyre.pattern_visible",
        title="Raised pattern is to be seen on the whole tread",
        subject="position",
        # of a light vehicle judged only where somebody looked at more than the main grooves
        when=~LIGHT | PATTERN_TOLD,
        check=PATTERN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("dpr-495-1992", "appendix VIII to art. 237"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="it.tyre.damage",
        title="The tyre has no damage that endangers safety",
        subject="position",
        check=~field("condition.cord_exposed") & ~field("condition.bulge") & ~field("condition.cut_to_cord"),
        unseen_before=REGULATION,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("dpr-495-1992", "appendix VIII to art. 237"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="it.wheel.damage",
        title="The wheel has no damage that endangers safety",
        subject="position",
        check=~field("condition.wheel_cracked") & ~field("condition.wheel_distorted"),
        unseen_before=REGULATION,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("dpr-495-1992", "appendix VIII to art. 237"),
        advice="Renew the wheel.",
    ),
    Rule(
        id="it.tyre.winter_speed_season",
        title="An M+S tyre slower than the vehicle is used in its season alone",
        subject="position",
        when=MOTOR & slower,
        check=parameter("it.winter.slower_season"),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("winter-news", "on the circular of 2014-01-17"),
        advice="Fit tyres with the speed symbol of the registration papers.",
    ),
    Rule(
        id="it.tyre.winter_speed_floor",
        title="An M+S tyre slower than the vehicle has symbol Q or faster",
        subject="position",
        when=MOTOR & slower,
        check=~(speed < parameter("it.winter.floor")),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("winter-news", "on the circular of 2014-01-17"),
        advice="Fit tyres of symbol Q or faster.",
    ),
    Rule(
        id="it.tyre.winter_speed_shown",
        title="The speed of an M+S tyre slower than the vehicle is shown to the driver",
        subject="position",
        when=MOTOR & slower,
        check=field("vehicle.tyre_speed_shown"),
        starts=CIRCULAR,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("winter-news", "on the circular of 2014-01-17"),
        advice="Put a label with the tyre's speed where the driver sees it.",
    ),
    Rule(
        id="it.tyre.winter_speed_motorcycle",
        title="An M+S or MST tyre slower than the motorcycle has symbol M or faster",
        subject="position",
        when=CATEGORY.equals("L") & slower,
        check=~(speed < parameter("it.winter.floor_motorcycle")),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("circular-103-95", "point 5"),
        advice="Fit tyres of symbol M or faster; the rider keeps to the speed of the tyre.",
    ),
    Rule(
        id="it.vehicle.construction",
        title="All tyres of the vehicle are of one construction",
        subject="vehicle",
        when=CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4"),
        check=same(field("tyre.construction")),
        unseen_before=DECREE,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("decree-1994", "Annex IV"),
        advice="Fit tyres of one construction; a temporary spare is free.",
    ),
    Rule(
        id="it.axle.type",
        title="Tyres of one axle are of one type",
        subject="axle",
        when=CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4"),
        check=same(field("tyre.size_designation"))
        & same(field("tyre.mud_snow"))
        & same(field("tyre.speed_symbol"))
        & same(field("tyre.load_index")),
        unseen_before=DECREE,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("decree-1994", "Annex IV with the meaning of type in Annex II"),
        advice="Fit tyres of one make, size, use, speed symbol and load index to the axle.",
    ),
    Rule(
        id="it.axle.make",
        title="Tyres of one axle are of one make",
        subject="axle",
        when=CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4")
        | (CATEGORY.one_of("M1", "N1", "O1", "O2") & MAKES_TOLD),
        check=SAME_MAKE,
        unseen_before=DECREE,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("decree-1994", "Annex IV with the meaning of type in Annex II"),
        advice="Fit tyres of one make to the axle.",
    ),
    Rule(
        id="it.tyre.studs",
        title="Out of the season the tyre has no studs",
        subject="position",
        when=~parameter("it.studs.season") & LOOKED,
        check=~STUDDED,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("circular-1971", "conditions of use"),
        advice="Fit tyres without studs, unless region or prefect has granted other days.",
    ),
    Rule(
        id="it.tyre.studs_heavy",
        title="A vehicle above 3.5 t has no studs",
        subject="position",
        when=LOOKED,
        check=~STUDDED | (field("vehicle.gross_mass") <= parameter("it.studs.heavy_mass")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("circular-1971", "conditions of use"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="it.vehicle.studs_everywhere",
        title="A vehicle with studded tyres has them on all wheels",
        subject="vehicle",
        when=some(SEEN),
        check=every(STUDDED),
        unseen_before=STUDS,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("circular-1971", "conditions of use"),
        advice="Fit studded tyres to all wheels and those of the trailer, or to none.",
    ),
    Rule(
        id="it.tyre.stud_protrusion",
        title="Studs do not stand out further than allowed",
        subject="position",
        when=SEEN,
        check=field("tyre.stud_protrusion") <= parameter("it.studs.protrusion"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("circular-1971", "properties"),
        advice="Fit a tyre whose studs stand out less.",
    ),
]
