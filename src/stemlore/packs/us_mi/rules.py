"""Law of Michigan that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, any_of, field, parameter

SEEN = date(2024, 11, 1)
STAND_CLEAR = "Stay out of the trajectory while air goes in; never weld, heat or strike an inflated assembly."

CATEGORY = field("vehicle.category")
# as in the federal section: pickups and vans on car tyres or LT tyres are left out
LARGE = CATEGORY.one_of("M3", "N3", "O3", "O4") | (
    CATEGORY.one_of("M2", "N2") & ~field("own.us_mi.light_truck")
)
INFLATED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))

RULES = [
    Rule(
        id="us_mi.inflation.restraint_rating",
        title="The restraint is rated for half as much again as the tyre's greatest pressure",
        subject="position",
        when=LARGE & INFLATED & field("work.restraint").one_of("cage", "barrier"),
        check=field("work.restraint_rating")
        >= parameter("us_mi.restraint.least_share") * field("tyre.sidewall_pressure"),
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("r-408-17235", "(4)(a)"),
        advice="Use a restraint that is rated for this tyre.",
        caution=STAND_CLEAR,
    ),
    Rule(
        id="us_mi.wheel.sound",
        title="No wheel part that is cracked or bent out of shape is used again",
        subject="position",
        when=LARGE & INFLATED,
        check=~field("condition.wheel_cracked") & ~field("condition.wheel_distorted"),
        unseen_before=SEEN,
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("r-408-17235", "(2)"),
        advice="Make the part unusable and fit a sound one; it must not be welded, brazed or heated.",
        caution=STAND_CLEAR,
    ),
]
