"""Austrian law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Node, Rule, any_of, constant, every, field, first_known, parameter, some

STUDS_SEEN = date(2014, 10, 23)
"""Day of the page that tells what holds for studs; their start is not in the sources."""

CATEGORY = field("vehicle.category")
tread = field("tyre.tread_depth_main_grooves")
RADIAL = field("tyre.construction").equals("radial")
STUDDED = field("tyre.studded")
# An exception counts only where somebody looked: not known is not slow.
SLOW = first_known(field("vehicle.design_speed") <= parameter("at.tread.slow_speed"), constant(False))

WINTER_MARK = field("tyre.mud_snow") | field("tyre.snowflake")
# Studs are asked of a tyre with a winter mark; of another one only where somebody saw it.
LOOKED = first_known(STUDDED | ~STUDDED, first_known(WINTER_MARK, constant(False)))
SEEN = first_known(STUDDED, constant(False))
WINTER_TREAD = (tread >= parameter("at.winter.min_depth_diagonal")) | (
    RADIAL & (tread >= parameter("at.winter.min_depth_radial"))
)
WINTER_TREAD_LORRY = (tread >= parameter("at.winter.min_depth_heavy_diagonal")) | (
    RADIAL & (tread >= parameter("at.winter.min_depth_heavy_radial"))
)
CARS = CATEGORY.one_of("M1", "N1")
SEASON = parameter("at.winter.season")
axle = field("axle.number")
AXLES = ("first", "second", "third", "fourth")
WINTER_ROAD = first_known(field("event.winter_road"), parameter("at.winter.assumed"))


def _an_axle(holds: Node) -> Node:
    """Return the condition that it holds of all wheels of one axle; axles beyond these count as one."""
    here = [axle.equals(number) for number, _ in enumerate(AXLES, 1)]
    return any_of(*(some(each) & every(~each | holds) for each in (*here, axle > len(AXLES))))


RULES = [
    Rule(
        id="at.tyre.tread_depth",
        title="Tread in the middle of the tyre is not below the legal minimum",
        subject="position",
        when=CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4") & ~SLOW,
        check=tread >= parameter("at.tread.min_depth"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("kdv", "§ 4(4) no. 1"),
        supersedes=("eu.tyre.tread_depth",),
        advice="Renew the tyre.",
    ),
    Rule(
        id="at.tyre.tread_depth_heavy",
        title="Tread of a vehicle above 3500 kg is not below its own minimum",
        subject="position",
        when=CATEGORY.one_of("N2", "N3", "M3", "O3", "O4") & ~SLOW,
        check=tread >= parameter("at.tread.min_depth_heavy"),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("kdv", "§ 4(4) no. 2"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="at.tyre.tread_depth_heavy_car",
        title="Tread of a car or minibus that is above 3500 kg is not below the minimum of heavy vehicles",
        subject="position",
        when=CATEGORY.one_of("M1", "M2") & ~SLOW,
        check=(tread >= parameter("at.tread.min_depth_heavy"))
        | (field("vehicle.gross_mass") <= parameter("at.tread.heavy_mass")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("kdv", "§ 4(4) no. 2"),
        advice="Renew the tyre, or read the gross mass in the papers.",
    ),
    Rule(
        id="at.tyre.tread_depth_motorcycle",
        title="Tread on a two-wheeler that is no moped is not below the general minimum",
        subject="position",
        when=CATEGORY.equals("L") & ~SLOW,
        check=(tread >= parameter("at.tread.min_depth"))
        | (field("vehicle.design_speed") <= parameter("at.tread.moped_speed")),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("kdv", "§ 4(4) no. 1"),
        advice="Renew the tyre, or read in the papers whether it is a moped.",
    ),
    Rule(
        id="at.tyre.winter_road",
        title="On a winter road the tyre of a car or light van is a winter tyre",
        subject="position",
        when=CARS & SEASON & WINTER_ROAD,
        check=WINTER_MARK,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tirol", "on KFG § 102(8a)"),
        advice="Fit winter tyres; chains may stand in only where snow or ice covers the road without break.",
    ),
    Rule(
        id="at.tyre.winter_road_tread",
        title="On a winter road the tread of a car or light van is deep enough to count as a winter tyre's",
        subject="position",
        when=CARS & SEASON & WINTER_ROAD,
        check=WINTER_TREAD,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("ministry", "on KDV § 4(5)"),
        advice="Renew the tyre; chains may stand in only where snow or ice covers the road without break.",
    ),
    Rule(
        id="at.tyre.winter_season",
        title="In the winter months the tyre of a car or light van is a winter tyre",
        subject="position",
        when=CARS & SEASON,
        check=WINTER_MARK,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("tirol", "on KFG § 102(8a)"),
        advice="Offer winter tyres: they are a duty from November to mid-April when the road is wintry.",
    ),
    Rule(
        id="at.tyre.winter_tread",
        title="In the winter months a winter tyre has the tread that makes it count as one",
        subject="position",
        when=CARS & SEASON & WINTER_MARK,
        check=WINTER_TREAD,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("ministry", "on KDV § 4(5)"),
        advice="Tell the driver: with less tread it counts as a summer tyre, not allowed on a winter road.",
    ),
    Rule(
        id="at.vehicle.winter_lorry",
        title="In the winter months a driven axle of a lorry has winter tyres",
        subject="vehicle",
        when=CATEGORY.one_of("N2", "N3") & SEASON,
        check=_an_axle(field("axle.driven") & WINTER_MARK & WINTER_TREAD_LORRY),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tirol", "on KFG § 102(8a)"),
        advice="Fit winter tyres to all wheels of at least one driven axle, whatever the road.",
    ),
    Rule(
        id="at.vehicle.winter_bus",
        title="In the winter months a driven axle of a bus has winter tyres",
        subject="vehicle",
        when=CATEGORY.one_of("M2", "M3") & parameter("at.winter.bus_season"),
        check=_an_axle(field("axle.driven") & WINTER_MARK),
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tirol", "on KFG § 102(8a)"),
        advice="Fit winter tyres to all wheels of at least one driven axle, whatever the road.",
    ),
    Rule(
        id="at.axle.winter_mixed",
        title="In the winter months no driven axle of a heavy vehicle mixes winter and other tyres",
        subject="axle",
        when=CATEGORY.one_of("M2", "M3", "N2", "N3") & SEASON & field("axle.driven"),
        check=every(WINTER_MARK) | ~some(WINTER_MARK),
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("tirol", "on KFG § 102(8a)"),
        advice="See that at least one driven axle has winter tyres on all its wheels.",
    ),
    Rule(
        id="at.vehicle.chains_aboard",
        title="In the winter months a heavy vehicle carries snow chains for its drive wheels",
        subject="vehicle",
        when=CATEGORY.one_of("M2", "M3", "N2", "N3") & parameter("at.winter.chain_season"),
        # said as a denial: wheels are counted, so a margin would mean nothing
        check=~(field("vehicle.chains_aboard") < parameter("at.winter.chains")),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("kfg", "§ 102(9)"),
        advice="Put chains for two drive wheels aboard; scheduled buses and vehicles that cannot take chains "
        "need none.",
    ),
    Rule(
        id="at.tyre.studs_season",
        title="From June to September the tyre has no studs",
        subject="position",
        when=~parameter("at.studs.season") & LOOKED,
        check=~STUDDED,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("season-told", "KDV § 4(5) no. 2(c)"),
        advice="Fit tyres without studs, unless the governor of the Land allows them there and then.",
    ),
    Rule(
        id="at.tyre.studs_vehicle",
        title="A motor vehicle with studded tyres is not above the mass allowed for them",
        subject="position",
        when=CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3") & SEEN,
        check=field("vehicle.gross_mass") <= parameter("at.studs.vehicle_mass"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("tirol", "studs, point e"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="at.tyre.studs_trailer",
        title="An axle of a trailer with studded tyres is not above the mass allowed for them",
        subject="position",
        when=CATEGORY.one_of("O1", "O2", "O3", "O4") & SEEN,
        check=field("axle.permitted_mass") <= parameter("at.studs.trailer_axle"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("tirol", "studs, point e"),
        advice="Fit tyres without studs.",
    ),
    Rule(
        id="at.vehicle.studs_all",
        title="Where one wheel has studs, all have",
        subject="vehicle",
        when=some(SEEN),
        check=every(STUDDED),
        unseen_before=STUDS_SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("season-told", "KDV § 4(5)"),
        advice="Fit studded tyres to all wheels, and to a trailer's too, or to none.",
    ),
    Rule(
        id="at.vehicle.stud_sign",
        title="A vehicle with studded tyres bears the sign for them",
        subject="vehicle",
        when=some(SEEN),
        check=field("vehicle.stud_sign"),
        unseen_before=STUDS_SEEN,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("season-told", "KDV § 4(5)"),
        advice="Put the sign on the rear; then 80 km/h on roads and 100 km/h on motorways are the most.",
    ),
    Rule(
        id="at.tyre.stud_protrusion",
        title="The studs do not stand out further than allowed",
        subject="position",
        when=SEEN,
        check=field("tyre.stud_protrusion") <= parameter("at.studs.protrusion"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("tirol", "studs, point d"),
        advice="Renew the tyre.",
    ),
]
