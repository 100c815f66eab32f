"""German law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, field, lookup, parameter, same

CATEGORY = field("vehicle.category")
LIGHT = field("vehicle.gross_mass") <= parameter("de.construction.light_mass")
NOT_SLOW = field("vehicle.design_speed") > parameter("de.construction.slow_speed")
WINTER_MARK = field("tyre.mud_snow") | field("tyre.snowflake")

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
        cite=Cite("stvzo", "§ 36(6), sentence 2"),
        supersedes=("eu.axle.construction",),
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
        cite=Cite("stvzo", "§ 36(6), sentence 1"),
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
        id="de.tyre.load_trailer",
        title="The tyres of a light trailer's axle carry its permitted mass",
        subject="position",
        when=CATEGORY.one_of("O1", "O2") & field("axle.fitment").equals("single"),
        check=lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("de.load.tyres_single")
        >= field("axle.permitted_mass"),
        what="load of the axle's two tyres together",
        unseen_before=date(2022, 1, 28),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("stvzo", "§ 36(1)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="de.tyre.winter_mark_transition",
        title="A tyre with the M+S mark alone was made early enough to count as a winter tyre",
        subject="position",
        when=field("tyre.mud_snow") & ~field("tyre.snowflake"),
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
        when=WINTER_MARK,
        check=lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h")
        >= field("vehicle.design_speed"),
        unseen_before=date(2012, 7, 2),
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("stvzo", "§ 36(5); in the state of 2012-07-02 § 36(1)"),
        advice="Put the speed of the tyre where the driver sees it, or set it in the instrument panel.",
    ),
]
