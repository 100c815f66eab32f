"""Law of the Union that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, any_of, field, lookup, parameter

APPLIED = date(2018, 5, 20)
"""Day from which the periodic test had to follow Directive 2014/45/EU."""

CATEGORY = field("vehicle.category")
TESTED = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O3", "O4")
MONITORING = field("vehicle.monitoring")
WITHOUT_TWINS = ~field("vehicle.twin_wheels")

# Written so that an M1 of 2014 to 2022 needs neither mass nor fitment.
LIGHT = (field("vehicle.gross_mass") <= parameter("eu.monitoring.m1_light_mass")) & WITHOUT_TWINS
M1_DAYS = any_of(parameter("eu.monitoring.m1"), parameter("eu.monitoring.m1_light") & LIGHT)
M1_DUTY = CATEGORY.equals("M1") & M1_DAYS
OTHERS_DUTY = parameter("eu.monitoring.others") & any_of(
    CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4"), CATEGORY.equals("N1") & WITHOUT_TWINS
)
DUTY = M1_DUTY | OTHERS_DUTY

LOAD = lookup("load_index", field("tyre.load_index"), "load_kg")
LOAD_DUAL = lookup("load_index", field("tyre.load_index_dual"), "load_kg")
AXLE_MASS = field("axle.permitted_mass")
FITMENT = field("axle.fitment")

FAST_ENOUGH = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h") >= field(
    "vehicle.design_speed"
)
WINTER_MARK = field("tyre.mud_snow") | field("tyre.snowflake")

RULES = [
    Rule(
        id="eu.tyre.load_single",
        title="The tyres of an axle with single wheels carry its permitted mass",
        subject="position",
        when=TESTED & FITMENT.equals("single"),
        check=LOAD * parameter("eu.load.tyres_single") >= AXLE_MASS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(a)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="eu.tyre.load_dual",
        title="The tyres of an axle with dual wheels carry its permitted mass",
        subject="position",
        when=TESTED & FITMENT.equals("dual"),
        check=LOAD_DUAL * parameter("eu.load.tyres_dual") >= AXLE_MASS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(a)"),
        advice="Fit tyres with a sufficient load index for dual fitment.",
    ),
    Rule(
        id="eu.tyre.speed_symbol",
        title="The speed symbol covers the vehicle's design speed",
        subject="position",
        # a winter tyre may be slower where the limit is in the driver's view (UN R142 5.2.3)
        when=TESTED & (FAST_ENOUGH | ~WINTER_MARK),
        check=FAST_ENOUGH,
        starts=APPLIED,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(a)"),
        advice="Fit tyres with a sufficient speed symbol.",
    ),
    Rule(
        id="eu.vehicle.monitoring_required",
        title="A vehicle registered since the duty began has tyre pressure monitoring",
        subject="vehicle",
        when=DUTY,
        check=MONITORING.differs("none"),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite(
            "eu-2019-2144", "Art. 5(1) and Annex II C13, C14; before, Regulation (EC) No 661/2009 Art. 9(2)"
        ),
        advice="Find out why it is missing; on heavy vehicles a system that refills the tyres may stand in.",
    ),
    Rule(
        id="eu.vehicle.monitoring_type",
        title="An M1 of a type approved since 2012-11-01 has tyre pressure monitoring",
        subject="vehicle",
        when=CATEGORY.equals("M1") & parameter("eu.monitoring.m1_type") & ~M1_DAYS,
        check=MONITORING.differs("none"),
        tie="registered_in",
        basis="law",
        gravity="advise",
        cite=Cite("eu-661-2009", "Art. 9(2) with Art. 13(2)(a)"),
        advice="See whether that is the day of a new type: an extension of an older approval brings no duty.",
    ),
    Rule(
        id="eu.vehicle.monitoring_works",
        title="Tyre pressure monitoring that was a duty at first registration works",
        subject="vehicle",
        when=DUTY & MONITORING.one_of("direct", "indirect"),
        check=field("vehicle.monitoring_works"),
        starts=APPLIED,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(h) with Annex I 1"),
        advice="Set the pressures, then read faults and sensors; a system plainly dead is a major defect.",
    ),
]
