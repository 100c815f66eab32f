"""Japanese law that needs a tree of its own."""

from __future__ import annotations

from stemlore.rules import Cite, Node, Rule, choose, constant, field, first_known, lookup, parameter

CATEGORY = field("vehicle.category")
ROAD = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4")
FITMENT = field("axle.fitment")
MASS = field("axle.permitted_mass")
TRAILER = first_known(CATEGORY.one_of("O1", "O2", "O3", "O4"), constant(False))
# An exception counts only where somebody looked: not known is not slow.
SLOW = first_known(field("vehicle.design_speed") < parameter("jp.tread.slow_speed"), constant(False))

main_grooves = field("tyre.tread_depth_main_grooves")
whole_tread = field("tyre.tread_depth_whole_tread")


def _shallowest(limit: Node) -> Node:
    """Return the depth that counts: main grooves, a part of all, can fail a tyre but not pass it."""
    return first_known(choose(main_grooves < limit, main_grooves, whole_tread), whole_tread)


MIN_DEPTH = parameter("jp.tread.min_depth")
MIN_DEPTH_MOTORCYCLE = parameter("jp.tread.min_depth_motorcycle")

RULES = [
    Rule(
        id="jp.tyre.tread_depth",
        title="Tread is not below the legal minimum at any part of the grooves",
        subject="position",
        when=ROAD & (TRAILER | ~SLOW),
        check=_shallowest(MIN_DEPTH) >= MIN_DEPTH,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("jp-167", "Art. 167(4)(ii)"),
        advice="Renew the tyre; of lug tyres a quarter of the width to each side of the centre line counts.",
    ),
    Rule(
        id="jp.tyre.tread_depth_motorcycle",
        title="Tread of a motorcycle is not below the legal minimum at any part of the grooves",
        subject="position",
        when=CATEGORY.equals("L") & ~SLOW,
        check=_shallowest(MIN_DEPTH_MOTORCYCLE) >= MIN_DEPTH_MOTORCYCLE,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("jp-167", "Art. 167(4)(ii)"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="jp.tyre.load_single",
        title="The tyres of an axle with single wheels carry its load",
        subject="position",
        when=ROAD & FITMENT.equals("single"),
        check=lookup("load_index", field("tyre.load_index"), "load_kg") * parameter("jp.load.tyres_single")
        >= MASS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("jp-89", "Art. 89(4)(i)"),
        advice="Fit tyres with a sufficient load index.",
    ),
    Rule(
        id="jp.tyre.load_dual",
        title="The tyres of an axle with dual wheels carry its load",
        subject="position",
        when=ROAD & FITMENT.equals("dual"),
        check=lookup("load_index", field("tyre.load_index_dual"), "load_kg") * parameter("jp.load.tyres_dual")
        >= MASS,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("jp-89", "Art. 89(4)(i)"),
        advice="Fit tyres with a sufficient load index for dual fitment.",
    ),
]
