"""Swiss law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import (
    Cite,
    Rule,
    choose,
    constant,
    every,
    field,
    first_known,
    lookup,
    parameter,
    same,
    some,
)

VTS = date(1995, 10, 1)
"""First day of the ordinance; paragraphs without a footnote stand as they did then."""
WORDED_2017 = date(2017, 1, 15)
"""Day from which art. 58(2) has the wording that was seen."""
STUDS_SEEN = date(2025, 1, 1)
"""Day of the text of art. 61 that was seen."""

CATEGORY = field("vehicle.category")
MOTOR = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
TRAILER = CATEGORY.one_of("O1", "O2", "O3", "O4")
design_speed = field("vehicle.design_speed")
speed = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h")
FITMENT = field("axle.fitment")
AXLE_MASS = field("axle.permitted_mass")
REGROOVED = field("tyre.regrooved")
STUDDED = field("tyre.studded")
SNOWFLAKE = field("tyre.snowflake")
WINTER_MARK = field("tyre.mud_snow") | SNOWFLAKE
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
LOOKED = first_known(STUDDED | ~STUDDED, first_known(WINTER_MARK, constant(False)))
SEEN = first_known(STUDDED, constant(False))
# Regrooving is rare on light vehicles: there it counts only where somebody saw it.
REGROOVING_TOLD = first_known(REGROOVED | ~REGROOVED, constant(False))
WINTER_ROAD = first_known(field("event.winter_road"), parameter("ch.studs.assumed"))

RULES = [
    Rule(
        id="ch.tyre.tread_depth",
        title="Tread over the whole tread, or what was measured of it, is not below the legal minimum",
        subject="position",
        # mopeds and slow three- and four-wheelers are excepted (art. 138(2), 178)
        when=MOTOR | TRAILER | (CATEGORY.equals("L") & (design_speed > parameter("ch.tread.slow_speed"))),
        # the main grooves are what a workshop measures; they stand in where nobody measured the rest
        check=first_known(field("tyre.tread_depth_whole_tread"), field("tyre.tread_depth_main_grooves"))
        >= parameter("ch.tread.min_depth"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 58(4)"),
        advice="Renew the tyre; the depth must be there over the whole tread, shoulders too.",
    ),
    Rule(
        id="ch.tyre.fabric",
        title="The tyre's fabric is neither hurt nor bare",
        subject="position",
        check=~field("condition.cord_exposed") & ~field("condition.cut_to_cord"),
        starts=VTS,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 58(4)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="ch.vehicle.construction",
        title="All tyres of the vehicle are of one construction",
        subject="vehicle",
        when=TRAILER | (MOTOR & (design_speed > parameter("ch.construction.slow_speed"))),
        check=same(field("tyre.construction")),
        starts=VTS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 58(3) and 118(b)"),
        advice="Fit tyres of one construction to the whole vehicle.",
    ),
    Rule(
        id="ch.tyre.load_single",
        title="The tyres of an axle with single wheels carry its permitted mass",
        subject="position",
        when=(MOTOR | TRAILER) & FITMENT.equals("single"),
        check=lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("ch.load.tyres_single")
        >= AXLE_MASS,
        what="load of the axle's two tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 58(1)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="ch.tyre.load_dual",
        title="The tyres of an axle with dual wheels carry its permitted mass",
        subject="position",
        when=(MOTOR | TRAILER) & FITMENT.equals("dual"),
        check=lookup("load_index", field("tyre.load_index_dual"), "load_kg") * parameter("ch.load.tyres_dual")
        >= AXLE_MASS,
        what="load of the axle's four tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 58(1)"),
        advice="Fit tyres with a sufficient load index for dual fitment.",
    ),
    Rule(
        id="ch.tyre.speed_symbol",
        title="The speed symbol covers the vehicle's design speed",
        subject="position",
        # winter tyres have rules of their own (art. 59(3))
        when=(MOTOR | CATEGORY.equals("L")) & ((speed >= design_speed) | ~WINTER_MARK),
        check=speed >= design_speed,
        unseen_before=WORDED_2017,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 58(2)"),
        advice="Fit tyres with a sufficient speed symbol.",
    ),
    Rule(
        id="ch.tyre.winter_speed",
        title="A winter tyre slower than the motor vehicle bears the snowflake and is good for 160 km/h",
        subject="position",
        when=MOTOR & WINTER_MARK & (design_speed > speed),
        check=SNOWFLAKE & ~(speed < parameter("ch.speed.winter_floor")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 59(3)(a)"),
        advice="Fit tyres that meet both, or are fast enough; hand over the label with their speed.",
    ),
    Rule(
        id="ch.tyre.winter_speed_motorcycle",
        title="A winter tyre slower than the motorcycle bears M+S and is good for 130 km/h",
        subject="position",
        when=CATEGORY.equals("L") & WINTER_MARK & (design_speed > speed),
        check=field("tyre.mud_snow") & ~(speed < parameter("ch.speed.winter_floor_motorcycle")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 59(3)(b)"),
        advice="Fit tyres that meet both, or are fast enough; hand over the label with their speed.",
    ),
    Rule(
        id="ch.tyre.speed_trailer",
        title="A trailer's tyres are made for 100 km/h or for the trailer's own lower limit",
        subject="position",
        when=TRAILER,
        check=~(speed < parameter("ch.speed.trailer")) | (speed >= design_speed),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 187"),
        advice="Fit tyres with a sufficient speed symbol.",
    ),
    Rule(
        id="ch.tyre.regrooved",
        title="The tyre of a light vehicle is not regrooved",
        subject="position",
        when=CATEGORY.one_of("M1", "O1", "O2", "L") & REGROOVING_TOLD,
        check=~REGROOVED
        | (CATEGORY.equals("M1") & (field("vehicle.gross_mass") > parameter("ch.regrooving.light_mass"))),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("vts", "art. 60(4)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="ch.tyre.studs_season",
        title="From May to October, without winter conditions, the tyre has no studs",
        subject="position",
        when=~parameter("ch.studs.season") & ~WINTER_ROAD & LOOKED,
        check=~STUDDED,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 62(1)"),
        advice="Fit tyres without studs, and take the sign with 80 off or strike it out.",
    ),
    Rule(
        id="ch.tyre.studs_vehicle",
        title="A motor vehicle with studded tyres is not above the mass allowed for them",
        subject="position",
        when=MOTOR & SEEN,
        check=field("vehicle.gross_mass") <= parameter("ch.studs.vehicle_mass"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 62(1)"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="ch.vehicle.studs_all",
        title="Where one wheel has studs, all have",
        subject="vehicle",
        when=some(SEEN),
        check=every(STUDDED),
        unseen_before=STUDS_SEEN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("vts", "art. 61(2)"),
        advice="Fit studded tyres to all wheels or to none.",
    ),
    Rule(
        id="ch.tyre.stud_count",
        title="The tyre has no more studs than allowed",
        subject="position",
        when=SEEN,
        # said as a denial: studs are counted, so a margin would mean nothing
        check=~(
            field("tyre.stud_count")
            > choose(
                field("own.ch.small_rim"),
                parameter("ch.studs.count_small"),
                parameter("ch.studs.count_large"),
            )
        ),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("vts", "art. 61(4)"),
        advice="Fit other tyres, unless this kind was allowed by the federal roads office under art. 61(5).",
    ),
    Rule(
        id="ch.vehicle.stud_sign",
        title="A vehicle with studded tyres bears the sign with 80 at the rear",
        subject="vehicle",
        when=some(SEEN) & (design_speed >= parameter("ch.studs.sign_speed")),
        check=field("vehicle.stud_sign"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("vts", "art. 62(2) and (4)"),
        advice="Put the sign on the rear; 80 km/h is then the most allowed, and motorways are closed.",
    ),
    Rule(
        id="ch.tyre.regroovable",
        title="A regrooved tyre of a heavy vehicle is marked as regroovable",
        subject="position",
        when=CATEGORY.one_of("M2", "M3", "N1", "N2", "N3", "O3", "O4")
        & choose(CATEGORY.equals("N1"), first_known(REGROOVED, constant(False)), REGROOVED),
        check=field("tyre.regroovable"),
        unseen_before=date(2019, 5, 1),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("vts", "art. 60(3)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="ch.tyre.studs_radial",
        title="A studded tyre is radial",
        subject="position",
        when=SEEN,
        check=field("tyre.construction").equals("radial"),
        unseen_before=STUDS_SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("vts", "art. 61(2)"),
        advice="Fit radial tyres with a steel belt.",
    ),
    Rule(
        id="ch.tyre.stud_protrusion",
        title="The studs do not stand out further than allowed",
        subject="position",
        when=SEEN,
        check=field("tyre.stud_protrusion") <= parameter("ch.studs.protrusion"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("vts", "art. 61(3)"),
        advice="Renew the tyre, unless its kind was allowed by the federal roads office under art. 61(5).",
    ),
]
