"""British law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import (
    Cite,
    Node,
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
    years_since,
)

IN_OPERATION = date(1986, 8, 11)  # of the Construction and Use Regulations
PART_WORN_FROM = date(1995, 6, 1)
CATEGORY = field("vehicle.category")
TRAILER = CATEGORY.one_of("O1", "O2", "O3", "O4")
LIGHT_TRAILER = CATEGORY.one_of("O1", "O2")
LOADED = CATEGORY.one_of("M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4")

# An exception counts only where somebody looked: not known is not held.
RETREADED = first_known(field("tyre.retread"), constant(False))
TEMPORARY = first_known(field("tyre.temporary_use"), constant(False))
PART_WORN = first_known(field("work.part_worn_supplied"), constant(False))
SLOW = first_known(field("vehicle.design_speed") <= parameter("gb.construction.slow_speed"), constant(False))

CUT_HARMLESS = any_of(
    ~field("condition.cut_to_cord"),
    field("condition.cut_length") <= parameter("gb.damage.cut_length"),
    field("condition.cut_length") <= field("own.gb.section_width") * parameter("gb.damage.cut_share"),
)

CONSTRUCTION = field("tyre.construction")
RADIAL, DIAGONAL = CONSTRUCTION.equals("radial"), CONSTRUCTION.equals("diagonal")
BIAS_BELTED = CONSTRUCTION.equals("bias_belted")
FIRST = field("axle.number").equals(1)
OF_TWO = field("axle.number") <= parameter("gb.construction.few_axles")
DRIVEN = field("axle.driven") & ~field("axle.steered")
# a car may be driven on its temporary spare, up to 50 mph: reg 26(5)
ON_TEMPORARY = CATEGORY.equals("M1") & some(TEMPORARY)
TOLD_OF_CAR = first_known(field("own.gb.on_temporary"), constant(False))  # the spare of another axle
ON_TEMPORARY_SOMEWHERE = CATEGORY.equals("M1") & (some(TEMPORARY) | TOLD_OF_CAR)
FRONT_TOLD = field("own.gb.front_axle")  # a second steered axle may lie ahead of the middle
FRONT = first_known(FRONT_TOLD, FIRST | (first_known(field("axle.steered"), constant(False)) & FRONT_TOLD))
RETREAD_YOUNG = years_since(field("own.gb.retreaded_on")) <= parameter("gb.age.max_age")
YOUNG = years_since(field("tyre.manufactured")) <= parameter("gb.age.max_age")
REGROOVING = field("tyre.regrooved") | field("tyre.regroovable")  # asked only where somebody saw it
DUTY = constant(True)  # old vehicles are free where their age is told
LOAD_DUTY = choose(
    TRAILER, first_known(parameter("gb.load.trailer"), DUTY), first_known(parameter("gb.load.motor"), DUTY)
)
APPROVAL_DUTY = choose(
    TRAILER,
    first_known(parameter("gb.approval.trailer"), DUTY),
    first_known(parameter("gb.approval.motor"), DUTY),
)
VARIATION = first_known(field("own.gb.load_variation"), parameter("gb.load.variation_none"))
SINGLES = lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("gb.load.tyres_single")
DUALS = lookup("load_index", field("tyre.load_index_dual"), "load_kg") * parameter("gb.load.tyres_dual")
BY_SINGLE = lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("gb.load.tyres_dual")
DUAL_SHARE = choose(
    LIGHT_TRAILER, parameter("gb.load.variation_dual_light_trailer"), parameter("gb.load.variation_dual")
)
AXLE_MASS, FITMENT = field("axle.permitted_mass"), field("axle.fitment")
INFLATED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))
HEAVY = CATEGORY.one_of("M2", "M3", "N2", "N3", "O3", "O4")
MARK = field("tyre.approval_mark")
MARK_TOLD = first_known(MARK | ~MARK, constant(False))  # judged only where read, on light vehicles
NEW_TYRE = field("work.tyre_renewed") & ~PART_WORN & MARK_TOLD
BASES_VISIBLE = first_known(
    field("tyre.tread_depth_whole_tread") > parameter("gb.tread.groove_gone"), constant(True)
)
APPROVED_OR_RETREADED = MARK | field("tyre.retread")
STAND_CLEAR = "Stand clear: a burst may go out at up to 45 degrees from the rupture."


def _supply(
    name: str,
    title: str,
    when: Node,
    check: Node,
    at: str,
    *,
    advice: str = "Take the tyre back: it may not be supplied.",
    starts: date | None = PART_WORN_FROM,
) -> Rule:
    return Rule(
        id=name,
        title=title,
        subject="position",
        when=when,
        check=check,
        starts=starts,
        spare=True,
        tie="workshop",
        basis="law",
        gravity="remedy",
        cite=Cite("tyre-safety", at),
        advice=advice,
    )


def _new(name: str, kind: str, which: Node, at: str, starts: date) -> Rule:
    title = f"A new tyre for a {kind} bears an approval mark"
    return _supply(
        f"gb.tyre.new_approval{name}", title, NEW_TYRE & which, APPROVED_OR_RETREADED, at, starts=starts
    )


def _alike(name: str, title: str, which: Node, at: str) -> Rule:
    return Rule(
        id=f"gb.vehicle.construction_{name}",
        title=title,
        subject="vehicle",
        when=CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3") & some(~OF_TWO) & ~ON_TEMPORARY,
        check=~any_of(
            some(which & RADIAL) & some(which & ~RADIAL),
            some(which & DIAGONAL) & some(which & BIAS_BELTED),
        ),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use", f"reg 26(4){at} and (5)"),
        advice="Fit tyres of one construction to these axles.",
    )


def _loaded(fitment: str, tyres: str, check: Node) -> Rule:
    return Rule(
        id=f"gb.tyre.load_{fitment}",
        title=f"The tyres of an axle with {fitment} wheels carry its permitted mass",
        subject="position",
        when=LOADED & FITMENT.equals(fitment) & LOAD_DUTY,
        check=check,
        what=f"load of the axle's {tyres} tyres together",
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use", "reg 25(5) and (6) with Table II"),
        supersedes=(f"eu.tyre.load_{fitment}",),
        advice="Fit tyres with a sufficient load index, or see whether Table II gives this use an allowance.",
    )


def _restrained(name: str, title: str, which: Node, pressure: Node) -> Rule:
    return Rule(
        id=name,
        title=title,
        subject="position",
        when=which & INFLATED & pressure,
        check=field("work.restraint").differs("none"),
        spare=True,
        tie="workshop",
        basis="practice",
        gravity="hold",
        cite=Cite("hse-inflation", "part on safety during inflation"),
        advice="Let the air out, look at tyre and rim, and inflate again within a restraint.",
        caution=STAND_CLEAR,
    )


RULES = [
    Rule(
        id="gb.tyre.tread_depth_motorcycle",
        title="Tread of a motorcycle beyond 50 cc is not below the legal minimum",
        subject="position",
        when=CATEGORY.equals("L"),
        check=BASES_VISIBLE
        & any_of(
            field("tyre.tread_depth_main_grooves") >= parameter("gb.tread.min_depth_general"),
            field("own.gb.engine_50"),
        ),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use", "reg 27(1)(f), (g) and (4)(c)"),
        advice="Renew the tyre, or read in the papers whether the engine has no more than 50 cc.",
    ),
    Rule(
        id="gb.tyre.cut",
        title="No cut that reaches the cord is longer than allowed",
        subject="position",
        check=CUT_HARMLESS,
        what="length of the longest cut",
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use", "reg 27(1)(c)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="gb.axle.construction",
        title="Tyres of one axle are of one construction",
        subject="axle",
        when=~ON_TEMPORARY_SOMEWHERE,
        check=same(CONSTRUCTION),
        starts=IN_OPERATION,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use", "reg 26(1) and (5)"),
        supersedes=("eu.axle.construction",),
        advice="Fit tyres of one construction to the axle.",
    ),
    Rule(
        id="gb.vehicle.construction_order",
        title="Behind radial tyres are radial ones, and behind bias-belted tyres no diagonal ones",
        subject="vehicle",
        when=CATEGORY.one_of("L", "M1", "M2", "M3", "N1", "N2", "N3")
        & every(OF_TWO & FITMENT.differs("dual"))
        & ~SLOW
        & ~ON_TEMPORARY,
        check=~any_of(
            some(FIRST & RADIAL) & some(~FIRST & ~RADIAL),
            some(FIRST & BIAS_BELTED) & some(~FIRST & DIAGONAL),
        ),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use", "reg 26(2), (3) and (5)"),
        advice="Fit one construction to both axles, or the radials behind; a vehicle on wide tyres is free.",
    ),
    _alike("steered", "Tyres of all steered axles are of one construction", field("axle.steered"), "(a)"),
    _alike("driven", "Tyres of all other driven axles are of one construction", DRIVEN, "(b)"),
    Rule(
        id="gb.tyre.recut",
        title="A tyre of a car or motorcycle is not recut",
        subject="position",
        when=CATEGORY.one_of("L", "M1") & first_known(REGROOVING, constant(False)),
        check=~field("tyre.regrooved"),
        starts=IN_OPERATION,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use", "reg 24, Table, items 4 and 5"),
        advice="Renew the tyre; a car heavier than 3050 kg unladen is not in it.",
    ),
    Rule(
        id="gb.tyre.temporary_spare",
        title="A temporary spare is on a vehicle that may have one",
        subject="position",
        when=TEMPORARY,
        check=any_of(
            CATEGORY.equals("M1") & parameter("gb.construction.temporary_allowed"),
            field("own.gb.temporary_approved"),
        ),
        starts=IN_OPERATION,
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("construction-use", "reg 24(3)"),
        advice="Fit a full tyre; a vehicle that its owner built is free.",
    ),
    _loaded(
        "single",
        "two",
        any_of(
            SINGLES * VARIATION >= AXLE_MASS,
            LIGHT_TRAILER
            & field("own.gb.car_tyre")
            & (SINGLES * parameter("gb.load.variation_light_trailer") >= AXLE_MASS),
        ),
    ),
    _loaded(
        "dual",
        "four",
        choose(
            first_known(field("own.gb.car_tyre"), constant(False)),
            BY_SINGLE * DUAL_SHARE >= AXLE_MASS,
            DUALS * VARIATION >= AXLE_MASS,
        ),
    ),
    Rule(
        id="gb.tyre.approval",
        title="The tyre of a goods vehicle, trailer or bus bears an approval mark",
        subject="position",
        when=LOADED & APPROVAL_DUTY & (HEAVY | MARK_TOLD),
        check=MARK | (field("tyre.retread") & ~parameter("gb.approval.retreads")),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("construction-use", "reg 25(1), Table I, and (7)"),
        advice="Fit a tyre with an approval mark; farm and works vehicles and plant are free.",
    ),
    Rule(
        id="gb.tyre.age",
        title="The tyre is not older than the law allows in this place",
        subject="position",
        when=any_of(
            CATEGORY.one_of("M2", "M3", "N2", "N3") & FRONT,
            CATEGORY.one_of("M2", "M3")
            & (field("vehicle.passenger_seats") <= parameter("gb.age.minibus_seats"))
            & FITMENT.differs("dual"),
        ),
        # a tyre is no older since its retreading than since its making
        check=choose(RETREADED, first_known(RETREAD_YOUNG, YOUNG | RETREAD_YOUNG), YOUNG),
        what="age of the tyre",
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("construction-use-2020", "reg 2(4), on reg 27(1)(i), (j) and (1A)"),
        advice="Renew the tyre; a vehicle of historical interest that is not used in trade is free.",
    ),
    Rule(
        id="gb.vehicle.monitoring_works",
        title="Tyre pressure monitoring of a car first used since 2012 shows no fault",
        subject="vehicle",
        when=CATEGORY.equals("M1")
        & field("vehicle.monitoring").one_of("direct", "indirect")
        & parameter("gb.monitoring.tested"),
        check=first_known(  # a lamp that asks for air is no fault
            field("vehicle.monitoring_lamp").one_of("goes_out", "low_pressure"),
            field("vehicle.monitoring_works"),
        ),
        starts=date(2015, 1, 1),
        tie="registered_in",
        basis="standard",
        gravity="remedy",
        cite=Cite("mot-pages", "parts on tyre pressure monitoring"),
        supersedes=("eu.vehicle.monitoring_works",),
        advice="Set the pressures, then read faults and sensors: a faulty system fails the MOT test.",
    ),
    _new("", "car or light trailer", CATEGORY.one_of("M1", "O1", "O2"), "reg 4", date(1995, 1, 1)),
    _new("_motorcycle", "motorcycle", CATEGORY.equals("L"), "reg 5", date(1997, 6, 1)),
    _supply(
        "gb.tyre.part_worn_tread",
        "A part-worn tyre that is supplied keeps the depth asked for across its full breadth",
        PART_WORN,
        field("tyre.tread_depth_whole_tread") >= parameter("gb.tread.part_worn_min"),
        "reg 7(4) and (5)",
        starts=None,
    ),
    _supply(
        "gb.tyre.part_worn_damage",
        "A part-worn tyre that is supplied has no bulge, bare cord or deep cut",
        PART_WORN,
        ~field("condition.bulge") & ~field("condition.cord_exposed") & CUT_HARMLESS,
        "reg 7(2) and (3)",
        advice="Take the tyre back; look inside it too, and outside again at its greatest pressure.",
    ),
    _supply(
        "gb.tyre.part_worn_mark",
        "A part-worn tyre that is supplied is marked as such",
        PART_WORN & CATEGORY.differs("L"),
        field("tyre.part_worn_mark"),
        "reg 7(6)(b), (8)(c) and (12)",
        advice="Mark it PART-WORN beside each approval mark, capitals of 4 mm or more, not cut or burnt in.",
    ),
    _supply(
        "gb.tyre.part_worn_approval",
        "A part-worn tyre that is supplied bears its approval mark",
        PART_WORN & CATEGORY.differs("L"),
        APPROVED_OR_RETREADED,
        "reg 7(6)(a)",
    ),
    _supply(
        "gb.tyre.part_worn_service",
        "A part-worn tyre that is supplied bears load index and speed symbol",
        PART_WORN & CATEGORY.differs("L"),
        field("own.gb.service_description") | field("tyre.retread"),
        "reg 7(7)",
    ),
    _restrained(
        "gb.inflation.restraint",
        "A truck or bus tyre is inflated within a restraint",
        HEAVY,
        field("tyre.pressure") > parameter("gb.inflation.restraint_above"),
    ),
    _restrained(
        "gb.inflation.restraint_light",
        "A light commercial tyre of high pressure is inflated within a restraint",
        CATEGORY.equals("N1"),
        field("tyre.pressure") >= parameter("gb.inflation.restraint_light"),
    ),
    Rule(
        id="gb.inflation.remote",
        title="A truck or bus tyre is inflated from a distance, through a clip-on chuck and a gauge",
        subject="position",
        when=HEAVY & INFLATED,
        check=field("work.remote_inflation"),
        unseen_before=date(2012, 12, 26),
        spare=True,
        tie="workshop",
        basis="practice",
        gravity="remedy",
        cite=Cite("hse-vehicle-repair", "paragraphs 143 and 144"),
        advice="Use a hose that lets the fitter stand aside, with a gauge or control valve at its far end.",
        caution=STAND_CLEAR,
    ),
]
