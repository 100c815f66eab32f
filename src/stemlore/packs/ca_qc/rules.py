"""Law of Quebec that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, every, field, first_known, parameter, some

SEEN = date(2019, 5, 21)
CATEGORY = field("vehicle.category")
STUDDED = field("tyre.studded")
LIGHT = CATEGORY.one_of("M1", "N1")
STUDS_ALLOWED = parameter("ca_qc.studs.season") & (
    CATEGORY.equals("M1") | (field("vehicle.gross_mass") <= parameter("ca_qc.studs.goods_mass"))
)

BAR = field("tyre.tread_depth_at_wear_bar") > parameter("ca_qc.tread.at_bar")
# where nobody measured at the bar, deep grooves settle it; shallow ones do not
NOT_AT_BAR = first_known(
    BAR, (field("tyre.tread_depth_main_grooves") > parameter("ca_qc.tread.bar_clear")) | BAR
)

NOT_ABOVE = field("tyre.pressure") <= field("tyre.sidewall_pressure")
# where nobody read the sidewall, a pressure within the placard's settles it; a greater one does not

RULES = [
    Rule(
        id="ca_qc.tyre.wear_bar",
        title="No wear bar touches the road",
        subject="position",
        check=NOT_AT_BAR,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("qc-r32", "s. 159(1)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="ca_qc.tyre.pressure_least",
        title="The tyre is not below the pressure that the maker set",
        subject="position",
        check=field("tyre.pressure")
        >= first_known(field("maker.cold_pressure"), field("axle.cold_pressure_partial")),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("qc-r32", "s. 159(8)"),
        advice="Set the pressure of the placard on the cold tyre.",
    ),
    Rule(
        id="ca_qc.tyre.pressure_most",
        title="The tyre is not above the pressure marked on its sidewall",
        subject="position",
        check=first_known(
            NOT_ABOVE, (field("tyre.pressure") <= field("axle.cold_pressure_full")) | NOT_ABOVE
        ),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("qc-r32", "s. 159(8)"),
        advice="Let air out to the pressure of the placard.",
        caution="Stand clear of the tyre.",
    ),
    Rule(
        id="ca_qc.tyre.direction",
        title="A directional tyre runs as its maker says",
        subject="position",
        check=field("condition.mounted_as_marked")
        | field("tyre.tread_pattern").one_of("symmetric", "asymmetric"),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("qc-r32", "s. 159(11)"),
        advice="Turn the tyre round.",
    ),
    Rule(
        id="ca_qc.tyre.winter",
        title="In the season the tyre bears the snowflake or is studded",
        subject="position",
        when=parameter("ca_qc.winter.season")
        & (CATEGORY.equals("M1") | (CATEGORY.equals("N1") & parameter("ca_qc.winter.goods"))),
        check=field("tyre.snowflake") | STUDDED,
        # what counted before the pictogram was asked for is not in the sources
        starts=date(2008, 12, 15),
        unseen_before=date(2014, 12, 15),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("qc-440-1", "season and pictogram"),
        advice="Fit winter tyres; motor homes and a few others are exempt, and seven days after a purchase.",
    ),
    Rule(
        id="ca_qc.tyre.stud_season",
        title="Studs are used in their season only, and on light vehicles",
        subject="position",
        when=LIGHT,
        check=~STUDDED | STUDS_ALLOWED,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("qc-r44", "s. 1"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="ca_qc.vehicle.studs",
        title="Where the front wheels have studs, the rear wheels have them too",
        subject="vehicle",
        when=LIGHT,
        check=~some(field("axle.number").equals(1) & STUDDED) | every(STUDDED),
        unseen_before=date(2020, 4, 16),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("qc-r44", "s. 1"),
        advice="Fit studded tyres to all wheels or to none.",
    ),
]
