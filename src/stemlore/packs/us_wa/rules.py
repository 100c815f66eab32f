"""Law of Washington that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, any_of, choose, constant, field, first_known, parameter, same, some

SEEN = date(2026, 11, 27)
FIRST = date(2005, 2, 1)
"""Day on which the chapter on rim wheels began."""

STAND_CLEAR = "Stay out of the trajectory while air goes in; never weld, heat or strike an inflated assembly."

CATEGORY = field("vehicle.category")
# as in the federal section: pickups and vans on car tyres or LT tyres are left out
LARGE = CATEGORY.one_of("M3", "N3", "O3", "O4") | (
    CATEGORY.one_of("M2", "N2") & ~field("own.us_wa.light_truck")
)
INFLATED = any_of(field("work.tyre_demounted"), field("work.tyre_renewed"))
# nobody is asked about temporary spares on every wheel: taken as none where it is not told
WITHOUT_SPARE = ~some(first_known(field("tyre.temporary_use"), constant(False)))

# where nobody compared neighbours, main grooves that are deep enough settle it; shallow ones do not
TWO_ADJACENT = field("tyre.tread_depth_two_adjacent_grooves")
MAIN_GROOVES = field("tyre.tread_depth_main_grooves")
MIN_DEPTH = parameter("us_wa.tread.min_depth")
TREAD = first_known(TWO_ADJACENT, choose(MAIN_GROOVES >= MIN_DEPTH, MAIN_GROOVES, TWO_ADJACENT))

RULES = [
    Rule(
        id="us_wa.tyre.tread_depth",
        title="Tread in two major grooves is not below the legal minimum",
        subject="position",
        check=TREAD >= MIN_DEPTH,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("rcw-46-37-425", "(4)"),
        advice="Renew the tyre; two worn major grooves make it unsafe even where they are not neighbours.",
    ),
    Rule(
        id="us_wa.axle.size",
        title="Tyres of one axle are of one size",
        subject="axle",
        when=WITHOUT_SPARE,
        check=same(field("tyre.size_designation")),
        unseen_before=SEEN,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("rcw-46-37-425", "(7)"),
        advice="Fit tyres of one size and profile to the axle.",
    ),
    Rule(
        id="us_wa.axle.construction",
        title="Tyres of one axle are of one construction",
        subject="axle",
        when=WITHOUT_SPARE,
        check=same(field("tyre.construction")),
        unseen_before=SEEN,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("rcw-46-37-425", "(7)"),
        advice="Fit tyres of one construction to the axle.",
    ),
    Rule(
        id="us_wa.tyre.studs",
        title="From April to October no tyre has studs that stand out",
        subject="position",
        when=~parameter("us_wa.studs.season"),
        # nobody is asked about studs that retract unless the tyre has studs
        check=~field("tyre.studded") | first_known(field("own.us_wa.studs_drawn_in"), constant(False)),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("rcw-46-37-420", "(2)"),
        advice="Fit tyres without studs; the state may widen the season, so ask before refusing.",
    ),
    Rule(
        id="us_wa.inflation.air_line",
        title="A large wheel is inflated through a clip-on chuck from outside the trajectory",
        subject="position",
        when=LARGE & INFLATED,
        check=field("work.remote_inflation"),
        starts=FIRST,
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("wac-296-864-20010", "(5)"),
        advice="Inflate through a clip-on chuck, valve and gauge at the far end of the hose.",
        caution=STAND_CLEAR,
    ),
    Rule(
        id="us_wa.wheel.ring_seated",
        title="After inflation the parts of a split rim are seated and locked",
        subject="position",
        when=LARGE & INFLATED & field("wheel.rim_pieces").equals("multi_piece"),
        check=field("condition.ring_seated"),
        starts=FIRST,
        tie="workshop",
        basis="law",
        gravity="hold",
        cite=Cite("wac-296-864-40015", "Table 2"),
        advice="Take the core out before anything is adjusted; look again while it is in the cage.",
        caution=STAND_CLEAR,
    ),
]
