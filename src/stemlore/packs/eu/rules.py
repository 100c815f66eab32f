"""Law of the Union that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import (
    Cite,
    Node,
    Rule,
    any_of,
    choose,
    constant,
    field,
    first_known,
    lookup,
    parameter,
)

APPLIED = date(2018, 5, 20)
"""Day from which the periodic test had to follow Directive 2014/45/EU."""

CATEGORY = field("vehicle.category")
TESTED = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O3", "O4")
MONITORING = field("vehicle.monitoring")
FITTED = MONITORING.one_of("direct", "indirect")
LAMP = field("vehicle.monitoring_lamp")
WORKS = field("vehicle.monitoring_works")
WITHOUT_TWINS = ~field("vehicle.twin_wheels")

# Written so that an M1 of 2014 to 2022 needs neither mass nor fitment, and a light one on the day of the
# second act needs no more than its week.
LIGHT = (field("vehicle.gross_mass") <= parameter("eu.monitoring.m1_light_mass")) & WITHOUT_TWINS
M1_DAYS = choose(LIGHT, parameter("eu.monitoring.m1_light"), parameter("eu.monitoring.m1"))
M1_DUTY = CATEGORY.equals("M1") & M1_DAYS
OTHERS = any_of(CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4"), CATEGORY.equals("N1") & WITHOUT_TWINS)
OTHERS_DUTY = parameter("eu.monitoring.others") & OTHERS
DUTY = M1_DUTY | OTHERS_DUTY
M1_TYPE = CATEGORY.equals("M1") & parameter("eu.monitoring.m1_type") & ~M1_DAYS
OTHERS_TYPE = OTHERS & parameter("eu.monitoring.others_type") & ~parameter("eu.monitoring.others")

LOAD = lookup("load_index", field("tyre.load_index"), "load_kg")
LOAD_DUAL = lookup("load_index", field("tyre.load_index_dual"), "load_kg")
AXLE_MASS = field("axle.permitted_mass")
FITMENT = field("axle.fitment")

FAST_ENOUGH = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h") >= field(
    "vehicle.design_speed"
)
# A winter tyre may be slower where the limit is in the driver's view; only a known lack takes that away.
SLOWER_ALLOWED = (field("tyre.mud_snow") | field("tyre.snowflake")) & first_known(
    field("vehicle.tyre_speed_shown"), constant(True)
)

BAR_FREE = field("tyre.tread_depth_at_wear_bar") > parameter("eu.tread.at_wear_bar")
BAR_MEASURED = first_known(BAR_FREE | ~BAR_FREE, constant(False))
ABOVE_ALL_BARS = field("tyre.tread_depth_main_grooves") > parameter("eu.tread.above_all_bars")

ERROR_LIMIT = choose(
    field("tyre.pressure") <= parameter("eu.gauge.low_pressure"),
    parameter("eu.gauge.error_low"),
    choose(
        field("tyre.pressure") <= parameter("eu.gauge.middle_pressure"),
        parameter("eu.gauge.error_middle"),
        parameter("eu.gauge.error_high"),
    ),
)


def seen(flag: Node) -> Node:
    """Return what is rare on cars and vans: there it counts only where somebody saw it."""
    return choose(CATEGORY.one_of("M1", "N1"), first_known(flag, constant(False)), flag)


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
        when=TESTED & (FAST_ENOUGH | ~SLOWER_ALLOWED),
        check=FAST_ENOUGH,
        starts=APPLIED,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(a)"),
        advice="Fit tyres with a sufficient speed symbol; a winter tyre's lower speed must be shown.",
    ),
    Rule(
        id="eu.tyre.wear_bar",
        title="No wear bar of the tyre is exposed",
        subject="position",
        # Beyond cars, whose bars have a known height, judged only where the bar was measured.
        when=TESTED & (CATEGORY.equals("M1") | BAR_MEASURED),
        check=BAR_FREE | (CATEGORY.equals("M1") & ABOVE_ALL_BARS),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(e)"),
        advice="Renew the tyre; below 2.2 mm look at the bars themselves.",
    ),
    Rule(
        id="eu.tyre.regrooved",
        title="A regrooved tyre is marked as one that may be regrooved",
        subject="position",
        when=TESTED & seen(field("tyre.regrooved")),
        check=field("tyre.regroovable"),
        starts=APPLIED,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(g)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="eu.wheel.ring",
        title="The retaining ring of a multi-piece rim is seated",
        subject="position",
        when=TESTED & seen(field("wheel.rim_pieces").equals("multi_piece")),
        check=field("condition.ring_seated"),
        starts=APPLIED,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.2(b)"),
        advice="Take the wheel off and the rim apart, look at all parts, and fit it anew.",
        caution="Let all air out before a ring is touched: a ring that flies off kills.",
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
        title="A vehicle of a type approved since the duty of new types has tyre pressure monitoring",
        subject="vehicle",
        when=any_of(M1_TYPE, OTHERS_TYPE),
        check=MONITORING.differs("none"),
        tie="registered_in",
        basis="law",
        gravity="advise",
        cite=Cite(
            "eu-2019-2144", "Art. 5(1) and Annex II note B; M1: Regulation (EC) No 661/2009 Art. 13(2)(a)"
        ),
        advice="See whether that is the day of a new type: an extension of an older approval brings no duty.",
    ),
    Rule(
        id="eu.vehicle.monitoring_works",
        title="Tyre pressure monitoring that was a duty at first registration is not plainly dead",
        subject="vehicle",
        when=DUTY & FITTED,
        # the lamp tells a dead system (major) from one with a fault (minor: the rule below)
        check=first_known(LAMP.differs("never_lights"), WORKS),
        starts=APPLIED,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(h) with Annex I 1"),
        advice="Read faults and sensors and have the system repaired: plainly dead is a major defect.",
    ),
    Rule(
        id="eu.vehicle.monitoring_fault",
        title="Tyre pressure monitoring that was a duty shows neither fault nor low pressure",
        subject="vehicle",
        when=DUTY & FITTED,
        check=first_known(~LAMP.one_of("fault", "low_pressure"), WORKS),
        starts=APPLIED,
        tie="registered_in",
        basis="law",
        gravity="advise",
        cite=Cite("eu-2014-45", "Annex I 5.2.3(h) with Annex I 1"),
        advice="Set the pressures, then read faults and sensors: a malfunction is a minor defect.",
    ),
    Rule(
        id="eu.gauge.error",
        title="The gauge's error is within what the Directive allowed a gauge with its mark",
        subject="position",
        check=field("event.gauge_error") <= ERROR_LIMIT,
        tie="workshop",
        basis="law",
        gravity="advise",
        cite=Cite("cz-337-2000", "annex, 2.1; Directive 86/217/EEC Annex 2.1"),
        advice="Have the gauge adjusted, or use another; outside 15 to 25 degrees more was allowed.",
    ),
]
