"""German law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import (
    Cite,
    Rule,
    any_of,
    choose,
    constant,
    every,
    field,
    first_known,
    lookup,
    parameter,
    same,
    some,
)

CATEGORY = field("vehicle.category")
FITMENT = field("axle.fitment")
MOTOR_VEHICLES = ("M1", "M2", "M3", "N1", "N2", "N3")
HEAVY = CATEGORY.one_of("M2", "M3", "N2", "N3")
LIGHT = field("vehicle.gross_mass") <= parameter("de.construction.light_mass")
DESIGN_SPEED = field("vehicle.design_speed")
NOT_SLOW = field("vehicle.design_speed") > parameter("de.construction.slow_speed")

MUD_SNOW = field("tyre.mud_snow")
SNOWFLAKE = field("tyre.snowflake")
WINTER_MARK = MUD_SNOW | SNOWFLAKE
OFF_ROAD_MARK = first_known(field("tyre.professional_off_road"), constant(False))
# Before the alpine symbol was asked for, the day of making did not matter.
WINTER_TYRE = SNOWFLAKE | (
    MUD_SNOW
    & (parameter("de.winter.mud_snow_always") | parameter("de.winter.mud_snow_suffices"))
    & parameter("de.winter.mud_snow_counts")
)
WINTER_ROAD = first_known(field("event.winter_road"), parameter("de.winter.assumed"))
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
STUDDED = field("tyre.studded")
LOOKED = first_known(STUDDED | ~STUDDED, first_known(WINTER_MARK, constant(False)))

# More than one track: a three- or four-wheeler of category L, which is no motorcycle.
TRACKS = some(FITMENT.one_of("single", "dual"))

FAST_ENOUGH = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h") >= DESIGN_SPEED
SPEED_SHOWN = field("vehicle.tyre_speed_shown")
LOAD = lookup("load_index", field("tyre.load_index"), "load_kg")
LOAD_DUAL = lookup("load_index", field("tyre.load_index_dual"), "load_kg")
AXLE_MASS = field("axle.permitted_mass")

WHOLE_TREAD = field("tyre.tread_depth_whole_tread") > parameter("de.tread.none_left")
WHOLE_TREAD_MEASURED = first_known(WHOLE_TREAD | ~WHOLE_TREAD, constant(False))

# The Union's duty of monitoring, under which eu.vehicle.monitoring_works judges.
WITHOUT_TWINS = ~field("vehicle.twin_wheels")
UNION_LIGHT = (field("vehicle.gross_mass") <= parameter("eu.monitoring.m1_light_mass")) & WITHOUT_TWINS
UNION_M1 = CATEGORY.equals("M1") & choose(
    UNION_LIGHT, parameter("eu.monitoring.m1_light"), parameter("eu.monitoring.m1")
)
UNION_OTHERS = parameter("eu.monitoring.others") & any_of(
    CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4"), CATEGORY.equals("N1") & WITHOUT_TWINS
)

DEMOUNTED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))
STAND_CLEAR = "Stand clear of tyre and rim while air goes in."

RULES = [
    Rule(
        id="de.vehicle.construction",
        title="All tyres of a car or other light motor vehicle are of one construction",
        subject="vehicle",
        when=(CATEGORY.equals("M1") | (CATEGORY.one_of("M2", "N1", "N2") & LIGHT)) & NOT_SLOW,
        check=same(field("tyre.construction")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(6), sentence 2; in the state of 2012-07-02 § 36(2a)"),
        supersedes=("eu.axle.construction",),
        advice="Fit tyres of one construction to the whole vehicle.",
    ),
    Rule(
        id="de.vehicle.construction_small",
        title="All tyres of a small or light motorcycle or a three-wheeler are of one construction",
        subject="vehicle",
        # motorcycles are free, save mopeds, small and light ones; a three-wheeler is no motorcycle
        when=CATEGORY.equals("L") & (field("vehicle.light_two_wheeler") | TRACKS) & NOT_SLOW,
        check=same(field("tyre.construction")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(6), sentences 2 and 4; in the state of 2012-07-02 § 36(2a)"),
        advice="Fit tyres of one construction to the whole vehicle.",
    ),
    Rule(
        id="de.axle.construction_heavy",
        title="Tyres of one axle of a heavy motor vehicle are of one construction",
        subject="axle",
        when=CATEGORY.one_of("M2", "M3", "N1", "N2", "N3") & ~LIGHT & NOT_SLOW,
        check=same(field("tyre.construction")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(6), sentence 1; in the state of 2012-07-02 § 36(2a)"),
        supersedes=("eu.axle.construction",),
        advice="Fit tyres of one construction to the axle.",
    ),
    Rule(
        id="de.tyre.tread_depth_motorcycle",
        title="Tread on a motorcycle that is not small or light is not below the general minimum",
        subject="position",
        when=CATEGORY.equals("L"),
        check=(field("tyre.tread_depth_main_grooves") >= parameter("de.tread.min_depth"))
        | field("vehicle.light_two_wheeler"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(3)"),
        advice="Renew the tyre, or read in the papers whether it is a moped, small or light motorcycle.",
    ),
    Rule(
        id="de.tyre.tread_whole",
        title="The tyre has grooves or cuts all round and over the whole width of the tread",
        subject="position",
        when=WHOLE_TREAD_MEASURED,
        check=WHOLE_TREAD,
        unseen_before=date(2012, 7, 2),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(3), sentence 3; in the state of 2012-07-02 § 36(2)"),
        advice="Renew the tyre, and look for the reason of uneven wear.",
    ),
    Rule(
        id="de.tyre.studs",
        title="The tyre has no studs",
        subject="position",
        when=LOOKED,
        check=~STUDDED,
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("rechtslexikon-reifen", "on StVZO § 36(1)"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="de.tyre.load_trailer",
        title="The tyres of a light trailer's axle carry its permitted mass",
        subject="position",
        when=CATEGORY.one_of("O1", "O2") & FITMENT.equals("single"),
        check=LOAD * parameter("de.load.tyres_single") >= AXLE_MASS,
        what="load of the axle's two tyres together",
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(1)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="de.tyre.load_single",
        title="Tyres in single fitment carry the axle's permitted mass",
        subject="position",
        when=CATEGORY.one_of("L", *MOTOR_VEHICLES, "O3", "O4") & FITMENT.one_of("single", "centre"),
        check=choose(FITMENT.equals("centre"), LOAD, LOAD * parameter("de.load.tyres_single")) >= AXLE_MASS,
        what="load of the axle's tyres together",
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(1)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="de.tyre.load_dual",
        title="Tyres in dual fitment carry the axle's permitted mass",
        subject="position",
        when=FITMENT.equals("dual"),
        check=LOAD_DUAL * parameter("de.load.tyres_dual") >= AXLE_MASS,
        what="load of the axle's four tyres together",
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(1)"),
        advice="Fit tyres with a sufficient load index for dual fitment.",
    ),
    Rule(
        id="de.tyre.speed_symbol",
        title="The speed symbol covers the design speed of the motor vehicle",
        subject="position",
        # winter and professional off-road tyres may be slower: see the rules on the label
        when=CATEGORY.one_of("L", *MOTOR_VEHICLES) & (FAST_ENOUGH | (~WINTER_MARK & ~OFF_ROAD_MARK)),
        check=FAST_ENOUGH,
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(1)"),
        advice="Fit tyres with a sufficient speed symbol.",
    ),
    Rule(
        id="de.tyre.winter_road",
        title="On ice, packed snow, slush or frost the tyre is a winter tyre",
        subject="position",
        # a vehicle of a single track is exempt; the centre wheels of others have a rule of their own
        when=WINTER_ROAD & (CATEGORY.one_of("M1", "N1") | (CATEGORY.equals("L") & FITMENT.equals("single"))),
        check=WINTER_TYRE,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvo", "§ 2(3a); StVZO § 36(4), (4a)"),
        advice="Fit winter tyres; farm, forest, emergency and some special vehicles are exempt.",
    ),
    Rule(
        id="de.vehicle.winter_road_centre",
        title="On ice, packed snow, slush or frost a three-wheeler has a winter tyre on its centre wheel too",
        subject="vehicle",
        when=WINTER_ROAD & CATEGORY.equals("L") & TRACKS & some(FITMENT.equals("centre")),
        check=every(FITMENT.differs("centre") | WINTER_TYRE),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvo", "§ 2(3a); StVZO § 36(4), (4a)"),
        advice="Fit winter tyres to all wheels; only vehicles of a single track are exempt.",
    ),
    Rule(
        id="de.tyre.winter_road_heavy",
        title="On ice, snow, slush or frost driven and front axles of heavy vehicles have winter tyres",
        subject="position",
        when=WINTER_ROAD & HEAVY & (field("axle.driven") | (field("axle.number") <= constant(1))),
        check=WINTER_TYRE,
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvo", "§ 2(3a), sentence 3; StVZO § 36(4), (4a)"),
        advice="Fit winter tyres to permanently driven and front steering axles; a second one counts too.",
    ),
    Rule(
        id="de.tyre.winter_season",
        title="In the winter months the tyre is a winter tyre",
        subject="position",
        when=CATEGORY.one_of("M1", "N1"),
        check=any_of(~parameter("de.winter.season"), WINTER_TYRE),
        tie="used_in",
        basis="practice",
        gravity="advise",
        cite=Cite("", "common practice of the trade"),
        advice="Offer winter tyres: the law (StVO § 2(3a)) asks for them by the state of the road.",
    ),
    Rule(
        id="de.tyre.winter_mark",
        title="A tyre sold as a winter tyre bears the alpine symbol",
        subject="position",
        when=CATEGORY.one_of(*MOTOR_VEHICLES) & MUD_SNOW,
        check=SNOWFLAKE,
        starts=date(2024, 10, 1),
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("stvzo", "§ 36(4) and (4a); StVO § 2(3a)"),
        advice="Tell the driver: with M+S alone it is no winter tyre on ice, packed snow, slush or frost.",
    ),
    Rule(
        id="de.tyre.winter_mark_transition",
        title="A tyre with the M+S mark alone was made early enough to count as a winter tyre",
        subject="position",
        when=CATEGORY.one_of(*MOTOR_VEHICLES) & MUD_SNOW & ~SNOWFLAKE,
        check=parameter("de.winter.mud_snow_suffices"),
        unseen_before=date(2022, 1, 28),
        ends=date(2024, 9, 30),
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("stvzo", "§ 36(4a)"),
        advice="Tell the driver: it is no winter tyre on ice, packed snow, slush or frost.",
    ),
    Rule(
        id="de.tyre.winter_speed_label",
        title="A winter tyre covers the design speed, or its limit is in the driver's view",
        subject="position",
        # a trailer has no design speed of its own, and no driver's view
        when=CATEGORY.one_of("L", *MOTOR_VEHICLES) & WINTER_MARK,
        check=FAST_ENOUGH | SPEED_SHOWN,
        unseen_before=date(2012, 7, 2),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("stvzo", "§ 36(5); in the state of 2012-07-02 § 36(1)"),
        advice="Put the speed of the tyre where the driver sees it, or set it in the instrument panel.",
    ),
    Rule(
        id="de.tyre.off_road_speed_label",
        title="A professional off-road tyre covers the design speed, or its limit is in the driver's view",
        subject="position",
        when=CATEGORY.one_of("L", *MOTOR_VEHICLES) & OFF_ROAD_MARK & ~WINTER_MARK,
        check=FAST_ENOUGH | SPEED_SHOWN,
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("stvzo", "§ 36(5)"),
        advice="Put the speed of the tyre where the driver sees it, or set it in the instrument panel.",
    ),
    Rule(
        id="de.tyre.speed_100",
        title="The tyres of a trailer with the permit for 100 km/h are fast enough for it",
        subject="position",
        when=CATEGORY.one_of("O1", "O2") & field("vehicle.permit_100"),
        # symbols go in steps: written so that no margin is shown
        check=~(
            lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h")
            < parameter("de.trailer.tyre_speed")
        ),
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("stvo-exception-9", "§ 3"),
        advice="Tell the driver: no faster than 80 km/h until the tyres are renewed.",
    ),
    Rule(
        id="de.vehicle.monitoring_works",
        title="Tyre pressure monitoring that is fitted without a duty of the Union works",
        subject="vehicle",
        when=field("vehicle.monitoring").one_of("direct", "indirect") & ~(UNION_M1 | UNION_OTHERS),
        check=field("vehicle.monitoring_works"),
        starts=date(2018, 5, 20),
        tie="registered_in",
        basis="law",
        gravity="advise",
        cite=Cite("bmv-2014", "whole answer, on StVZO § 29"),
        advice="Set the pressures, then read faults and sensors; the main inspection may note it.",
    ),
    Rule(
        id="de.bead.seating_pressure",
        title="The beads of a car tyre are seated at no more than the accident insurer's pressure",
        subject="position",
        when=CATEGORY.equals("M1") & DEMOUNTED,
        check=field("work.seating_pressure") <= parameter("de.bead.car_pressure"),
        spare=True,
        tie="workshop",
        basis="practice",
        gravity="advise",
        cite=Cite("dguv-209-064", "annex A.1, special case b"),
        advice="Let the air out, lubricate and start again; at 3.3 bar the beads must have jumped the hump.",
        caution=STAND_CLEAR,
    ),
    Rule(
        id="de.bead.mounting_pressure",
        title="No tyre is mounted at more than the accident insurer's greatest pressure",
        subject="position",
        when=DEMOUNTED,
        check=field("work.seating_pressure") <= parameter("de.bead.mounting_pressure"),
        spare=True,
        tie="workshop",
        basis="practice",
        gravity="advise",
        cite=Cite("dguv-209-064", "annex A.1"),
        advice="Let the air out and start again; 1.5 times the base pressure is the other limit, if lower.",
        caution=STAND_CLEAR,
    ),
    Rule(
        id="de.wheel.flange_wear",
        title="The rim flange is not worn beyond the accident insurer's limit",
        subject="position",
        when=DEMOUNTED,
        check=field("condition.flange_wear") <= parameter("de.wheel.flange_wear"),
        spare=True,
        tie="workshop",
        basis="practice",
        gravity="advise",
        cite=Cite("dguv-vehicles", "5.17.4, note"),
        advice="Renew the rim.",
    ),
]
