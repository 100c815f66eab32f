"""Spanish law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Node, Rule, choose, constant, field, first_known, lookup, parameter

SEEN = date(2005, 5, 17)
"""Day stamped on the text that was read."""

CATEGORY = field("vehicle.category")
LIGHT = CATEGORY.one_of("L", "M1", "N1", "O1", "O2")
speed = lookup("speed_symbols", field("tyre.speed_symbol"), "speed_km_h")
# a tyre that is fast enough asks nobody for its winter mark
slower = field("tyre.mud_snow") & ~(speed >= field("vehicle.design_speed"))
# a trailer has no design speed of its own
MOTOR = CATEGORY.one_of("L", "M1", "M2", "M3", "N1", "N2", "N3")
MARK = field("tyre.approval_mark")
APPROVED = field("own.es.approved_diameter")
TOLERANCE = parameter("es.tyre.diameter_tolerance")
WHOLE = parameter("es.tyre.whole")


def seen(flag: Node) -> Node:
    """Return what is rare on light vehicles: there it counts only where somebody saw it."""
    return choose(LIGHT, first_known(flag, constant(False)), flag)


RULES = [
    Rule(
        id="es.tyre.damage",
        title="The tyre shows no cord, bulge, separation, or crack down to the cord",
        subject="position",
        check=~field("condition.cord_exposed") & ~field("condition.bulge") & ~field("condition.cut_to_cord"),
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("rgv", "annex VII 4"),
        advice="Renew the tyre, retread or not.",
    ),
    Rule(
        id="es.tyre.regrooved",
        title="A regrooved tyre is marked as regroovable and stands on a vehicle above 3.5 t",
        subject="position",
        when=seen(field("tyre.regrooved")),
        check=field("tyre.regroovable") & (field("vehicle.gross_mass") > parameter("es.tyre.regrooved_mass")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("rgv", "annex VII 4"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="es.tyre.snow_speed",
        title="A snow tyre slower than the vehicle has at least 160 km/h",
        subject="position",
        when=MOTOR & slower,
        check=~(speed < parameter("es.tyre.snow_floor")),
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("rgv", "annex VII 5"),
        advice="Fit tyres of symbol Q or faster.",
    ),
    Rule(
        id="es.tyre.equivalent_diameter",
        title="The outer diameter of an equivalent size is that of the approved one within the tolerance",
        subject="position",
        # nobody is asked unless another size is fitted
        when=first_known(field("own.es.equivalent_size"), constant(False)),
        check=field("tyre.outer_diameter").within(
            APPROVED * (WHOLE - TOLERANCE), APPROVED * (WHOLE + TOLERANCE)
        ),
        tie="registered_in",
        basis="standard",
        gravity="remedy",
        cite=Cite("itv-news", "on equivalent tyres"),
        advice="Fit a size of the papers, or one whose diameter, load index, speed symbol and rim suit.",
    ),
    Rule(
        id="es.tyre.marks",
        title="The tyre still bears its approval mark",
        subject="position",
        # asked of heavy vehicles; of a light one judged only where somebody read the sidewall
        when=~LIGHT | first_known(MARK | ~MARK, constant(False)),
        check=MARK,
        unseen_before=SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("rgv", "annex VII 4"),
        advice="Renew the tyre: the marks that the law asks for must stay legible.",
    ),
    Rule(
        id="es.tyre.stud_protrusion",
        title="Studs do not stand out further than allowed",
        subject="position",
        when=first_known(field("tyre.studded"), constant(False)),
        check=field("tyre.stud_protrusion") <= parameter("es.tyre.stud_protrusion"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("rgv", "annex VII 5"),
        advice="Fit a tyre whose studs are rounded and stand out less.",
    ),
]
