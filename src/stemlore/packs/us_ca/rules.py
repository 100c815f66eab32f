"""Law of California that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, choose, constant, field, first_known, parameter

# where nobody compared neighbours, main grooves that are deep enough settle it; shallow ones do not
TWO_ADJACENT = field("tyre.tread_depth_two_adjacent_grooves")
MAIN_GROOVES = field("tyre.tread_depth_main_grooves")
MIN_DEPTH = parameter("us_ca.tread.min_depth")
TREAD = first_known(TWO_ADJACENT, choose(MAIN_GROOVES >= MIN_DEPTH, MAIN_GROOVES, TWO_ADJACENT))

RULES = [
    Rule(
        id="us_ca.tyre.tread_depth",
        title="Tread in two adjacent grooves is not below what the Vehicle Code is said to ask",
        subject="position",
        when=field("vehicle.category").one_of("L", "M1", "N1"),
        check=TREAD >= MIN_DEPTH,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("cvc-27465", "27465(b)"),
        advice="Renew the tyre; accounts of the section differ, and the federal pattern asks for "
        "twice as much.",
    ),
    Rule(
        id="us_ca.tyre.studs",
        title="From May to October no tyre has studs that stand out",
        subject="position",
        when=~parameter("us_ca.studs.season"),
        # nobody is asked about studs that retract unless the tyre has studs
        check=~field("tyre.studded") | first_known(field("own.us_ca.studs_drawn_in"), constant(False)),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("chp-studs", "whole answer, on CVC 27454(e)"),
        advice="Fit tyres without studs; the state may extend the season for an area.",
    ),
]
