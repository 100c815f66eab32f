"""Rules of practice, standards and safety that need a tree of their own."""

from __future__ import annotations

from stemlore.rules import (
    Cite,
    Rule,
    any_of,
    choose,
    constant,
    field,
    first_known,
    greater,
    lesser,
    lookup,
    parameter,
)

DEPRESSURISE = "Let all air out before the valve, core or nut is loosened; stand clear of the valve."
STAND_CLEAR = (
    "Stand clear of tyre and rim while air goes in; never weld, heat or strike an inflated assembly."
)

SNAP_INS = ("snap_in", "high_pressure_snap_in")
KIND = field("valve.kind")
IS_SNAP_IN = KIND.one_of(*SNAP_INS)
VALVE_RENEWED = field("work.valve_renewed")
INFLATED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))
HEAVY = field("vehicle.category").one_of("M2", "M3", "N2", "N3", "O3", "O4")

# Without a rating of the valve the speed of its kind holds.
SPEED_LIMIT = first_known(
    field("valve.rated_speed"),
    first_known(
        lookup("tubeless_valves", field("valve.table_code"), "max_speed_km_h"),
        parameter("world.valve.snap_in_max_speed"),
    ),
)
WITHIN_SPEED = field("vehicle.design_speed") <= SPEED_LIMIT
# An exception counts only where somebody looked: not known is not held.
HELD_AGAINST_BENDING = first_known(field("valve.bending_limited"), constant(False))

# The last branch is a reading that is missing there: other kinds have no rating of the kind.
RATING = first_known(
    field("valve.rated_pressure"),
    first_known(
        lookup("tubeless_valves", field("valve.table_code"), "max_cold_pressure_kpa"),
        choose(
            KIND.equals("snap_in"),
            parameter("world.valve.snap_in_max_pressure"),
            choose(
                KIND.equals("clamp_in"),
                parameter("world.valve.clamp_in_max_pressure"),
                field("valve.rated_pressure"),
            ),
        ),
    ),
)
RATED_KINDS = KIND.one_of("snap_in", "high_pressure_snap_in", "clamp_in")
FULL = field("axle.cold_pressure_full")
GREATEST_COLD = first_known(greater(FULL, field("axle.cold_pressure_partial")), FULL)

# What the maker says of this valve comes before the table of its number.
VALVE_HOLE = first_known(
    field("valve.for_hole"), lookup("tubeless_valves", field("valve.table_code"), "valve_hole_mm")
)
FOR_SMALL = VALVE_HOLE.within(parameter("world.hole.small_min"), parameter("world.hole.small_max"))
FOR_LARGE = VALVE_HOLE.within(parameter("world.hole.large_min"), parameter("world.hole.large_max"))

# Only the maker of the tyre or wheel may allow more at seating; anybody may ask for less.
SEATING_TOLD = first_known(field("maker.seating_pressure_max"), parameter("world.seating.max_pressure"))
SEATING_MAX = choose(
    field("maker.issued_by").one_of("tyre_maker", "wheel_maker"),
    SEATING_TOLD,
    lesser(SEATING_TOLD, parameter("world.seating.max_pressure")),
)

NUT_TOUCHED = any_of(field("work.nut_loosened"), VALVE_RENEWED)
MAKER_NUT_MIN = field("maker.valve_nut_torque_min")
MAKER_NUT_MAX = field("maker.valve_nut_torque_max")
PRACTICE = Cite("", "common practice of the trade")

TREAD = first_known(
    field("tyre.tread_depth_main_grooves"),
    first_known(field("tyre.tread_depth_two_adjacent_grooves"), field("tyre.tread_depth_whole_tread")),
)

RULES = [
    Rule(
        id="world.valve.speed",
        title="A snap-in valve is rated for the speed of the vehicle",
        subject="position",
        # faster and known to be held against bending: world.valve.bending
        when=IS_SNAP_IN & (WITHIN_SPEED | ~HELD_AGAINST_BENDING),
        check=WITHIN_SPEED,
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("tra-snap-in", "note on speed below the snap-in tables"),
        advice="Fit a metal clamp-in valve.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.valve.bending",
        title="A snap-in valve beyond its speed is kept from bending by the wheel or its cover",
        subject="position",
        when=IS_SNAP_IN & ~WITHIN_SPEED,
        check=field("valve.bending_limited"),
        tie="used_in",
        basis="practice",
        gravity="remedy",
        cite=Cite("brv-guideline", "part on pressure and speed"),
        advice="Fit a metal clamp-in valve; the exception wants bending kept within 25 degrees.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.valve.pressure_rating",
        title="The valve is rated for the greatest cold pressure of its axle",
        subject="position",
        when=RATED_KINDS,
        what="greatest cold pressure on the placard of the axle",
        check=GREATEST_COLD <= RATING,
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("tisb-40-2", "item 1"),
        advice="Fit a high-pressure snap-in or a clamp-in valve whose rating covers the placard.",
        caution="A valve beyond its rating may come out of the hole at once. " + DEPRESSURISE,
    ),
    Rule(
        id="world.valve.set_pressure",
        title="The tyre is not inflated beyond the rating of its valve",
        subject="position",
        when=RATED_KINDS,
        check=field("tyre.pressure") <= RATING,
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("tisb-40-2", "item 1"),
        advice="Measure cold and set to the placard, or fit a valve with a greater rating.",
        caution="Stand clear of the valve while letting air out.",
    ),
    Rule(
        id="world.tyre.bald",
        title="The tyre is not bald",
        subject="position",
        # where no law of the place binds this vehicle's tread, this still does
        check=TREAD >= parameter("world.tread.bald"),  # noqa: SIM300 - read as the clause says it
        tie="used_in",
        basis="practice",
        gravity="hold",
        cite=PRACTICE,
        advice="Renew the tyre; the law of the place mostly asks for more.",
    ),
    Rule(
        id="world.tyre.pressure",
        title="The tyre is not below the placard's cold pressure at partial load",
        subject="position",
        check=field("tyre.pressure") >= field("axle.cold_pressure_partial"),
        tie="used_in",
        basis="practice",
        gravity="remedy",
        cite=PRACTICE,
        advice="Look for the leak and set the pressure cold; a warm tyre reads more than it holds.",
        caution="A tyre that ran far too low may burst when filled: take it off and look inside first.",
    ),
    Rule(
        id="world.valve.hole",
        title="The hole in the rim is the one that the valve is made for",
        subject="position",
        when=VALVE_RENEWED & (FOR_SMALL | FOR_LARGE),
        check=field("wheel.valve_hole").within(
            choose(FOR_SMALL, parameter("world.hole.small_min"), parameter("world.hole.large_min")),
            choose(FOR_SMALL, parameter("world.hole.small_max"), parameter("world.hole.large_max")),
        ),
        tie="workshop",
        basis="standard",
        gravity="hold",
        cite=Cite("bs-au-50-3-1b", "headings of 2.1.1 and 2.1.2"),
        advice="Fit a valve for this hole; a hole out of both bands makes the wheel unfit.",
        caution="A valve in too large a hole may come out under pressure.",
    ),
    Rule(
        id="world.valve.rim_thickness",
        title="The rim at the hole is not thicker than the valve can grip",
        subject="position",
        when=VALVE_RENEWED & IS_SNAP_IN,
        check=field("wheel.thickness_at_hole")
        <= first_known(
            field("valve.for_thickness"),
            lookup("tubeless_valves", field("valve.table_code"), "max_rim_thickness_mm"),
        ),
        tie="workshop",
        basis="standard",
        gravity="remedy",
        cite=Cite("tra-snap-in", "column of the greatest rim thickness"),
        advice="Choose a valve for this thickness, or ask the valve maker; the figure is a recommendation.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.valve.protrusion",
        title="The valve with its cap does not stand out past the edge of the wheel",
        subject="position",
        when=VALVE_RENEWED
        & KIND.one_of("snap_in", "high_pressure_snap_in", "clamp_in")
        & field("vehicle.category").one_of("M1", "N1", "O1", "O2"),
        check=field("valve.length_with_cap") <= field("wheel.valve_seat_depth"),
        tie="workshop",
        basis="practice",
        gravity="remedy",
        cite=Cite("brv-guideline", "part on protrusion"),
        advice="Fit a shorter valve: one that stands out can be sheared off at a kerb.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.valve.nut_torque",
        title="The nut of a metal clamp-in valve is tightened as its maker says, else by practice",
        subject="position",
        when=KIND.equals("clamp_in") & NUT_TOUCHED & ~field("sensor.fitted"),
        check=field("work.valve_nut_torque").within(
            first_known(MAKER_NUT_MIN, parameter("world.torque.clamp_in_nut_min")),
            first_known(MAKER_NUT_MAX, parameter("world.torque.clamp_in_nut_max")),
        ),
        tie="workshop",
        basis="practice",
        gravity="remedy",
        cite=PRACTICE,
        advice="Tighten with a torque tool on a deflated tyre; look for the maker's figure first.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.valve.truck_nut_torque_steel",
        title="The nut of a truck valve on a steel wheel is tightened within its band",
        subject="position",
        when=KIND.equals("truck_clamp_in") & field("wheel.material").equals("steel") & NUT_TOUCHED,
        check=field("work.valve_nut_torque").within(
            first_known(MAKER_NUT_MIN, parameter("world.torque.truck_steel_nut_min")),
            first_known(MAKER_NUT_MAX, parameter("world.torque.truck_steel_nut_max")),
        ),
        tie="workshop",
        basis="practice",
        gravity="remedy",
        cite=Cite("truck-tyre-manual", "p. 27"),
        advice="Tighten with a torque tool on a deflated tyre; look for the maker's figure first.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.valve.truck_nut_torque_aluminium",
        title="The nut of a truck valve on an aluminium wheel is tightened within its band",
        subject="position",
        when=KIND.equals("truck_clamp_in") & field("wheel.material").equals("aluminium") & NUT_TOUCHED,
        check=field("work.valve_nut_torque").within(
            first_known(MAKER_NUT_MIN, parameter("world.torque.truck_aluminium_nut_min")),
            first_known(MAKER_NUT_MAX, parameter("world.torque.truck_aluminium_nut_max")),
        ),
        tie="workshop",
        basis="practice",
        gravity="remedy",
        cite=Cite("truck-tyre-manual", "p. 27"),
        advice="Lubricate threads and O-ring, use a torque tool; look for the maker's figure first.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.valve.core_torque",
        title="The valve core is tightened as its maker says, else within what all sources allow",
        subject="position",
        when=field("work.core_renewed"),
        check=field("work.valve_core_torque").within(
            first_known(field("maker.valve_core_torque_min"), parameter("world.torque.core_min")),
            first_known(field("maker.valve_core_torque_max"), parameter("world.torque.core_max")),
        ),
        tie="workshop",
        basis="practice",
        gravity="remedy",
        cite=Cite("gb-1795", "technical requirements"),
        advice="Use a core tool with a set torque.",
        caution="A core that is loosened under pressure flies out; keep the face away from the valve.",
    ),
    Rule(
        id="world.sensor.nut_torque",
        title="The sensor's nut is tightened as the maker of this sensor says",
        subject="position",
        when=field("sensor.fitted") & field("sensor.mount").equals("clamp_in") & NUT_TOUCHED,
        check=field("work.sensor_nut_torque").within(
            field("maker.sensor_nut_torque_min"), field("maker.sensor_nut_torque_max")
        ),
        tie="workshop",
        basis="maker",
        gravity="remedy",
        cite=Cite("maker-2003-minivan", "caution on the sensor's nut"),
        advice="Look up the figure for this sensor: makers ask for 4, 7, 8 or 12 N·m, none holds for all.",
        caution="12 N·m on a sensor made for 4 N·m can part it from its stem. " + DEPRESSURISE,
    ),
    Rule(
        id="world.sensor.screw_torque",
        title="The screw between sensor and rubber valve is tightened as its maker says",
        subject="position",
        when=field("sensor.fitted") & field("sensor.mount").equals("snap_in") & VALVE_RENEWED,
        check=field("work.sensor_screw_torque").within(
            field("maker.sensor_screw_torque_min"), field("maker.sensor_screw_torque_max")
        ),
        tie="workshop",
        basis="maker",
        gravity="remedy",
        cite=PRACTICE,
        advice="Look up the maker's figure for this sensor; no general one was found in any document.",
        caution=DEPRESSURISE,
    ),
    Rule(
        id="world.wheel.fixing_torque",
        title="The wheel fixings are tightened as the vehicle's maker says",
        subject="position",
        when=any_of(field("work.wheel_removed"), INFLATED),
        check=field("work.wheel_fixing_torque").within(
            field("maker.wheel_fixing_torque_min"), field("maker.wheel_fixing_torque_max")
        ),
        tie="workshop",
        basis="maker",
        gravity="hold",
        cite=PRACTICE,
        advice="Look up the maker's torque, tighten clean faces in its order, check with a torque wrench.",
        caution="A loose wheel comes off on the road; support the vehicle before a wheel is loosened.",
    ),
    Rule(
        id="world.bead.seating_pressure",
        title="The beads are seated without more pressure than is safe",
        subject="position",
        when=INFLATED,
        check=field("work.seating_pressure") <= SEATING_MAX,
        spare=True,
        tie="workshop",
        basis="safety",
        gravity="hold",
        cite=Cite("truck-tyre-safety", "item 9"),
        advice="Let the air out, take the tyre off, look at beads and rim, lubricate and start again.",
        caution=STAND_CLEAR,
    ),
    Rule(
        id="world.inflation.restraint",
        title="A large wheel is held by a cage, a barrier or the vehicle while it is inflated",
        subject="position",
        when=HEAVY & INFLATED,
        # a rim in several pieces can fly apart: only a cage holds it
        check=choose(
            field("wheel.rim_pieces").equals("multi_piece"),
            field("work.restraint").equals("cage"),
            field("work.restraint").differs("none"),
        ),
        spare=True,
        tie="workshop",
        basis="safety",
        gravity="hold",
        cite=PRACTICE,
        advice="Let the air out, look at tyre and rim, and inflate again within a restraint.",
        caution=STAND_CLEAR,
    ),
    Rule(
        id="world.assembly.leak_tested",
        title="An assembly that was opened is tested for leaks",
        subject="position",
        when=any_of(
            VALVE_RENEWED,
            field("work.core_renewed"),
            field("work.tyre_demounted"),
            field("work.nut_loosened"),
        ),
        check=field("work.leak_tested"),
        tie="workshop",
        basis="practice",
        gravity="remedy",
        cite=PRACTICE,
        advice="Wet valve, core and bead seats with leak spray and look for bubbles.",
    ),
    Rule(
        id="world.sensor.battery_age",
        title="The sensor's battery is not older than it surely lasts",
        subject="position",
        when=field("sensor.fitted"),
        check=field("sensor.battery_age")
        <= first_known(field("maker.battery_age_max"), parameter("world.ageing.battery_age")),
        tie="used_in",
        basis="practice",
        gravity="advise",
        cite=PRACTICE,
        advice="Offer a new sensor while the tyre is off: batteries last 5 to 10 years.",
    ),
]
