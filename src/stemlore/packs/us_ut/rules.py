"""Law of Utah that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, choose, field, first_known, parameter

SEEN = date(2019, 11, 1)
INSPECTED = field("vehicle.category").one_of("M1", "N1")

# where nobody compared neighbours, main grooves that are deep enough settle it; shallow ones do not
TWO_ADJACENT = field("tyre.tread_depth_two_adjacent_grooves")
MAIN_GROOVES = field("tyre.tread_depth_main_grooves")
MIN_DEPTH = parameter("us_ut.tread.min_depth")
TREAD = first_known(TWO_ADJACENT, choose(MAIN_GROOVES >= MIN_DEPTH, MAIN_GROOVES, TWO_ADJACENT))

RULES = [
    Rule(
        id="us_ut.tyre.tread_depth",
        title="Tread in two adjacent major grooves passes the state's inspection",
        subject="position",
        when=INSPECTED,
        check=TREAD >= MIN_DEPTH,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("r714-160-8", "(1)(g)(ii)(A)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="us_ut.tyre.pressure",
        title="The tyre holds at least half of the pressure that the vehicle's maker gives",
        subject="position",
        when=INSPECTED,
        check=field("tyre.pressure")
        >= parameter("us_ut.pressure.least_share") * field("axle.cold_pressure_partial"),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("r714-160-8", "(1)(c)(i)(A)"),
        advice="Look for the leak before any more air goes in; the tyre may be damaged inside.",
    ),
    Rule(
        id="us_ut.tyre.regrooved",
        title="The tyre is not regrooved, or is marked as regroovable",
        subject="position",
        when=INSPECTED,
        check=~field("tyre.regrooved") | field("tyre.regroovable"),
        unseen_before=SEEN,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("r714-160-8", "(1)(d)(i)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="us_ut.tyre.studs",
        title="From April to mid-October no tyre has studs",
        subject="position",
        when=~parameter("us_ut.studs.season"),
        check=~field("tyre.studded"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("ut-41-6a-1636", "(5)(a)(i)"),
        advice="Fit tyres without studs.",
    ),
]
