"""Law of Ontario that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, choose, field, first_known, parameter

CATEGORY = field("vehicle.category")
ROAD = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4")

BAR = field("tyre.tread_depth_at_wear_bar") > parameter("ca_on.tread.at_bar")
# where nobody measured at the bar, deep grooves settle it; shallow ones do not
NOT_AT_BAR = first_known(
    BAR, (field("tyre.tread_depth_main_grooves") > parameter("ca_on.tread.bar_clear")) | BAR
)

# where nobody compared neighbours, main grooves that are deep enough settle it; shallow ones do not
TWO_ADJACENT = field("tyre.tread_depth_two_adjacent_grooves")
MAIN_GROOVES = field("tyre.tread_depth_main_grooves")
MIN_DEPTH = parameter("ca_on.tread.min_depth")
TREAD = first_known(TWO_ADJACENT, choose(MAIN_GROOVES >= MIN_DEPTH, MAIN_GROOVES, TWO_ADJACENT))

RULES = [
    Rule(
        id="ca_on.tyre.tread_depth",
        title="Tread in two adjacent grooves is not below the legal minimum",
        subject="position",
        when=ROAD,
        check=TREAD >= MIN_DEPTH,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("reg-625", "section 3(1)(b)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="ca_on.tyre.wear_bar",
        title="The tread is not worn to a wear bar",
        subject="position",
        when=ROAD,
        check=NOT_AT_BAR,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("reg-625", "section 3(1)(a)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="ca_on.tyre.tread_depth_front",
        title="Tread on the front wheels of a heavy vehicle is not below the minimum for them",
        subject="position",
        when=CATEGORY.one_of("M1", "M2", "M3", "N2", "N3")
        & field("axle.number").equals(1)
        & (field("vehicle.gross_mass") > parameter("ca_on.tread.heavy_mass")),
        check=field("tyre.tread_depth_two_adjacent_grooves") >= parameter("ca_on.tread.front_min"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("on-handbook", "part on tyres"),
        advice="Renew the tyre, or move it to another axle if it is fit for that.",
    ),
    Rule(
        id="ca_on.tyre.regrooved",
        title="A tyre that is regrooved is marked as made for it",
        subject="position",
        check=~field("tyre.regrooved") | field("tyre.regroovable"),
        unseen_before=date(2019, 1, 25),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("reg-625", "section 2(d)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="ca_on.tyre.studs",
        title="Studded tyres are on vehicles of Northern Ontario only, and in their season",
        subject="position",
        check=~field("tyre.studded") | (field("own.ca_on.northern") & parameter("ca_on.studs.season")),
        # the right to studs hangs on an address; visitors have terms of their own
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("on-studs", "announcement, on section 9"),
        advice="Fit tyres without studs.",
    ),
]
