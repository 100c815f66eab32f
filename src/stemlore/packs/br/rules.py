"""Brazilian law that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, field, first_known, parameter

BAR = field("tyre.tread_depth_at_wear_bar") > parameter("br.tread.at_bar")
# where nobody measured at the bar, deep grooves settle it; shallow ones do not
NOT_AT_BAR = first_known(
    BAR, (field("tyre.tread_depth_main_grooves") > parameter("br.tread.bar_clear")) | BAR
)

RULES = [
    Rule(
        id="br.tyre.wear_bar",
        title="The tread is not worn to a wear bar",
        subject="position",
        when=field("vehicle.category").one_of("L", "M1", "M2", "M3", "N1", "N2", "N3"),
        check=NOT_AT_BAR,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("contran-913-4", "Art. 4"),
        advice="Renew the tyre.",
    ),
]
