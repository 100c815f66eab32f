"""Law of Pennsylvania that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, field, parameter

RULES = [
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
