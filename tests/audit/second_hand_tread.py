"""Rules on the depth of tread, written a second time from their clauses: see ``second_hand``."""

from __future__ import annotations

from datetime import date, timedelta

from second_hand_words import (
    Row,
    Told,
    Truth,
    Vehicle,
    among,
    each_wheel,
    easter,
    every,
    in_season,
    judged,
    least,
    most,
    opposite,
    some,
    told,
)

INCH = 25.4


def de_tread_depth(vehicle: Vehicle, on: date) -> Told:
    """StVZO section 36(3), sentences 3 and 4: motor vehicles and trailers need 1.6 mm in the main grooves.

    Two-wheelers have rules of their own here, as mopeds and small motorcycles do with less.
    """
    return each_wheel(
        vehicle,
        lambda row: judged(
            opposite(among(row, "L")), least(row.get("tyre_tread_depth_main_grooves_mm"), 1.6)
        ),
    )


def de_tread_depth_small(vehicle: Vehicle, on: date) -> Told:
    """StVZO section 36(3), last sentence: 1 mm does for mopeds, small and light motorcycles.

    No two-wheeler may have less; that greater ones need more is another rule.
    """
    return each_wheel(
        vehicle, lambda row: judged(among(row, "L"), least(row.get("tyre_tread_depth_main_grooves_mm"), 1.0))
    )


def gb_tread_depth(vehicle: Vehicle, on: date) -> Told:
    """Construction and Use Regulations 1986, reg 27(4)(d) to (f): 1.6 mm in the central three quarters.

    Passenger vehicles of up to eight seats beside the driver's that are no motorcycles, goods
    vehicles and trailers up to 3500 kg.
    """
    return each_wheel(
        vehicle,
        lambda row: judged(
            among(row, "M1", "N1", "O1", "O2"), least(row.get("tyre_tread_depth_main_grooves_mm"), 1.6)
        ),
    )


def us_commercial(row: Row) -> Truth:
    """49 CFR 390.5: rated at 4536 kg (10,001 lb) or more, or a bus for more than 15 with the driver.

    From nine people on a bus is commercial too where they pay, which the rows do not tell.
    Cars and motorcycles are taken as private.
    """
    kind = opposite(among(row, "L", "M1"))
    heavy = some(least(row.get("vehicle_gross_mass_kg"), 4536), among(row, "M3", "N3", "O4"))
    seats = row.get("vehicle_passenger_seats")
    crowded: Truth = True if seats is not None and seats >= 15 else None
    return every(
        kind,
        some(every(heavy, opposite(among(row, "N1", "O1", "O2"))), every(among(row, "M2", "M3"), crowded)),
    )


def us_tread_depth_front(vehicle: Vehicle, on: date) -> Told:
    """49 CFR 393.75(b): front wheels of a bus, truck or truck tractor have 4/32 in in a major groove."""
    return each_wheel(
        vehicle,
        lambda row: judged(
            every(row["axle_number"] == 1, us_commercial(row), among(row, "M2", "M3", "N1", "N2", "N3")),
            least(row.get("tyre_tread_depth_main_grooves_mm"), 4 * INCH / 32),
        ),
    )


def us_tread_depth_other(vehicle: Vehicle, on: date) -> Told:
    """49 CFR 393.75(c): all wheels that (b) is not about have 2/32 in in a major groove."""

    def judge(row: Row) -> str:
        front = every(row["axle_number"] == 1, among(row, "M2", "M3", "N1", "N2", "N3"))
        return judged(
            every(us_commercial(row), opposite(front)),
            least(row.get("tyre_tread_depth_main_grooves_mm"), 2 * INCH / 32),
        )

    return each_wheel(vehicle, judge)


def jp_tread_depth(vehicle: Vehicle, on: date) -> Told:
    """Detail notice No. 619, article 167(4)(ii): 1.6 mm at every part of the grooves over the full width.

    Four wheels and more; motor vehicles below 40 km/h are outside, as article 89 words it.
    """

    def judge(row: Row) -> str:
        whole = least(row.get("tyre_tread_depth_whole_tread_mm"), 1.6)
        main = least(row.get("tyre_tread_depth_main_grooves_mm"), 1.6)
        # the main grooves are a part of all grooves: they can only show that it fails
        kept = False if main is False else whole
        slow = told(opposite(least(row.get("vehicle_design_speed_km_h"), 40)))
        motor = not told(among(row, "O1", "O2", "O3", "O4"))
        return judged(every(opposite(among(row, "L")), not (slow and motor)), kept)

    return each_wheel(vehicle, judge)


def au_tread_depth(vehicle: Vehicle, on: date) -> Told:
    """Australian Light Vehicle Standards Rules 2015, tyre tread: 1.5 mm up to 4.5 t, in all main grooves."""
    return each_wheel(
        vehicle,
        lambda row: judged(
            some(most(row.get("vehicle_gross_mass_kg"), 4500), among(row, "L", "N1", "O1", "O2")),
            least(row.get("tyre_tread_depth_main_grooves_mm"), 1.5),
        ),
    )


def at_tread_depth_heavy(vehicle: Vehicle, on: date) -> Told:
    """KDV 1967 section 4(4) No 2: 2 mm above 3500 kg, where more than 25 km/h can be driven.

    Cars and small buses, which may lie on both sides of 3500 kg, have a rule of their own.
    """

    def judge(row: Row) -> str:
        slow = told(most(row.get("vehicle_design_speed_km_h"), 25))
        heavy = among(row, "M3", "N2", "N3", "O3", "O4")
        return judged(every(heavy, not slow), least(row.get("tyre_tread_depth_main_grooves_mm"), 2.0))

    return each_wheel(vehicle, judge)


def no_winter_tread_depth(vehicle: Vehicle, on: date) -> Told:
    """Forskrift om bruk av kjoretoy 1-4 No 1 a: 3 mm from 1 November to the first Sunday after Easter Monday.

    In the three northern counties from 16 October to 30 April; the rows do not tell where.
    Vehicles built for more than 30 km/h; that heavy ones need 5 mm is another rule.
    """
    end = easter(on.year) + timedelta(days=7)
    south = in_season(on, (11, 1), (end.month, end.day))
    north = in_season(on, (10, 16), (4, 30))
    season = south if south == north else None

    def judge(row: Row) -> str:
        slow = told(most(row.get("vehicle_design_speed_km_h"), 30))
        known = None if row.get("vehicle_category") is None else True
        deep = least(row.get("tyre_tread_depth_main_grooves_mm"), 3.0)
        return judged(every(known, not slow), some(deep, opposite(season)))

    return each_wheel(vehicle, judge)
