"""Two-and-twenty rules written a second time, straight from the clauses and before a look at the packs.

Each function takes the rows of one vehicle, as they stand in a fleet frame, and the day, and
gives an outcome for each wheel, axle or the vehicle. Truth is three-valued: ``None`` where the
rows do not tell. Limits are the clause's own literals. An exception counts where it is told.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from second_hand_tread import (
    at_tread_depth_heavy,
    au_tread_depth,
    de_tread_depth,
    de_tread_depth_small,
    gb_tread_depth,
    jp_tread_depth,
    no_winter_tread_depth,
    us_tread_depth_front,
    us_tread_depth_other,
)
from second_hand_words import (
    Row,
    Told,
    Truth,
    Vehicle,
    among,
    axle_whole,
    axles_of,
    each_wheel,
    every,
    in_season,
    is_word,
    judged,
    later,
    least,
    most,
    opposite,
    place_of,
    since,
    some,
    span,
    two_tracks,
    vehicle_whole,
)

# kg that one tyre carries, by its load index: ISO 4000-1 annex, UN R54 annex 4
CARRIES = {
    30: 106, 31: 109, 32: 112, 33: 115, 34: 118, 35: 121, 36: 125, 37: 128, 38: 132, 39: 136, 40: 140,
    41: 145, 42: 150, 43: 155, 44: 160, 45: 165, 46: 170, 47: 175, 48: 180, 49: 185, 50: 190, 51: 195,
    52: 200, 53: 206, 54: 212, 55: 218, 56: 224, 57: 230, 58: 236, 59: 243, 60: 250, 61: 257, 62: 265,
    63: 272, 64: 280, 65: 290, 66: 300, 67: 307, 68: 315, 69: 325, 70: 335, 71: 345, 72: 355, 73: 365,
    74: 375, 75: 387, 76: 400, 77: 412, 78: 425, 79: 437, 80: 450, 81: 462, 82: 475, 83: 487, 84: 500,
    85: 515, 86: 530, 87: 545, 88: 560, 89: 580, 90: 600, 91: 615, 92: 630, 93: 650, 94: 670, 95: 690,
    96: 710, 97: 730, 98: 750, 99: 775, 100: 800, 101: 825, 102: 850, 103: 875, 104: 900, 105: 925, 106:
    950, 107: 975, 108: 1000, 109: 1030, 110: 1060, 111: 1090, 112: 1120, 113: 1150, 114: 1180, 115:
    1215, 116: 1250, 117: 1285, 118: 1320, 119: 1360, 120: 1400, 121: 1450, 122: 1500, 123: 1550, 124:
    1600, 125: 1650, 126: 1700, 127: 1750, 128: 1800, 129: 1850, 130: 1900, 131: 1950, 132: 2000, 133:
    2060, 134: 2120, 135: 2180, 136: 2240, 137: 2300, 138: 2360, 139: 2430, 140: 2500, 141: 2575, 142:
    2650, 143: 2725, 144: 2800, 145: 2900, 146: 3000, 147: 3075, 148: 3150, 149: 3250, 150: 3350, 151:
    3450, 152: 3550, 153: 3650, 154: 3750, 155: 3875, 156: 4000, 157: 4125, 158: 4250, 159: 4375, 160:
    4500, 161: 4625, 162: 4750, 163: 4875, 164: 5000, 165: 5150, 166: 5300, 167: 5450, 168: 5600, 169:
    5800, 170: 6000,
}  # fmt: skip
# km/h that a symbol stands for: UN R30 and R54, clause 2, speed categories
SPEED = {
    "F": 80, "G": 90, "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170,
    "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip


# --- winter and studs --------------------------------------------------------------------------


def de_winter_road(vehicle: Vehicle, on: date) -> Told:
    """StVO section 2(3a) with StVZO section 36(4) and (4a): on a winter road, winter tyres on all wheels.

    Since 2017-06-01 the alpine symbol; M+S tyres made up to 2017-12-31 count to 2024-09-30.
    Before, M+S. Not trailers; not single-track vehicles (since 2017); heavy vehicles and buses
    have a rule of their own.
    """

    def judge(row: Row) -> str:
        snowflake, mud_snow = row.get("tyre_snowflake"), row.get("tyre_mud_snow")
        if on < date(2017, 6, 1):
            motor = among(row, "M1", "N1", "L")
            kept = some(snowflake, mud_snow)
        else:
            motor = some(among(row, "M1", "N1"), every(among(row, "L"), two_tracks(vehicle)))
            old = every(mud_snow, opposite(since(row, "tyre_manufactured", date(2018, 1, 1))))
            kept = some(snowflake, every(on <= date(2024, 9, 30), old))
        return judged(every(motor, row.get("event_winter_road")), kept)

    return each_wheel(vehicle, judge)


def de_winter_road_centre(vehicle: Vehicle, on: date) -> Told:
    """The same clauses for the wheels in the middle of a vehicle of category L with more than one track."""
    wheels = de_winter_road(vehicle, on)
    middle = [row for row in vehicle if row["side"] == "centre"]
    told = [wheels[place_of(row)] for row in middle]
    some_middle = some(*(is_word(row, "axle_fitment", "centre") for row in vehicle))
    whole = vehicle_whole(vehicle)
    some_middle = some_middle if some_middle or whole else None
    road = vehicle[0].get("event_winter_road")
    duty = every(among(vehicle[0], "L"), two_tracks(vehicle), some_middle, road)
    fails = "fail" in told
    kept = False if fails else True if whole and set(told) == {"pass"} else None
    return {"vehicle": judged(duty, kept)}


def at_winter_lorry(vehicle: Vehicle, on: date) -> Told:
    """KFG 1967 section 102(8a): 1 November to 15 April, N2 and N3 have winter tyres on a driven axle.

    M+S or the snowflake; by KDV section 4(5) a worn one is none: 5 mm radial, 6 mm diagonal.
    """

    def winter(row: Row) -> Truth:
        marked = some(row.get("tyre_mud_snow"), row.get("tyre_snowflake"))
        depth = row.get("tyre_tread_depth_main_grooves_mm")
        diagonal = is_word(row, "tyre_construction", "diagonal")
        deep = some(least(depth, 6.0), every(opposite(diagonal), least(depth, 5.0)))
        return every(marked, deep)

    axles = []
    for _, rows in axles_of(vehicle):
        kept = every(*(winter(row) for row in rows))
        kept = None if kept and not axle_whole(rows) else kept
        axles.append(every(rows[0].get("axle_driven"), kept))
    if vehicle[0].get("vehicle_axle_count") != len(axles):
        axles.append(None)
    season = in_season(on, (11, 1), (4, 15))
    return {"vehicle": judged(every(season, among(vehicle[0], "N2", "N3")), some(*axles))}


def fi_studs(vehicle: Vehicle, on: date) -> Told:
    """Tieliikennelaki section 106(2): studs from 1 November to 31 March, else where weather or road ask."""
    season = in_season(on, (11, 1), (3, 31))
    return each_wheel(
        vehicle,
        lambda row: judged(
            True, some(opposite(row.get("tyre_studded")), season, row.get("event_winter_road"))
        ),
    )


# --- age ---------------------------------------------------------------------------------------


def gb_age(vehicle: Vehicle, on: date) -> Told:
    """Construction and Use Regulations, reg 27(1)(i) and (j) with (1A), since 2021-02-01: ten years.

    Front axle of goods vehicles above 3500 kg and of buses; on a minibus, of up to 16 seats
    beside the driver's, every wheel in single fitment. A front axle is a steered one before
    the middle. The date of retreading counts for a retread.
    """
    count = vehicle[0].get("vehicle_axle_count")

    def front(row: Row) -> Truth:
        if row["axle_number"] == 1:
            return True
        # a second steered axle may lie before the middle, the last one never
        return None if row.get("axle_steered") and row["axle_number"] != count else False

    def judge(row: Row) -> str:
        bus = among(row, "M2", "M3")
        small = most(row.get("vehicle_passenger_seats"), 16)
        single = opposite(is_word(row, "axle_fitment", "dual"))
        heavy = among(row, "M2", "M3", "N2", "N3")  # the front wheels of a minibus are single
        duty = some(every(heavy, front(row)), every(bus, small, single))
        first, last = span(row, "tyre_manufactured")
        kept: Truth = None
        if first is not None and on <= later(first, 10):
            kept = True
        elif last is not None and on > later(last, 10):
            kept = False if row.get("tyre_retread") is False else None
        return judged(duty, kept)

    return each_wheel(vehicle, judge)


def de_age_100(vehicle: Vehicle, on: date) -> Told:
    """9. Ausnahmeverordnung zur StVO section 3: tyres under six years on a light trailer with the permit."""

    def judge(row: Row) -> str:
        first, last = span(row, "tyre_manufactured")
        kept: Truth = None
        if first is not None and on < later(first, 6):
            kept = True
        elif last is not None and on >= later(last, 6):
            kept = False
        return judged(every(among(row, "O1", "O2"), row.get("vehicle_permit_100")), kept)

    return each_wheel(vehicle, judge)


# --- speed, load -------------------------------------------------------------------------------

TESTED = ("M1", "M2", "M3", "N1", "N2", "N3", "O3", "O4")


def eu_speed_symbol(vehicle: Vehicle, on: date) -> Told:
    """Directive 2014/45/EU annex I 5.2.3(a) with UN R142 5.2.3: the symbol covers the design speed.

    A snow tyre may be slower where its limit is shown to the driver: then this is not its duty.
    """

    def judge(row: Row) -> str:
        symbol, speed = row.get("tyre_speed_symbol"), row.get("vehicle_design_speed_km_h")
        fast = None if symbol is None or speed is None else SPEED[symbol] >= speed
        snow = some(row.get("tyre_mud_snow"), row.get("tyre_snowflake"))
        excepted = every(opposite(fast), snow, row.get("vehicle_tyre_speed_shown"))
        return judged(every(among(row, *TESTED), opposite(excepted)), fast)

    return each_wheel(vehicle, judge)


def _load(vehicle: Vehicle, fitment: str, column: str, wheels: int) -> Told:
    def judge(row: Row) -> str:
        index, mass = row.get(column), row.get("axle_permitted_mass_kg")
        kept = None if index is None or mass is None else CARRIES[index] * wheels >= mass
        return judged(every(among(row, *TESTED), is_word(row, "axle_fitment", fitment)), kept)

    return each_wheel(vehicle, judge)


def eu_load_single(vehicle: Vehicle, on: date) -> Told:
    """Directive 2014/45/EU annex I 5.2.3(a) with UN R142 5.2.2: two tyres carry the axle's mass."""
    return _load(vehicle, "single", "tyre_load_index", 2)


def eu_load_dual(vehicle: Vehicle, on: date) -> Told:
    """As before for four tyres: the second index, for twin wheels, times four."""
    return _load(vehicle, "dual", "tyre_load_index_dual", 4)


# --- monitoring --------------------------------------------------------------------------------


def eu_monitoring_required(vehicle: Vehicle, on: date) -> Told:
    """Regulation (EC) 661/2009 art. 9(2), 13(5)(a), then (EU) 2019/2144 art. 5(1), annex II C13 and C14.

    First registration from 2014-11-01 for M1, since 2022-07-06 for those up to 3500 kg without
    twin wheels alone; from 2024-07-07 for N1 without twin wheels and for M2, M3, N2, N3, O3, O4.
    """
    row = vehicle[0]
    twins = row.get("vehicle_twin_wheels")
    if twins is None:  # they can be seen on the rows of an axle
        twins = some(*(is_word(rows[0], "axle_fitment", "dual") for _, rows in axles_of(vehicle)))
        twins = twins if twins or vehicle_whole(vehicle) else None
    lone = opposite(twins)
    new_act = since(row, "vehicle_first_registration", date(2022, 7, 6))
    light = every(most(row.get("vehicle_gross_mass_kg"), 3500), lone)
    car = every(
        among(row, "M1"),
        since(row, "vehicle_first_registration", date(2014, 11, 1)),
        some(opposite(new_act), light),
    )
    heavy = some(among(row, "M2", "M3", "N2", "N3", "O3", "O4"), every(among(row, "N1"), lone))
    others = every(heavy, since(row, "vehicle_first_registration", date(2024, 7, 7)))
    return {"vehicle": judged(some(car, others), is_word(row, "vehicle_monitoring", "direct", "indirect"))}


# --- construction ------------------------------------------------------------------------------


def _alike(rows: Vehicle, kinds: Mapping[str, str], whole: bool) -> Truth:
    builds = [row.get("tyre_construction") for row in rows]
    if len({kinds.get(each, each) for each in builds if each is not None}) > 1:
        return False
    return True if whole and None not in builds else None


def gb_axle_construction(vehicle: Vehicle, on: date) -> Told:
    """Construction and Use Regulations 1986, reg 26(1): one type of structure on an axle.

    Reg 26(5): not while a passenger vehicle that is no bus runs on a temporary spare.
    """
    spare = any(row.get("tyre_temporary_use") for row in vehicle)
    return {
        f"axle {number}": judged(
            opposite(every(among(rows[0], "M1"), spare)), _alike(rows, {}, axle_whole(rows))
        )
        for number, rows in axles_of(vehicle)
    }


def _one_build(vehicle: Vehicle, duty: Truth) -> Told:
    fast = opposite(most(vehicle[0].get("vehicle_design_speed_km_h"), 40))
    alike = _alike(vehicle, {"bias_belted": "diagonal"}, vehicle_whole(vehicle))
    return {"vehicle": judged(every(duty, fast), alike)}


def de_vehicle_construction(vehicle: Vehicle, on: date) -> Told:
    """StVZO section 36(6), sentence 2: cars, and other motor vehicles up to 3.5 t beyond 40 km/h, are of one.

    All radial or all cross-ply; a bias-belted tyre is built cross-ply. In 2012 the clause was (2a).
    """
    row = vehicle[0]
    light = some(most(row.get("vehicle_gross_mass_kg"), 3500), among(row, "N1"))
    # M3 and N3 are never so light
    return _one_build(vehicle, some(among(row, "M1"), every(among(row, "M2", "N1", "N2"), light)))


def de_vehicle_construction_small(vehicle: Vehicle, on: date) -> Told:
    """The same clause, last sentence: motorcycles are free, but for mopeds, small and light ones.

    A three-wheeler is no motorcycle.
    """
    row = vehicle[0]
    kind = some(row.get("vehicle_light_two_wheeler"), two_tracks(vehicle))
    return _one_build(vehicle, every(among(row, "L"), kind))


RULES: Mapping[str, Callable[[Vehicle, date], Told]] = {
    "de.tyre.tread_depth": de_tread_depth,
    "de.tyre.tread_depth_small": de_tread_depth_small,
    "gb.tyre.tread_depth": gb_tread_depth,
    "us.tyre.tread_depth_front": us_tread_depth_front,
    "us.tyre.tread_depth_other": us_tread_depth_other,
    "jp.tyre.tread_depth": jp_tread_depth,
    "au.tyre.tread_depth": au_tread_depth,
    "at.tyre.tread_depth_heavy": at_tread_depth_heavy,
    "no.tyre.winter_tread_depth": no_winter_tread_depth,
    "de.tyre.winter_road": de_winter_road,
    "de.vehicle.winter_road_centre": de_winter_road_centre,
    "at.vehicle.winter_lorry": at_winter_lorry,
    "fi.tyre.studs": fi_studs,
    "gb.tyre.age": gb_age,
    "de.tyre.age_100": de_age_100,
    "eu.tyre.speed_symbol": eu_speed_symbol,
    "eu.tyre.load_single": eu_load_single,
    "eu.tyre.load_dual": eu_load_dual,
    "eu.vehicle.monitoring_required": eu_monitoring_required,
    "gb.axle.construction": gb_axle_construction,
    "de.vehicle.construction": de_vehicle_construction,
    "de.vehicle.construction_small": de_vehicle_construction_small,
}
