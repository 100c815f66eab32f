"""Rules of practice, standards and safety that need a tree of their own."""

from __future__ import annotations

from functools import partial

from stemlore.rules import (
    Cite,
    Node,
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

CORE_FLIES = "A core that is loosened under pressure flies out; keep the face away from the valve."
DEPRESSURISE = "Let all air out before the valve, core or nut is loosened; stand clear of the valve."
STAND_CLEAR = (
    "Stand clear of tyre and rim while air goes in; never weld, heat or strike an inflated assembly."
)

KIND = field("valve.kind")
IS_SNAP_IN = KIND.one_of("snap_in", "high_pressure_snap_in")
IS_TRUCKS = KIND.equals("truck_clamp_in")
VALVE_RENEWED = field("work.valve_renewed")
INFLATED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))
LIGHT_METAL = field("wheel.material").one_of("aluminium", "magnesium")
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

TOLD_RATING = field("valve.rated_pressure")
LISTED_RATING = lookup("tubeless_valves", field("valve.table_code"), "max_cold_pressure_kpa")
# The last branch is a reading that is missing there: other kinds have no rating of the kind.
RATING_OF_KIND = choose(
    KIND.equals("snap_in"),
    parameter("world.valve.snap_in_max_pressure"),
    choose(KIND.equals("clamp_in"), parameter("world.valve.clamp_in_max_pressure"), TOLD_RATING),
)
RATING = first_known(TOLD_RATING, first_known(LISTED_RATING, RATING_OF_KIND))
RATED_KINDS = KIND.one_of("snap_in", "high_pressure_snap_in", "clamp_in")
FULL = field("axle.cold_pressure_full")
GREATEST_COLD = first_known(greater(FULL, field("axle.cold_pressure_partial")), FULL)
# A gas that is kept in: its absolute pressure goes with its temperature. One atmosphere is defined, no limit.
AMBIENT = constant("101.325 kPa")
HOT = (GREATEST_COLD + AMBIENT) * parameter("world.valve.hot_rise") - AMBIENT

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
HEARD, ROUNDING = field("vehicle.monitoring_frequency"), parameter("world.radio.rounding")
PRACTICE = Cite("", "common practice of the trade")
# Unless it says otherwise, a rule is practice at one wheel; before a remedy at the valve air is let out.
_rule = partial(Rule, subject="position", tie="workshop", basis="practice", gravity="remedy", cite=PRACTICE)
_valve = partial(_rule, caution=DEPRESSURISE)


def _tightened(part: str, practice: str | None = None) -> Node:
    """Return the condition that a torque is the maker's, else the trade's, where it has one."""

    def bound(end: str) -> Node:
        told = field(f"maker.{part}_torque_{end}")
        return first_known(told, parameter(f"world.torque.{practice}_{end}")) if practice else told

    return field(f"work.{part}_torque").within(bound("min"), bound("max"))


def _surely(condition: Node) -> Node:
    """Return a condition that is false where it is not known."""
    return first_known(condition, constant(False))


def _is_told(path: str) -> Node:
    return _surely(field(path).equals(field(path)))


TREAD = first_known(
    field("tyre.tread_depth_main_grooves"),
    first_known(field("tyre.tread_depth_two_adjacent_grooves"), field("tyre.tread_depth_whole_tread")),
)

RULES = [
    _valve(
        id="world.valve.speed",
        title="A snap-in valve is rated for the speed of the vehicle",
        # faster and known to be held against bending: world.valve.bending
        when=IS_SNAP_IN & (WITHIN_SPEED | ~HELD_AGAINST_BENDING),
        check=WITHIN_SPEED,
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("tra-snap-in", "note on speed below the snap-in tables"),
        advice="Fit a metal clamp-in valve.",
    ),
    _valve(
        id="world.valve.bending",
        title="A snap-in valve beyond its speed is kept from bending by the wheel or its cover",
        when=IS_SNAP_IN & ~WITHIN_SPEED,
        check=field("valve.bending_limited"),
        tie="used_in",
        cite=Cite("brv-guideline", "part on pressure and speed"),
        advice="Fit a metal clamp-in valve; the exception wants bending kept within 25 degrees.",
    ),
    _rule(
        id="world.valve.pressure_rating",
        title="The valve is rated for the greatest cold pressure of its axle",
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
    _rule(
        id="world.valve.set_pressure",
        title="The tyre is not inflated beyond the rating of its valve",
        when=RATED_KINDS,
        check=field("tyre.pressure") <= RATING,
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("tisb-40-2", "item 1"),
        advice="Measure cold and set to the placard, or fit a valve with a greater rating.",
        caution="Stand clear of the valve while letting air out.",
    ),
    _valve(
        id="world.valve.hot_pressure",
        title="The hot tyre stays within what the valve's maker allows when hot",
        # most ratings are told for the cold tyre and have the rise in them already
        when=_is_told("valve.rated_hot_pressure"),
        what="greatest cold pressure on the placard of the axle, in the hot tyre",
        check=field("valve.rated_hot_pressure") >= HOT,
        tie="used_in",
        advice="Fit a valve whose maker allows more in the hot tyre; the rise is reckoned for 20 to 100 °C.",
    ),
    _rule(
        id="world.tyre.bald",
        title="The tyre is not bald",
        # where no law of the place binds this vehicle's tread, this still does
        check=TREAD >= parameter("world.tread.bald"),  # noqa: SIM300 - read as the clause says it
        tie="used_in",
        gravity="hold",
        advice="Renew the tyre; the law of the place mostly asks for more.",
    ),
    _rule(
        id="world.tyre.pressure",
        title="The tyre is not below the placard's cold pressure at partial load",
        check=field("tyre.pressure") >= field("axle.cold_pressure_partial"),
        tie="used_in",
        advice="Look for the leak and set the pressure cold; a warm tyre reads more than it holds.",
        caution="A tyre that ran far too low may burst when filled: take it off and look inside first.",
    ),
    _rule(
        id="world.valve.hole",
        title="The hole in the rim is the one that the valve is made for",
        when=VALVE_RENEWED & (FOR_SMALL | FOR_LARGE),
        check=field("wheel.valve_hole").within(
            choose(FOR_SMALL, parameter("world.hole.small_min"), parameter("world.hole.large_min")),
            choose(FOR_SMALL, parameter("world.hole.small_max"), parameter("world.hole.large_max")),
        ),
        basis="standard",
        gravity="hold",
        cite=Cite("bs-au-50-3-1b", "headings of 2.1.1 and 2.1.2"),
        advice="Fit a valve for this hole; a hole out of both bands makes the wheel unfit.",
        caution="A valve in too large a hole may come out under pressure.",
    ),
    _valve(
        id="world.valve.rim_thickness",
        title="The rim at the hole is not thicker than the valve can grip",
        when=VALVE_RENEWED & IS_SNAP_IN,
        check=field("wheel.thickness_at_hole")
        <= first_known(
            field("valve.for_thickness"),
            lookup("tubeless_valves", field("valve.table_code"), "max_rim_thickness_mm"),
        ),
        basis="standard",
        cite=Cite("tra-snap-in", "column of the greatest rim thickness"),
        advice="Choose a valve for this thickness, or ask the valve maker; the figure is a recommendation.",
    ),
    _valve(
        id="world.valve.protrusion",
        title="The valve with its cap does not stand out past the edge of the wheel",
        when=VALVE_RENEWED
        & KIND.one_of("snap_in", "high_pressure_snap_in", "clamp_in")
        & field("vehicle.category").one_of("M1", "N1", "O1", "O2"),
        check=field("valve.length_with_cap") <= field("wheel.valve_seat_depth"),
        cite=Cite("brv-guideline", "part on protrusion"),
        advice="Fit a shorter valve: one that stands out can be sheared off at a kerb.",
    ),
    _valve(
        id="world.valve.under_cover",
        title="The valve with its cap has room under a cover that hides it",
        # a cover that nobody told is looked for on the vehicle, and is none till then
        when=VALVE_RENEWED & _surely(field("wheel.cover").equals("over_valve")),
        check=field("valve.length_with_cap") <= field("wheel.cover_depth"),
        cite=Cite("brv-guideline", "part on wheel covers"),
        advice="Fit a shorter valve, or leave the cover off: it presses on the valve.",
    ),
    _valve(
        id="world.valve.core_pairing",
        title="No core of plain brass sits in a stem of aluminium",
        # a sensor's valve has a rule of its own, whatever is known of its stem
        when=_surely(field("valve.stem_material").equals("aluminium"))
        & ~_surely(KIND.equals("clamp_in") & field("sensor.fitted")),
        check=field("valve.core_material").equals("nickel_plated"),
        tie="used_in",
        cite=Cite("maker-2003-minivan", "core of the sensor's valve; followed here for every such stem"),
        advice="Fit a nickel-plated core: brass corrodes with aluminium and seizes.",
    ),
    _valve(
        id="world.valve.stem_pairing",
        title="No stem of bare brass is clamped in a wheel of light metal",
        # a truck's is wetted on threads and O-ring against this, as the truck tyre's manual says
        when=KIND.equals("clamp_in") & _is_told("valve.stem_material") & LIGHT_METAL,
        check=field("valve.stem_material").differs("brass"),
        tie="used_in",
        gravity="advise",
        advice="Fit a plated stem: bare brass and light metal corrode each other where they are wet.",
    ),
    _valve(
        id="world.valve.nut_torque",
        title="The nut of a metal clamp-in valve is tightened as its maker says, else by practice",
        when=KIND.equals("clamp_in") & NUT_TOUCHED & ~field("sensor.fitted"),
        check=_tightened("valve_nut", "clamp_in_nut"),
        advice="Tighten with a torque tool on a deflated tyre; look for the maker's figure first.",
    ),
    _valve(
        id="world.valve.truck_nut_torque_steel",
        title="The nut of a truck valve on a steel wheel is tightened within its band",
        when=IS_TRUCKS & field("wheel.material").equals("steel") & NUT_TOUCHED,
        check=_tightened("valve_nut", "truck_steel_nut"),
        cite=Cite("truck-tyre-manual", "p. 27"),
        advice="Tighten with a torque tool on a deflated tyre; look for the maker's figure first.",
    ),
    _valve(
        id="world.valve.truck_nut_torque_aluminium",
        title="The nut of a truck valve on an aluminium wheel is tightened within its band",
        when=IS_TRUCKS & field("wheel.material").equals("aluminium") & NUT_TOUCHED,
        check=_tightened("valve_nut", "truck_aluminium_nut"),
        cite=Cite("truck-tyre-manual", "p. 27"),
        advice="Lubricate threads and O-ring, use a torque tool; look for the maker's figure first.",
    ),
    _valve(
        id="world.valve.core_torque",
        title="The valve core is tightened as its maker says, else within what all sources allow",
        # a valve of unknown kind too: this band lies within that of trucks
        when=field("work.core_renewed") & ~_surely(IS_TRUCKS),
        check=_tightened("valve_core", "core"),
        cite=Cite("gb-1795", "technical requirements"),
        advice="Use a core tool with a set torque.",
        caution=CORE_FLIES,
    ),
    _valve(
        id="world.valve.truck_core_torque",
        title="The core of a truck valve is tightened as its maker says, else as the truck tyre's",
        when=field("work.core_renewed") & _surely(IS_TRUCKS),
        check=_tightened("valve_core", "truck_core"),
        cite=Cite("truck-tyre-manual", "p. 27"),
        advice="Use a core tool with a set torque.",
        caution=CORE_FLIES,
    ),
    _valve(
        id="world.sensor.nut_torque",
        title="The sensor's nut is tightened as the maker of this sensor says",
        when=field("sensor.fitted") & field("sensor.mount").equals("clamp_in") & NUT_TOUCHED,
        check=_tightened("sensor_nut"),
        basis="maker",
        cite=Cite("maker-2003-minivan", "caution on the sensor's nut"),
        advice="Look up the figure for this sensor: makers ask for 4, 7, 8 or 12 N·m, none holds for all.",
        caution="12 N·m on a sensor made for 4 N·m can part it from its stem. " + DEPRESSURISE,
    ),
    _valve(
        id="world.sensor.screw_torque",
        title="The screw between sensor and rubber valve is tightened as its maker says",
        when=field("sensor.fitted") & field("sensor.mount").equals("snap_in") & VALVE_RENEWED,
        check=_tightened("sensor_screw"),
        basis="maker",
        advice="Look up the maker's figure for this sensor; no general one was found in any document.",
    ),
    _valve(
        id="world.wheel.fixing_torque",
        title="The wheel fixings are tightened as the vehicle's maker says",
        when=any_of(field("work.wheel_removed"), INFLATED),
        check=_tightened("wheel_fixing"),
        basis="maker",
        gravity="hold",
        advice="Look up the maker's torque, tighten clean faces in its order, check with a torque wrench.",
        caution="A loose wheel comes off on the road; support the vehicle before a wheel is loosened.",
    ),
    _rule(
        id="world.bead.seating_pressure",
        title="The beads are seated without more pressure than is safe",
        when=INFLATED,
        check=field("work.seating_pressure") <= SEATING_MAX,
        spare=True,
        basis="safety",
        gravity="hold",
        cite=Cite("truck-tyre-safety", "item 9"),
        advice="Let the air out, take the tyre off, look at beads and rim, lubricate and start again.",
        caution=STAND_CLEAR,
    ),
    _rule(
        id="world.inflation.restraint",
        title="A large wheel is held by a cage, a barrier or the vehicle while it is inflated",
        when=HEAVY & INFLATED,
        # a rim in several pieces can fly apart: only a cage holds it
        check=choose(
            field("wheel.rim_pieces").equals("multi_piece"),
            field("work.restraint").equals("cage"),
            field("work.restraint").differs("none"),
        ),
        spare=True,
        basis="safety",
        gravity="hold",
        advice="Let the air out, look at tyre and rim, and inflate again within a restraint.",
        caution=STAND_CLEAR,
    ),
    _rule(
        id="world.assembly.leak_tested",
        title="An assembly that was opened is tested for leaks",
        when=any_of(NUT_TOUCHED, field("work.core_renewed"), field("work.tyre_demounted")),
        check=field("work.leak_tested"),
        advice="Wet valve, core and bead seats with leak spray and look for bubbles.",
    ),
    _rule(
        id="world.sensor.frequency",
        title="The sensor sends at the frequency that the vehicle listens to",
        when=field("sensor.fitted") & _is_told("vehicle.monitoring_frequency"),
        check=field("sensor.frequency").within(HEARD - ROUNDING, HEARD + ROUNDING),
        tie="used_in",
        advice="Fit a sensor of the vehicle's frequency: no relearning makes it heard on another.",
    ),
    _rule(
        id="world.sensor.protocol",
        title="The sensor speaks the protocol that the vehicle understands",
        when=field("sensor.fitted") & _is_told("vehicle.monitoring_protocol"),
        check=field("sensor.protocol").equals(field("vehicle.monitoring_protocol")),
        tie="used_in",
        advice="Fit or program a sensor of the vehicle's protocol.",
    ),
    _rule(
        id="world.sensor.battery_age",
        title="The sensor's battery is not older than it surely lasts",
        when=field("sensor.fitted"),
        check=field("sensor.battery_age")
        <= first_known(field("maker.battery_age_max"), parameter("world.ageing.battery_age")),
        tie="used_in",
        gravity="advise",
        advice="Offer a new sensor while the tyre is off: batteries last 5 to 10 years.",
    ),
]
