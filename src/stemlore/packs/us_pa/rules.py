"""Law of Pennsylvania that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, choose, field, first_known, parameter

LIGHT_MOTOR = field("vehicle.category").one_of("M1", "M2", "N1", "N2") & (
    field("vehicle.gross_mass") <= parameter("us_pa.mass.light")
)
# where nobody compared neighbours, main grooves that are deep enough settle it; shallow ones do not
TWO_ADJACENT = field("tyre.tread_depth_two_adjacent_grooves")
MAIN_GROOVES = field("tyre.tread_depth_main_grooves")
MIN_DEPTH = parameter("us_pa.tread.light_min")
TREAD = first_known(TWO_ADJACENT, choose(MAIN_GROOVES >= MIN_DEPTH, MAIN_GROOVES, TWO_ADJACENT))

RULES = [
    Rule(
        id="us_pa.tyre.tread_depth",
        title="Tread of a light motor vehicle in two adjacent grooves passes the state's inspection",
        subject="position",
        when=LIGHT_MOTOR,
        check=TREAD >= MIN_DEPTH,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("pa-inspection", "item on tread"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="us_pa.tyre.studs",
        title="From mid-April to October no tyre has studs",
        subject="position",
        when=~parameter("us_pa.studs.season"),
        check=~field("tyre.studded"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("pa-4525", "(c)"),
        advice="Fit tyres without studs; the governor may extend the season, so ask before refusing.",
    ),
]
