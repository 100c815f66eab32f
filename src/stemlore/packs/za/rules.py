"""South African law that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, field, first_known, parameter

BAR = field("tyre.tread_depth_at_wear_bar") > parameter("za.tread.at_bar")
# where nobody measured at the bar, deep grooves settle it; shallow ones do not
NOT_AT_BAR = first_known(
    BAR, (field("tyre.tread_depth_main_grooves") > parameter("za.tread.bar_clear")) | BAR
)

RULES = [
    Rule(
        id="za.tyre.wear_bar",
        title="The tread is not level with a wear bar",
        subject="position",
        check=NOT_AT_BAR,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("za-212", "reg. 212(j)(ii)"),
        advice="Renew the tyre; some hold that the regulation means indicators other than wear bars.",
    ),
]
