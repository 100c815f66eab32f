"""Israeli law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, field, some

SEEN = date(2026, 11, 20)
CONSTRUCTION = field("tyre.construction")
FIRST_AXLE = field("axle.number").equals(1)

RULES = [
    Rule(
        id="il.tyre.pressure",
        title="The tyre is not below the pressure that the vehicle's maker set",
        subject="position",
        check=field("tyre.pressure") >= field("axle.cold_pressure_partial"),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("il-322", "reg. 322(a)"),
        advice="Set the pressure of the placard on the cold tyre.",
    ),
    Rule(
        id="il.vehicle.construction",
        title="No radial tyres run in front of diagonal ones",
        subject="vehicle",
        when=field("vehicle.category").one_of("M1", "M2", "M3", "N1", "N2", "N3"),
        check=~(some(FIRST_AXLE & CONSTRUCTION.equals("radial")))
        | ~(some(~FIRST_AXLE & CONSTRUCTION.equals("diagonal"))),
        unseen_before=SEEN,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("il-322", "reg. 322(d)(2)(a)"),
        advice="Fit radial tyres to the rear, or one construction to the whole vehicle.",
    ),
]
