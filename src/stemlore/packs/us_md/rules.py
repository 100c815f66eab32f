"""Law of Maryland that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, field, parameter, spread

SEEN = date(2026, 11, 20)
CATEGORY = field("vehicle.category")
TRAILER = CATEGORY.one_of("O1", "O2", "O3", "O4")

RULES = [
    Rule(
        id="us_md.pair.diameter",
        title="The diameters of a trailer's twin tyres differ by no more than the state allows",
        subject="pair",
        when=TRAILER,
        check=spread(field("tyre.outer_diameter")) <= parameter("us_md.twins.max_difference"),
        tie="registered_in",
        basis="law",
        gravity="remedy",
        cite=Cite("comar-11-14-05-05", "A(1)(g)"),
        advice="Pair tyres of like diameter; the greater one carries the load and runs hot.",
    ),
    Rule(
        id="us_md.tyre.regrooved",
        title="A trailer's or motorcycle's tyre is not regrooved, or is made for it",
        subject="position",
        when=TRAILER | CATEGORY.equals("L"),
        check=~field("tyre.regrooved") | field("tyre.regroovable"),
        unseen_before=SEEN,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("comar-11-14-05-05", "A(1)(e); for motorcycles 11.14.03.05 D"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="us_md.tyre.studs",
        title="Studs only from November to March, on vehicles of the five counties that allow them",
        subject="position",
        check=~field("tyre.studded")
        | (parameter("us_md.studs.season") & field("own.us_md.registered_in_stud_county")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("comar-11-13-02-10", "B(2)"),
        advice="Fit tyres without studs; where they are allowed they may not leave those counties.",
    ),
]
