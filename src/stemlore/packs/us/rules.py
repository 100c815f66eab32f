"""Federal law of the United States that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, any_of, choose, field, parameter, same

STAND_CLEAR = "Stay out of the trajectory while air goes in; never weld, heat or strike an inflated assembly."

CATEGORY = field("vehicle.category")
LIGHT = field("vehicle.gross_mass") <= parameter("us.tread.light_mass")
MONITORED = (
    CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
    & (field("vehicle.gross_mass") <= parameter("us.vehicle.monitored_mass"))
    & ~field("vehicle.twin_wheels")
    & parameter("us.vehicle.monitoring")
)
MONITORING = field("vehicle.monitoring")
FIRST_AXLE = field("axle.number").equals(1)
HEAVY_MOTOR = CATEGORY.one_of("M2", "M3", "N2", "N3") & ~LIGHT
HEAVY_TRAILER = CATEGORY.one_of("O3", "O4") & ~LIGHT
INFLATED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))
LARGE = CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4") & INFLATED
RIM = field("wheel.rim_pieces")

RULES = [
    Rule(
        id="us.tyre.tread_depth",
        title="Tread of a light vehicle in two adjacent grooves is not below the federal pattern",
        subject="position",
        when=LIGHT,
        check=field("tyre.tread_depth_two_adjacent_grooves") >= parameter("us.tread.light_min"),
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("cfr-570", "570.9(a)"),
        advice="Renew the tyre; the law of the state binds and may ask for more.",
    ),
    Rule(
        id="us.tyre.tread_depth_front",
        title="Tread on the front wheels of a heavy motor vehicle is not below the minimum",
        subject="position",
        when=HEAVY_MOTOR & FIRST_AXLE,
        check=field("tyre.tread_depth_main_grooves") >= parameter("us.tread.front_min"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("cfr-393-75", "393.75(b)"),
        advice="Renew the tyre, or move it to another axle if it is fit for that.",
    ),
    Rule(
        id="us.tyre.tread_depth_other",
        title="Tread on the other wheels of a heavy vehicle is not below the minimum",
        subject="position",
        when=HEAVY_TRAILER | (HEAVY_MOTOR & ~FIRST_AXLE),
        check=field("tyre.tread_depth_main_grooves") >= parameter("us.tread.other_min"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("cfr-393-75", "393.75(c)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="us.tyre.tread_depth_heavy",
        title="Tread of a heavy car, motor home or light trailer is not below the federal pattern",
        subject="position",
        when=CATEGORY.one_of("M1", "N1", "O1", "O2") & ~LIGHT,
        check=field("tyre.tread_depth_main_grooves")
        >= choose(
            FIRST_AXLE & CATEGORY.one_of("M1", "N1"),
            parameter("us.tread.front_min"),
            parameter("us.tread.other_min"),
        ),
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("cfr-570", "570.62(a)"),
        advice="Renew the tyre; the law of the state binds and may ask for more.",
    ),
    Rule(
        id="us.axle.construction",
        title="Tyres of one axle of a light vehicle are of one construction",
        subject="axle",
        when=LIGHT,
        check=same(field("tyre.construction")),
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("cfr-570", "570.9(b)"),
        advice="Fit tyres of one construction to the axle.",
    ),
    Rule(
        id="us.axle.size",
        title="Tyres of one axle of a light vehicle are of one size",
        subject="axle",
        when=LIGHT,
        check=same(field("tyre.size_designation")),
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("cfr-570", "570.9(b)"),
        advice="Fit tyres of one size to the axle.",
    ),
    Rule(
        id="us.vehicle.monitoring_required",
        title="A light vehicle built since 2007-09-01 has tyre pressure monitoring",
        subject="vehicle",
        when=MONITORED,
        check=MONITORING.differs("none"),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("cfr-571-138", "S2 with S7.3"),
        advice="Find out why it is missing; one built in stages or altered has a year more (S7.7).",
    ),
    Rule(
        id="us.vehicle.make_inoperative",
        title="Tyre pressure monitoring fitted to meet the standard works when the vehicle leaves",
        subject="vehicle",
        when=MONITORED & MONITORING.one_of("direct", "indirect"),
        check=field("vehicle.monitoring_works"),
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("usc-49-30122", "(b)"),
        advice="Note the lamp's state before the work; what was dead on arrival is not your breach.",
    ),
    Rule(
        id="us.sensor.fitted",
        title="Each wheel of a vehicle with direct monitoring has a sensor",
        subject="position",
        when=MONITORED & MONITORING.equals("direct"),
        check=field("sensor.fitted"),
        starts=date(2011, 11, 22),
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("nhtsa-2011", "second scenario, on 49 U.S.C. 30122(b)"),
        advice="Fit sensors to this set of wheels; the letter is the agency's view, not law.",
    ),
    Rule(
        id="us.inflation.restraint_multi_piece",
        title="A large wheel with a multi-piece rim is inflated in a cage",
        subject="position",
        when=LARGE & RIM.equals("multi_piece"),
        check=field("work.restraint").equals("cage"),
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("cfr-1910-177", "(d)(1)"),
        advice="Let the air out, look at rim and rings, and inflate again in a cage.",
        caution=STAND_CLEAR,
    ),
    Rule(
        id="us.inflation.restraint_single_piece",
        title="A large single-piece wheel is inflated in a cage, behind a barrier or on the vehicle",
        subject="position",
        when=LARGE & RIM.equals("single_piece"),
        check=field("work.restraint").one_of("cage", "barrier", "bolted_on_vehicle"),
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("cfr-1910-177", "(d)(2) and (g)(6)"),
        advice="Let the air out, look at tyre and rim, and inflate again within a restraint.",
        caution=STAND_CLEAR,
    ),
]
