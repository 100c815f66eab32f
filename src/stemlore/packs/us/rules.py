"""Federal law of the United States.

Part 570 is a pattern that binds through the law of the states; part 393 binds
commercial motor vehicles in interstate commerce; section 1910.177 binds who
services the wheels of large vehicles.
"""

from __future__ import annotations

from datetime import date
from functools import partial

from stemlore.rules import (
    Cite,
    Rule,
    any_of,
    choose,
    constant,
    field,
    first_known,
    greater,
    lookup,
    parameter,
    same,
    spread,
)

SEEN = date(2022, 7, 1)
"""Day by which the copy of the code is dated; no start is in the texts read."""

STAND_CLEAR = "Stay out of the trajectory while air goes in; never weld, heat or strike an inflated assembly."
STATE_BINDS = "the law of the state binds and may ask for more."

CATEGORY = field("vehicle.category")
LIGHT = field("vehicle.gross_mass") <= parameter("us.tread.light_mass")
MOTOR = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
# Where nobody tells, by mass and seats: who runs it between states, and for pay, stands in no papers.
# Exactly 4536 kg is light for part 570 and commercial for part 390.
TOLD = field("own.us.commercial")
HEAVY_ENOUGH = field("vehicle.gross_mass") >= parameter("us.vehicle.commercial_mass")
FOR_SIXTEEN = field("vehicle.passenger_seats") >= parameter("us.vehicle.commercial_seats")
BUS, PRIVATE = CATEGORY.one_of("M2", "M3"), CATEGORY.one_of("L", "M1")
COMMERCIAL = first_known(TOLD, (HEAVY_ENOUGH | (BUS & FOR_SIXTEEN)) & ~PRIVATE)
COMMERCIAL_BUS = BUS & first_known(TOLD, HEAVY_ENOUGH | FOR_SIXTEEN)
COMMERCIAL_TRUCK = CATEGORY.one_of("N1", "N2", "N3") & first_known(TOLD, HEAVY_ENOUGH)
RUN_BY_NOBODY = ~first_known(TOLD, ~PRIVATE)  # what is heavy for part 570 is commercial by its mass
# 570.3 leaves out motorcycles and light trailers; 570.53 has trailers in.
LIGHT_MOTOR = MOTOR & LIGHT
HEAVY = ~LIGHT & CATEGORY.differs("L")
INSPECTED = MOTOR | HEAVY
FRONT = field("axle.number").equals(1)

ALTERED = first_known(field("own.us.altered"), constant(False))
MONITORED = (
    MOTOR
    & ~first_known(field("own.us.uncertified"), constant(False))  # monitoring of another market's law
    & (field("vehicle.gross_mass") <= parameter("us.vehicle.monitored_mass"))
    & ~field("vehicle.twin_wheels")
    & choose(ALTERED, parameter("us.vehicle.monitoring_altered"), parameter("us.vehicle.monitoring"))
)
MONITORING = field("vehicle.monitoring")
ALIVE = ~first_known(field("own.us.dead_on_arrival"), constant(False))

INFLATED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))
# M2 and N2 may be vans and pickups: on car tyres or LT tyres these are left out.
LARGE = (
    CATEGORY.one_of("M3", "N3", "O3", "O4") | (CATEGORY.one_of("M2", "N2") & ~field("own.us.light_truck"))
) & INFLATED
RIM = field("wheel.rim_pieces")
SINGLE_PIECE, MULTI_PIECE = LARGE & RIM.equals("single_piece"), LARGE & RIM.equals("multi_piece")
RESTRAINT = field("work.restraint")
SIDEWALL = field("tyre.sidewall_pressure")

CORD, BULGE = field("condition.cord_exposed"), field("condition.bulge")
CUT = field("condition.cut_to_cord")
CRACKED, DISTORTED = field("condition.wheel_cracked"), field("condition.wheel_distorted")
single_load = lookup("load_index", field("tyre.load_index"), "load_kg")
dual_load = lookup("load_index", field("tyre.load_index_dual"), "load_kg")
main_grooves = field("tyre.tread_depth_main_grooves")
LIGHT_MIN = parameter("us.tread.light_min")
TWO_ADJACENT = field("tyre.tread_depth_two_adjacent_grooves")
# main grooves that are all deep enough settle it; a shallow one does not tell of its neighbour
TREAD = first_known(TWO_ADJACENT, choose(main_grooves >= LIGHT_MIN, main_grooves, TWO_ADJACENT))
FRONT_MIN, OTHER_MIN = parameter("us.tread.front_min"), parameter("us.tread.other_min")
MAX_RUNOUT = parameter("us.wheel.max_runout")

pattern = partial(Rule, subject="position", tie="used_in", basis="standard", gravity="hold")
carrier = partial(Rule, subject="position", tie="used_in", basis="law", gravity="hold")
monitored = partial(Rule, basis="law", gravity="hold")
service = partial(Rule, subject="position", tie="workshop", basis="law", caution=STAND_CLEAR)


PATTERN_OF_STATES = [
    pattern(
        id="us.tyre.tread_depth",
        title="Tread of a light vehicle in two adjacent grooves is not below the federal pattern",
        when=LIGHT_MOTOR,
        check=TREAD >= LIGHT_MIN,
        cite=Cite("cfr-570", "570.9(a)"),
        advice=f"Renew the tyre; {STATE_BINDS}",
    ),
    pattern(
        id="us.tyre.tread_depth_heavy",
        title="Tread of a heavy vehicle that no carrier runs is not below the federal pattern",
        when=HEAVY & RUN_BY_NOBODY,
        check=main_grooves >= choose(FRONT & MOTOR, FRONT_MIN, OTHER_MIN),
        cite=Cite("cfr-570", "570.62(a)"),
        advice=f"Renew the tyre; {STATE_BINDS}",
    ),
    pattern(
        id="us.axle.construction",
        title="Tyres of one axle of a light vehicle are of one construction",
        subject="axle",
        when=LIGHT_MOTOR,
        check=same(field("tyre.construction")),
        cite=Cite("cfr-570", "570.9(b)"),
        advice="Fit tyres of one construction to the axle.",
    ),
    pattern(
        id="us.axle.size",
        title="Tyres of one axle of a light vehicle are of one size",
        subject="axle",
        when=LIGHT_MOTOR,
        check=same(field("tyre.size_designation")),
        cite=Cite("cfr-570", "570.9(b)"),
        advice="Fit tyres of one size to the axle.",
    ),
    pattern(
        id="us.axle.match_heavy",
        title="Tyres of one axle of a heavy vehicle are of one construction and size",
        subject="axle",
        when=HEAVY,
        check=same(field("tyre.construction")) & same(field("tyre.size_designation")),
        gravity="advise",
        cite=Cite("cfr-570", "570.62(b), a recommendation"),
        advice="Advise tyres of one construction and size on the axle.",
    ),
    pattern(
        id="us.pair.diameter",
        title="Twin tyres of a heavy vehicle have nearly one outer diameter",
        subject="pair",
        when=HEAVY,
        check=spread(field("tyre.outer_diameter")) <= parameter("us.wheel.twin_difference"),
        gravity="advise",  # a pattern that binds nobody by itself does not make every shop measure
        cite=Cite("cfr-570", "570.62(b)"),
        advice="Pair tyres of like diameter: the greater one bears more and the other scrubs.",
    ),
    pattern(
        id="us.tyre.damage",
        title="No cord or belt is to be seen, nor when a cut is probed, and nothing tells of a separation",
        when=INSPECTED & ~COMMERCIAL,
        check=~(CORD | BULGE | CUT),
        unseen_before=SEEN,
        cite=Cite("cfr-570", "570.9(c), (d) and 570.62(c), (d)"),
        advice=f"Renew the tyre; {STATE_BINDS}",
    ),
    pattern(
        id="us.tyre.highway_barred",
        title="A heavy vehicle has no tyre that is marked as not for highways or for farms only",
        when=HEAVY,
        check=~field("tyre.highway_barred"),
        cite=Cite("cfr-570", "570.62(e)"),
        advice="Fit a tyre for use on the road.",
    ),
    pattern(
        id="us.wheel.integrity",
        title="Rim and disc have no crack, weld repair or stretched bolt hole",
        when=INSPECTED,
        check=~(CRACKED | DISTORTED),
        unseen_before=SEEN,
        cite=Cite("cfr-570", "570.10(a) and 570.63(a), (b)"),
        advice="Renew the wheel; it is not mended by welding.",
    ),
    pattern(
        id="us.wheel.runout",
        title="The rim of a light vehicle runs true within the federal pattern",
        when=LIGHT_MOTOR,
        check=(field("wheel.lateral_runout") <= MAX_RUNOUT) & (field("wheel.radial_runout") <= MAX_RUNOUT),
        gravity="advise",  # as with twin tyres; a rim that is seen to be bent fails us.wheel.integrity
        cite=Cite("cfr-570", "570.10(b)"),
        advice="Renew the wheel; makers of cars allow much less run-out.",
    ),
    pattern(
        id="us.wheel.fixings",
        title="All wheel fixings are in place and tight",
        when=INSPECTED,
        check=field("condition.fixings_missing").equals(parameter("us.wheel.missing_fixings")),
        cite=Cite("cfr-570", "570.10(c) and 570.63(c)"),
        advice="Fit what is missing and tighten all to the maker's torque.",
    ),
]

CARRIERS = [
    carrier(
        id="us.tyre.tread_depth_front",
        title="Tread on the front wheels of a heavy motor vehicle is not below the minimum",
        when=COMMERCIAL & FRONT & MOTOR,
        check=main_grooves >= FRONT_MIN,
        cite=Cite("cfr-393-75", "393.75(b)"),
        advice="Renew the tyre, or move it to another axle if it is fit for that.",
    ),
    carrier(
        id="us.tyre.tread_depth_other",
        title="Tread on the other wheels of a heavy vehicle is not below the minimum",
        when=COMMERCIAL & ~(FRONT & MOTOR),
        check=main_grooves >= OTHER_MIN,
        cite=Cite("cfr-393-75", "393.75(c)"),
        advice="Renew the tyre.",
    ),
    carrier(
        id="us.tyre.damage_commercial",
        title="A commercial tyre shows neither ply nor belt, no separation and no cut down to them",
        when=COMMERCIAL,
        check=~(CORD | BULGE | CUT),
        unseen_before=SEEN,
        cite=Cite("cfr-393-75", "393.75(a)(1), (2) and (4)"),
        advice="Renew the tyre.",
    ),
    carrier(
        id="us.axle.front_retread",
        title="The front wheels of a bus bear no retreaded or regrooved tyre",
        when=COMMERCIAL_BUS & FRONT,
        check=~(field("tyre.retread") | field("tyre.regrooved")),
        unseen_before=SEEN,
        cite=Cite("cfr-393-75", "393.75(d)"),
        advice="Move it to another axle and fit a tyre that was never retreaded or regrooved.",
    ),
    carrier(
        id="us.tyre.front_regrooved",
        title="The front wheels of a truck bear no regrooved tyre of great load capacity",
        when=COMMERCIAL_TRUCK & FRONT & field("tyre.regrooved"),
        check=~(single_load >= parameter("us.load.regrooved")),
        cite=Cite("cfr-393-75", "393.75(e)"),
        advice="Move it to another axle.",
    ),
    carrier(
        id="us.tyre.load_commercial",
        title="The tyres of a commercial vehicle's axle carry its permitted mass",
        when=COMMERCIAL & field("axle.fitment").one_of("single", "dual"),
        check=choose(
            field("axle.fitment").equals("dual"),
            dual_load * parameter("us.load.tyres_dual"),
            single_load * parameter("us.load.tyres_single"),
        )
        >= field("axle.permitted_mass"),
        what="load of the axle's tyres together",
        unseen_before=SEEN,
        gravity="advise",  # the clause is broken by the load carried, which a job does not hold
        cite=Cite("cfr-393-75", "393.75(g)"),
        advice="Tell the carrier to load no more than the sidewalls allow, or fit tyres that bear more.",
    ),
    carrier(
        id="us.tyre.pressure_commercial",
        title="A commercial tyre is not below the cold pressure for the least load",
        when=COMMERCIAL,
        check=field("tyre.pressure") >= field("axle.cold_pressure_partial"),
        unseen_before=SEEN,
        cite=Cite("cfr-393-75", "393.75(i)(1)"),
        advice="Look for the leak and set the cold pressure for the load to be carried.",
        caution="A tyre that ran far too low may burst when filled: take it off and look inside first.",
    ),
]

MONITORING_RULES = [
    monitored(
        id="us.vehicle.monitoring_required",
        title="A light vehicle built since the duty began has tyre pressure monitoring",
        subject="vehicle",
        when=MONITORED,
        check=MONITORING.differs("none"),
        tie="registered_in",
        cite=Cite("cfr-571-138", "S2 with S7.3 and S7.7"),
        advice="Find out why it is missing; one built in stages or altered has a year more.",
    ),
    monitored(
        id="us.vehicle.make_inoperative",
        title="Tyre pressure monitoring fitted to meet the standard works when the vehicle leaves",
        subject="vehicle",
        when=MONITORED & MONITORING.one_of("direct", "indirect") & ALIVE,
        check=field("vehicle.monitoring_works"),
        tie="workshop",
        cite=Cite("usc-49-30122", "(b)"),
        advice="Note the lamp's state before the work; what was dead on arrival is not your breach.",
    ),
    monitored(
        id="us.sensor.fitted",
        title="Each wheel of a vehicle with direct monitoring has a sensor",
        subject="position",
        when=MONITORED & MONITORING.equals("direct") & ALIVE,
        check=field("sensor.fitted"),
        starts=date(2011, 11, 22),
        tie="workshop",
        gravity="remedy",  # a letter that others quote
        cite=Cite("nhtsa-2011", "second scenario, on 49 U.S.C. 30122(b)"),
        advice="Fit sensors to this set of wheels; the letter is the agency's view, not law.",
    ),
]

SERVICING = [
    service(
        id="us.inflation.restraint_multi_piece",
        title="A large wheel with a multi-piece rim is inflated in a cage",
        when=MULTI_PIECE,
        check=RESTRAINT.equals("cage"),
        gravity="hold",
        cite=Cite("cfr-1910-177", "(d)(1)"),
        advice="Let the air out, look at rim and rings, and inflate again in a cage.",
    ),
    service(
        id="us.inflation.restraint_single_piece",
        title="A large single-piece wheel is inflated in a cage, behind a barrier or on the vehicle",
        when=SINGLE_PIECE,
        check=RESTRAINT.one_of("cage", "barrier", "bolted_on_vehicle"),
        gravity="hold",
        cite=Cite("cfr-1910-177", "(d)(2) and (g)(6)"),
        advice="Let the air out, look at tyre and rim, and inflate again within a restraint.",
    ),
    service(
        id="us.inflation.restraint_rating",
        title="Cage or barrier stands half as much again as the tyre's greatest pressure",
        when=LARGE & RESTRAINT.one_of("cage", "barrier"),
        check=field("work.restraint_rating") >= SIDEWALL * parameter("us.inflation.restraint_strength"),
        gravity="advise",  # the air is in by then; what is to be mended is the equipment
        cite=Cite("cfr-1910-177", "(d)(3)(i)"),
        advice="Use a stronger cage or barrier for such tyres.",
    ),
    service(
        id="us.inflation.air_line",
        title="A large tyre is filled through a clip-on chuck with valve and gauge out of the way of a burst",
        when=LARGE,
        check=field("work.remote_inflation"),
        unseen_before=SEEN,
        gravity="remedy",
        cite=Cite("cfr-1910-177", "(d)(4)"),
        advice="Fill and set it again with such a line.",
    ),
    service(
        id="us.inflation.sidewall_pressure",
        title="A large single-piece wheel has no more pressure than the sidewall or the maker allows",
        when=SINGLE_PIECE,
        check=field("tyre.pressure")
        <= first_known(greater(SIDEWALL, field("maker.cold_pressure")), SIDEWALL),
        unseen_before=SEEN,
        gravity="remedy",
        cite=Cite("cfr-1910-177", "(g)(9)"),
        advice="Let air out until the pressure is no greater than allowed.",
    ),
    service(
        id="us.inflation.seating_pressure",
        title="The beads of a large single-piece wheel are seated with no more than the maker allows",
        when=SINGLE_PIECE,
        check=field("work.seating_pressure") <= field("maker.seating_pressure_max"),
        unseen_before=SEEN,
        gravity="advise",  # few makers give a number; world.bead.seating_pressure holds without one
        cite=Cite("cfr-1910-177", "(g)(10)"),
        advice="Let the air out, take the tyre off, look at beads and rim, lubricate and start again.",
    ),
    service(
        id="us.valve.sound",
        title="The valve of a large wheel that was assembled is neither damaged nor leaky",
        when=LARGE,
        check=~(field("condition.valve_damaged") | field("condition.valve_leaks")),
        unseen_before=SEEN,
        gravity="remedy",
        cite=Cite("cfr-1910-177", "(e)(2), last sentence"),
        advice="Renew the valve.",
    ),
    service(
        id="us.wheel.serviceable",
        title="A large wheel that was assembled is not bent, pitted, broken or cracked",
        when=LARGE,
        check=~(CRACKED | DISTORTED),
        unseen_before=SEEN,
        gravity="hold",
        cite=Cite("cfr-1910-177", "(e)(2)"),
        advice="Let the air out, tag the part as unserviceable and take it out of the service area.",
    ),
    service(
        id="us.wheel.ring_seated",
        title="The rings of an inflated multi-piece rim are seated and locked",
        when=MULTI_PIECE,
        check=field("condition.ring_seated"),
        unseen_before=SEEN,
        gravity="hold",
        cite=Cite("cfr-1910-177", "(f)(7)"),
        advice="Take the core out in the cage and let all air out before anything is corrected.",
    ),
    service(
        id="us.wheel.rim_match",
        title="Tyre and rim of a large wheel are compatible in bead diameter, width and type",
        when=LARGE,
        check=field("own.us.rim_compatible"),
        unseen_before=SEEN,
        gravity="hold",
        cite=Cite("cfr-1910-177", "(e)(4) and (g)(2)"),
        advice="Let the air out and take the tyre off: half an inch apart looks alike and bursts.",
    ),
]

RULES = [*PATTERN_OF_STATES, *CARRIERS, *MONITORING_RULES, *SERVICING]
