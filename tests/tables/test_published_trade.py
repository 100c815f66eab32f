"""Every table beside valves, loads and torques against what was published, the publication named beside."""

from __future__ import annotations

import math

import pytest

from stemlore.errors import NotInTableError
from stemlore.provenance import Grade
from stemlore.tables import Cell, table, table_names
from stemlore.units import convert, unit

INCH = 25.4

# One figure a table at least: table, keys, column, figure. The source stands above each.
PUBLISHED: list[tuple[str, tuple[str | int, ...], str, Cell]] = [
    # JIS D 9422, annex A: core thread 5.330 / 4.872 / 4.566, 36 threads per inch
    ("valve_threads", ("CTV5-36", "JIS D 9422"), "pitch_diameter_mm", 4.872),
    ("valve_threads", ("CTV8-32", "JIS D 9422"), "threads_per_inch", 32),
    # GB 9765-2009, list of changes: minor diameter of 5V2 from 4.200 to 4.300
    ("valve_threads", ("5V2", "GB 9765-1997"), "external_minor_max_mm", 4.2),
    ("valve_threads", ("5V2", "GB 9765-2009"), "external_minor_max_mm", 4.3),
    # ISO 9413:2012, table beside figures 87 to 90
    ("grommets", ("B 08",), "valve_hole_mm", 20.5),
    ("grommets", ("B 04",), "outer_diameter_max_mm", 19.0),
    # note of a farm supplier: small hole .453 or 29/64 in
    ("designation_equivalence", ("TR13", "trade name of the hole"), "equivalent", ".453 in (29/64 in)"),
    # truck tyre service manual, p. 27
    ("service_parts", ("truck clamp-in", "mounting", "core"), "strength", "must"),
    # JIS D 4218:2021, table 3
    ("rim_contours", ("14 to 21", "4 1/2J and wider"), "well_depth_min_mm", 17.3),
    ("rim_contours", ("14 to 21", "4 1/2J and wider"), "well_position_max_mm", 45.0),
    ("rim_contours", ("16", "6K and wider"), "flange_radius_min_mm", 10.5),
    ("rim_flanges", ("J", "JIS D 4218:2021"), "height_mm", 17.5),
    # wheel lexicon: CH has the flat hump outside, the round one inside
    ("hump_marks", ("CH",), "outer_side", "flat hump"),
    # GB/T 13202-2015, clause 4
    ("rim_symbols", ("DH",), "meaning", "diameter over the hump"),
    # GOST 10410-82, table 1
    ("rim_widths", ("W10",), "width_mm", 254.0),
    ("rim_widths", ("W10",), "tolerance_mm", 2.4),
    # a tyre maker's General Technical Information, effective 2011-02
    ("tyre_rims", ("315/80R22.5",), "approved_rims", "8.25, 9.00, 9.75"),
    ("tyre_rims", ("11R22.5",), "dual_spacing_min_mm", 317.5),
    # glossary of a tyre service: 205/55 R 16 on 5 1/2 to 7 1/2 in
    ("tyre_rims", ("205/55R16",), "rim_width_min_in", 5.5),
    ("tyre_rims", ("205/55R16",), "rim_width_max_in", 7.5),
    # a tyre retailer's list of measuring rims
    ("tyre_rims", ("P225/45R17",), "measuring_rim_in", 7.5),
    # Russian operating rules, annex 17, after GOST 10409
    ("rim_runout", ("rim", "truck, rims 9.0-20 to 10.0-24"), "radial_max_mm", 5.0),
    # 29 CFR 1910.177(d)(3)(i): 150 percent
    ("valve_guidelines", ("restraint", "large rim wheels", "strength"), "value", 150.0),
    # GB 1795 against JIS D 4211: pin above the stem
    ("valve_test_limits", ("GB 1795", "pin above the end of the stem"), "value_max", 0.25),
    ("valve_test_limits", ("JIS D 4211:1994", "pin above the end of the stem"), "value_max", 0.05),
    # catalogue record of ISO 10475:1992
    ("valve_standards", ("ISO 10475",), "relation", "withdrawn, absorbed by ISO 9413:1998"),
    # a trade newspaper of 2008-06-23 on the first recall
    ("valve_failures", ("recall", "08T-018"), "count", 6_000_000),
    # chassis textbook of 2009, p. 290, and a tyre maker's rows by standard
    ("load_pressure", ("ETRTO standard load", 81, 200), "load_kg", 385.0),
    ("load_pressure", ("ETRTO standard load", 85, 190), "load_kg", 415.0),
    ("load_pressure", ("ETRTO extra load", 91, 210), "load_kg", 475.0),
    ("load_pressure", ("JATMA standard load", 87, 200), "load_kg", 490.0),
    # load chart in a motor-home manual: LT235/85R16 E, 80 psi, 3042 lb
    ("load_pressure_psi", ("LT235/85R16", "E", 80), "printed", "3042 lb"),
    # the same textbook, p. 291; UN R75, table 3
    ("load_speed", (240,), "v_percent", 91.0),
    ("load_speed", (300,), "y_percent", 85.0),
    ("load_speed_motorcycle", (240,), "v_percent", 85.0),
    # retailers' and dealers' lists
    ("load_ranges", ("E", "LT-metric"), "ply_rating", 10),
    # the textbook: 250 kPa; ETRTO Standards Manual, section P: exponent 0.80, 0.65 with a star
    ("reference_pressures", ("ETRTO passenger", "standard load"), "pressure_kpa", 250.0),
    ("reference_pressures", ("ETRTO passenger", "metric designation"), "exponent", 0.8),
    # the 2011 bulletin: diameters of a twin pair within a quarter of an inch
    ("dual_index", ("difference of diameter in a twin pair, radial",), "value", 6.35),
    # Directive 86/217/EEC, annex 2.1
    ("gauge_limits", (400,), "error_kpa", 16.0),
    # Tire Science and Technology 13(1), abstract: 1.5 psi a month at 32 degC
    ("pressure_loss", ("parked at 32 degC, tyres of 1985",), "loss_max_kpa", 10.342136),
    # quotations of the US fuel economy advice
    ("fuel_sensitivity", ("advice, older",), "percent_max", 0.3),
    # a maker's bulletin of 2009: 1 psi per 12 degF
    ("rules_of_thumb", ("pressure and temperature, one maker",), "step", 12.0),
    # 49 CFR 15.231(a)(2): five seconds
    (
        "monitoring_radio",
        ("transmission after triggering, at most", "United States, 47 CFR 15.231"),
        "value",
        5.0,
    ),
    # 49 CFR 571.138 S4.2(a): 25 per cent below the placard pressure
    (
        "monitoring_thresholds",
        ("49 CFR 571.138", "warning, share below the placard pressure, one to four tyres"),
        "value_max",
        25.0,
    ),
    # textbook on vehicle noise and vibration of 2010, table 16.1
    ("balance_grades", (14,), "tolerance_g", 10.0),
    # repair manual of an off-road car, 5.1.7: 2600 gf.mm, about 15 g
    ("balance_limits", ("imbalance that may stay", "off-road car"), "value_max_g", 15.0),
    # post of a tyre engineer of 1999
    ("tyre_dimensions", ("section width, at most", "passenger, US design guide"), "value", 104.0),
    # owner manual: compact spare at 420 kPa
    ("temporary_spare", ("pressure", "compact spare of one US make"), "value", 420.0),
    # shops on BS AU 159 of 2014: 6 mm
    ("repair_rules", ("greatest hole, car", "BS AU 159 of 2014"), "value_max", 6.0),
    # guidance of the Norwegian road authority: about 40 km
    ("retorque_guidance", ("Norwegian road authority",), "distance_min_km", 40.0),
    # ISO 6789:2003, type II class A
    (
        "measuring_tools",
        ("torque wrench", "ISO 6789:2003", "type II class A, above 10 N.m, either way"),
        "value",
        4.0,
    ),
    # 1976 atmosphere: 101.325 kPa and 288.15 K at sea level
    ("atmosphere", (0,), "pressure_kpa", 101.325),
    ("atmosphere", (0,), "temperature_k", 288.15),
]


@pytest.mark.parametrize(("name", "keys", "column", "figure"), PUBLISHED)
def test_figure_is_as_published(name: str, keys: tuple[str | int, ...], column: str, figure: Cell) -> None:
    found = table(name).lookup(*keys, column=column)
    assert found.value == figure
    assert found.citation.source is not None


def test_every_table_is_checked_against_a_publication() -> None:
    elsewhere = {"tubeless_valves", "valve_holes", "torques", "load_index", "speed_symbols"}
    assert {name for name, *_ in PUBLISHED} | elsewhere == set(table_names())


def test_a_key_that_is_absent_names_those_that_are_near() -> None:
    with pytest.raises(NotInTableError, match=r"295/80R22\.5"):
        table("tyre_rims").lookup("295/80R22")
    with pytest.raises(NotInTableError) as caught:
        table("load_index").lookup(190)
    assert set(caught.value.nearest) <= set(range(178, 181)) | {279}


# an altitude table of a tyre retailer, printed in feet and psi to a tenth; at 6000 ft it prints 11.7
@pytest.mark.parametrize(
    ("feet", "psi"),
    [(0, 14.7), (1000, 14.2), (2000, 13.7), (4000, 12.7), (5000, 12.2), (8000, 10.9), (10000, 10.1)],
)
def test_the_atmosphere_between_two_rows_is_that_of_a_printed_table(feet: int, psi: float) -> None:
    altitude = convert(float(feet), unit("ft"), unit("m"))
    low = int(altitude // 250) * 250
    column = table("atmosphere").lookup_map("pressure_kpa")
    under, over = column[low], column[low + 250]
    assert isinstance(under, float)
    assert isinstance(over, float)
    between = under * (over / under) ** ((altitude - low) / 250)
    assert convert(between, unit("kPa"), unit("psi")) == pytest.approx(psi, abs=0.051)


def test_atmosphere_falls_without_steps() -> None:
    pressures = list(table("atmosphere").lookup_map("pressure_kpa").values())
    assert pressures == sorted(pressures, reverse=True)  # type: ignore[type-var]
    assert len(pressures) == 21


# chassis textbook, p. 290: each cell is the index load times (p / 250 kPa) ^ 0.8, to the nearest 5 kg;
# the ETRTO Standards Manual, section P, prints the exponent
def test_cells_of_the_load_table_follow_the_printed_exponent() -> None:
    exponent = (
        table("reference_pressures").lookup("ETRTO passenger", "metric designation", column="exponent").value
    )
    assert isinstance(exponent, float)
    for row in table("load_pressure"):
        if row["standard"] != "ETRTO standard load" or row["pressure_kpa"] == 250:
            continue
        rated = table("load_index").lookup(int(str(row["load_index"]))).value
        assert isinstance(rated, float)
        load = rated * (int(str(row["pressure_kpa"])) / 250) ** exponent
        assert row["load_kg"] == 5 * math.floor(load / 5 + 0.5), row


def test_at_the_reference_pressure_a_tyre_bears_its_index() -> None:
    for row in table("load_pressure"):
        if row["pressure_kpa"] == 250 and row["standard"] == "ETRTO standard load":
            assert row["load_kg"] == table("load_index").lookup(int(str(row["load_index"]))).value


# the same textbook and an engineering page: straight from 100 at 210 to 91 at 240, and so on
@pytest.mark.parametrize(
    ("column", "start", "end", "least"),
    [("v_percent", 210, 240, 91), ("w_percent", 240, 270, 85), ("y_percent", 270, 300, 85)],
)
def test_load_falls_in_a_straight_line_with_speed(column: str, start: int, end: int, least: int) -> None:
    shares = table("load_speed").lookup_map(column)
    for speed in range(start, end + 1, 10):
        assert shares[speed] == pytest.approx(100 - (100 - least) * (speed - start) / (end - start))
    assert max(int(str(speed)) for speed in shares) == end


def test_flange_of_the_lists_lies_inside_the_tolerance_of_the_standard() -> None:
    # JIS D 4218:2021: J 17.5 +/- 1.0, K 20.0 +/- 1.0, B 14.5 +/- 1.0; lists print 17.3, 19.6, 14.0
    for flange, listed in (("J", 17.3), ("K", 19.6), ("B", 14.0)):
        standard, *others = [row for row in table("rim_flanges") if row["flange"] == flange]
        assert standard["edition"] == "JIS D 4218:2021"
        low, high = standard["height_min_mm"], standard["height_max_mm"]
        assert isinstance(low, float)
        assert isinstance(high, float)
        assert listed in [row["height_mm"] for row in others]
        assert low <= listed <= high


def test_widths_of_inch_rims_are_the_code_times_an_inch() -> None:
    # JIS D 4218:2021, table 3, note c; GOST 10410-82 rounds three of them to the millimetre
    for row in table("rim_widths"):
        digits = "".join(mark for mark in str(row["width_code"]) if mark.isdigit() or mark == ".").rstrip(".")
        if digits:
            assert row["width_mm"] == pytest.approx(float(digits) * INCH, abs=0.5), row


def test_contradictions_stand_as_rows_of_their_own() -> None:
    angles = {
        row["value"]
        for row in table("valve_guidelines")
        if (row["topic"], row["item"]) == ("bead breaking", "angle from the valve")
    }
    assert angles == {90.0, 180.0}  # workshop manuals of model years 2009 and 2005
    nuts = {
        row["strength"]: row["action"]
        for row in table("service_parts")
        if row["part"] == "nut" and row["event"] == "sensor removed"
    }
    assert {"allowed", "must"} == set(nuts)  # an electric car's manual of 2026 against trade press
    lubricant = [
        row for row in table("valve_guidelines") if row["item"] == "lubricant" and row["topic"] == "fitting"
    ]
    assert len(lubricant) == 2  # BS AU 50-3.8 says lubricate, the recall procedure of a van says dry
    opening = [
        row["value_min"] for row in table("valve_test_limits") if str(row["item"]).startswith("opening")
    ]
    assert sorted(opening) == [250.0, 275.0]  # type: ignore[type-var]  # GB 1795, SAE J1205


def test_bead_seating_ceiling_lets_40_psi_and_275_kpa_pass() -> None:
    # a tyre maker's safety list, item 9: 275 kPa, 2.75 bar, 40 psi
    ceiling = table("valve_guidelines").lookup("bead seating", "truck and bus", "ceiling", column="value")
    assert ceiling.citation.grade is Grade.READ
    limit = ceiling.value
    assert isinstance(limit, float)
    assert convert(40.0, unit("psi"), unit("kPa")) <= limit
    assert limit >= 275.0
    assert convert(40.1, unit("psi"), unit("kPa")) > limit


def test_forces_take_the_most_permissive_of_the_printed_figures() -> None:
    # SAE J1205: 40 kg (90 lb) to seat, 55 kg (125 lb) to pull out
    limits = table("valve_test_limits")
    seat = limits.lookup("SAE J1205", "force to seat, 11.3 mm hole", column="value_max").value
    pull = limits.lookup("SAE J1205", "force to pull out, both holes", column="value_min").value
    assert seat == pytest.approx(90 * 4.4482216152605)
    assert pull == pytest.approx(55 * 9.80665)


# Placards seen in a trailer manual: LT245/75R16 E at 80 psi, ST225/75R15 D at 65 psi.
def test_load_ranges_meet_the_ratings_of_valves() -> None:
    ranges, valves = table("load_ranges"), table("tubeless_valves")
    at_e = ranges.lookup("E", "LT-metric", column="pressure_kpa").value
    at_d = ranges.lookup("D", "LT-metric, LT-numeric, ST", column="pressure_kpa").value
    standard = valves.lookup("TR413", column="max_cold_pressure_kpa").value
    strong = valves.lookup("TR600HP", column="max_cold_pressure_kpa").value
    assert isinstance(at_e, float)
    assert isinstance(standard, float)
    assert at_e > standard
    assert at_e == strong
    assert isinstance(at_d, float)
    assert at_d <= standard


def test_the_wrong_reading_of_the_second_index_is_not_here() -> None:
    # 112/109 is 1120 and 1030 kg: 8 % less on twin wheels, not on trailers with two axles
    rows = [str(row["statement"]) for row in table("dual_index")]
    assert any("twin wheels" in statement for statement in rows)
    assert not any("two axles" in statement for statement in rows)
    loads = [table("load_index").lookup(index).value for index in (112, 109)]
    assert loads == [1120.0, 1030.0]
