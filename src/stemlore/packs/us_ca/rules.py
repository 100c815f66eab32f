"""Law of California that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, constant, field, first_known, parameter

RULES = [
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
