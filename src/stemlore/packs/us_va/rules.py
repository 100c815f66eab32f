"""Law of Virginia that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, choose, every, field, first_known, parameter, some

SEEN_MOTORCYCLE = date(2012, 8, 1)

CATEGORY = field("vehicle.category")
LIGHT = field("vehicle.gross_mass") <= parameter("us_va.mass.light")
HEAVY = field("vehicle.gross_mass") > parameter("us_va.mass.heavy")
FIRST_AXLE = field("axle.number").equals(1)
RADIAL = field("tyre.construction").equals("radial")
# bias and bias-belted tyres may share an axle
NO_RADIAL_WITH_BIAS = every(RADIAL) | ~some(RADIAL)

# where nobody compared neighbours, main grooves that are deep enough settle it; shallow ones do not
TWO_ADJACENT = field("tyre.tread_depth_two_adjacent_grooves")
MAIN_GROOVES = field("tyre.tread_depth_main_grooves")
MIN_DEPTH = parameter("us_va.tread.min_depth")
TREAD = first_known(TWO_ADJACENT, choose(MAIN_GROOVES >= MIN_DEPTH, MAIN_GROOVES, TWO_ADJACENT))

RULES = [
    Rule(
        id="us_va.tyre.tread_depth",
        title="Tread of a light vehicle in two adjacent grooves passes the state's inspection",
        subject="position",
        when=CATEGORY.differs("L") & LIGHT,
        check=TREAD >= MIN_DEPTH,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("va-130", "5"),
        advice="Renew the tyre; twin wheels of some urban buses are excused.",
    ),
    Rule(
        id="us_va.axle.construction",
        title="No axle of a light vehicle bears a radial tyre beside a bias or bias-belted one",
        subject="axle",
        when=CATEGORY.differs("L") & LIGHT,
        check=NO_RADIAL_WITH_BIAS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("va-130", "2"),
        advice="Fit tyres of one construction to the axle.",
    ),
    Rule(
        id="us_va.axle.construction_heavy",
        title="No axle of a heavy vehicle bears a radial tyre beside a bias or bias-belted one",
        subject="axle",
        when=CATEGORY.differs("L") & HEAVY,
        check=NO_RADIAL_WITH_BIAS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("va-500", "2"),
        advice="Fit tyres of one construction to the axle.",
    ),
    Rule(
        id="us_va.vehicle.construction_order",
        title="With radial tyres in front a light motor vehicle has no bias or bias-belted tyre behind",
        subject="vehicle",
        when=CATEGORY.one_of("M1", "M2", "N1", "N2") & LIGHT,
        check=every(FIRST_AXLE | RADIAL) | ~some(FIRST_AXLE & RADIAL),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("va-130", "3"),
        advice="Fit radial tyres behind too; truck tyres of 20 inches and more have exceptions.",
    ),
    Rule(
        id="us_va.axle.front_retread",
        title="The front wheels of a heavy bus bear no retreaded or regrooved tyre",
        subject="position",
        when=CATEGORY.one_of("M2", "M3") & HEAVY & FIRST_AXLE,
        check=~field("tyre.retread") & ~field("tyre.regrooved"),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("va-500", "6"),
        advice="Move the tyre to another axle and fit one that was never retreaded or regrooved.",
    ),
    Rule(
        id="us_va.wheel.sound",
        title="A motorcycle's wheel is not bent or cracked",
        subject="position",
        when=CATEGORY.equals("L"),
        check=~field("condition.wheel_cracked") & ~field("condition.wheel_distorted"),
        unseen_before=SEEN_MOTORCYCLE,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("va-400", "3"),
        advice="Renew the wheel; look for bent, loose or missing spokes and nuts too.",
    ),
]
