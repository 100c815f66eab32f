"""Jobs that cross borders: which law binds through which tie, worked out by hand from the clauses.

Every figure, mark and day here is written out from the clause that is named beside it, never read from a
parameter: a value that is altered in a pack must fail here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import pytest

from stemlore.model import Assembly, Axle, Condition, Event, Job, Sensor, Tyre, Vehicle, Wheel, Work
from stemlore.rules import Finding, Report, Tie, check, rulebook

REGISTERED, USED, WORKSHOP = Tie.REGISTERED_IN, Tie.USED_IN, Tie.WORKSHOP
SIDES = {"single": ("left", "right"), "dual": ("left outer", "left inner", "right inner", "right outer")}
SUMMER = {"mud_snow": False, "snowflake": False, "studded": False, "professional_off_road": False}
ALPINE = {**SUMMER, "mud_snow": True, "snowflake": True}
MUD_SNOW = {**SUMMER, "mud_snow": True}
STUDS = {**ALPINE, "studded": True}

CAR = {
    "category": "M1",
    "gross_mass": "1850 kg",
    "design_speed": "205 km/h",
    "first_registration": "2019-03-14",
    "manufactured": "2019-02-05",
    "monitoring": "direct",
    "monitoring_works": True,
}
VAN = {
    "category": "N1",
    "gross_mass": "2800 kg",
    "design_speed": "165 km/h",
    "first_registration": "2018-05-02",
    "monitoring": "none",
}
LORRY = {
    "category": "N3",
    "gross_mass": "18 t",
    "design_speed": "90 km/h",
    "first_registration": "2021-04-01",
}
BUS = {
    "category": "M3",
    "gross_mass": "18 t",
    "design_speed": "100 km/h",
    "first_registration": "2012-06-01",
    "passenger_seats": 49,
    "permit_100": True,
}


def job(
    vehicle: Mapping[str, Any],
    tyre: Mapping[str, Any],
    *,
    front: Mapping[str, Any] | None = None,
    axles: tuple[Mapping[str, Any], ...] = ({"driven": True, "steered": True}, {"driven": False}),
    size: str = "205/55 R16 91V",
    own: Mapping[str, Any] | None = None,
    event: Mapping[str, Any] | None = None,
) -> Job:
    """Return a job whose wheels are all alike, but for the front ones where told."""
    about = [{"fitment": "single", "steered": False, "permitted_mass": "950 kg", **each} for each in axles]
    return Job(
        vehicle=Vehicle(**vehicle, axles=tuple(Axle(number=at, **each) for at, each in enumerate(about, 1))),
        assemblies=tuple(
            Assembly(
                position=f"axle {number} {side}",
                tyre=Tyre(size=size, **{**tyre, **(front or {} if number == 1 else {})}),
                wheel=Wheel(rim_pieces="single_piece"),
                sensor=Sensor(fitted=vehicle.get("monitoring") == "direct"),
                condition=Condition(sound=True),
                work=Work(wheel_removed=True, tyre_demounted=False, tyre_renewed=False),
            )
            for number, each in enumerate(about, 1)
            for side in SIDES[each["fitment"]]
        ),
        event=Event(**(event or {})),
        own=own or {},
    )


def judged(job: Job, on: str, *, registered: str, used: str, workshop: str) -> Report:
    return check(job, rulebook(on=on, registered_in=registered, used_in=used, workshop=workshop))


def of(report: Report, rule: str) -> tuple[Finding, ...]:
    return tuple(each for each in report.findings if each.rule == rule)


def assert_found(report: Report, rule: str, outcome: str, tie: Tie, place: str) -> None:
    """Every finding of the rule has that outcome, and names its tie and place."""
    found = of(report, rule)
    assert found, f"{rule} does not bind"
    assert {each.outcome.word for each in found} == {outcome}, rule
    assert {(each.tie, each.place) for each in found} == {(tie, place)}, rule


def assert_absent(report: Report, *starts: str) -> None:
    """No rule of that id, nor of that beginning, binds."""
    assert [each.rule for each in report.findings if each.rule.startswith(starts)] == []


def national(report: Report) -> dict[str, set[str]]:
    """Return the ties through which each pack of a place binds; what binds the whole world is left out."""
    out: dict[str, set[str]] = {}
    for each in report.findings:
        if each.pack not in ("world", "un"):
            out.setdefault(each.pack, set()).add(each.tie.words)
    return out


def places(report: Report) -> set[tuple[str, str | None]]:
    return {(each.tie.words, each.place) for each in report.findings}


def failing(report: Report, *packs: str) -> set[str]:
    return {each.rule for each in report.failing if each.pack in packs}


def gaps(report: Report) -> list[tuple[Tie, str | None, str]]:
    return [(each.tie, each.place, each.note) for each in report.book.coverage.gaps]


# --- 1. German car, Austrian road, Swiss workshop --------------------------------------------------------


def german_car(**tyre: Any) -> Job:
    return job(
        CAR,
        {**SUMMER, "tread_depth_main_grooves": "5 mm", **tyre},
        event={"winter_road": True},
    )


def test_a_german_car_on_summer_tyres_on_a_winter_road_of_austria() -> None:
    report = judged(german_car(), "2026-01-15", registered="DE", used="AT", workshop="CH")
    # KFG 102(8a): winter tyres on all wheels in winter conditions, 1 November to 15 April
    assert_found(report, "at.tyre.winter_road", "fail", USED, "AT")
    # KDV 4(5): 4 mm for radial tyres; these have 5 mm
    assert_found(report, "at.tyre.winter_road_tread", "pass", USED, "AT")
    # KDV 4(4) no. 1: 1.6 mm up to 3.5 t
    assert_found(report, "at.tyre.tread_depth", "pass", USED, "AT")
    # StVZO 36(6) sentence 2: one construction a vehicle, of German vehicles wherever they go
    assert_found(report, "de.vehicle.construction", "pass", REGISTERED, "DE")
    # 2014/45/EU 5.2.3(h): the monitoring works; through the country of the test
    assert_found(report, "eu.vehicle.monitoring_works", "pass", REGISTERED, "DE")
    # StVO 2(3a) and StVZO 36(1), (3) bind on German roads; VTS 58(4) and 62(1) on Swiss ones
    assert_absent(report, "de.tyre.winter", "de.tyre.studs", "de.tyre.tread", "ch.")
    # Directive 89/459/EEC is carried over by the Austrian rule, which stands in for it
    assert_found(report, "eu.tyre.tread_depth", "not applicable", USED, "AT")
    assert failing(report, "at", "de", "eu") == {"at.tyre.winter_road", "at.tyre.winter_season"}
    assert {each.rule for each in report.holding} == {"at.tyre.winter_road"}
    # the Union's rules come along with both members, Switzerland brings none
    assert national(report) == {
        "de": {"registered in"},
        "eu": {"registered in", "used in"},
        "at": {"used in"},
    }
    assert report.book.coverage.complete


@pytest.mark.parametrize(
    ("day", "outcome"),
    [
        ("2025-10-31", "not applicable"),  # KFG 102(8a): the duty begins on 1 November
        ("2025-11-01", "fail"),
        ("2026-04-15", "fail"),  # and ends with 15 April
        ("2026-04-16", "not applicable"),
    ],
)
def test_the_austrian_duty_holds_on_the_days_of_its_season(day: str, outcome: str) -> None:
    report = judged(german_car(), day, registered="DE", used="AT", workshop="CH")
    assert_found(report, "at.tyre.winter_road", outcome, USED, "AT")


def test_a_winter_tyre_with_little_tread_is_none_in_austria_and_one_in_germany() -> None:
    car = german_car(**ALPINE, tread_depth_main_grooves="3.9 mm")
    austria = judged(car, "2026-01-15", registered="DE", used="AT", workshop="CH")
    # KDV 4(5): below 4 mm an M+S tyre no longer counts
    assert_found(austria, "at.tyre.winter_road", "pass", USED, "AT")
    assert_found(austria, "at.tyre.winter_road_tread", "fail", USED, "AT")
    germany = judged(car, "2026-01-15", registered="DE", used="DE", workshop="CH")
    # StVO 2(3a), StVZO 36(4): the alpine symbol; 36(3): 1.6 mm, the same in winter
    assert_found(germany, "de.tyre.winter_road", "pass", USED, "DE")
    assert_found(germany, "de.tyre.tread_depth", "pass", USED, "DE")
    assert_absent(germany, "at.")


# --- 2. Dutch van with studs -----------------------------------------------------------------------------


def dutch_van(**own: Any) -> Job:
    return job(
        VAN,
        {**STUDS, "tread_depth_main_grooves": "7 mm"},
        size="195/65 R16C 104/102T",
        own={"no.north": False, **own},
    )


@pytest.mark.parametrize(
    ("used", "day", "rule", "outcome"),
    [
        # forskrift om bruk 1-4 no. 3: from 1 November, in the north from 16 October
        ("NO", "2026-10-31", "no.tyre.studs", "fail"),
        ("NO", "2026-11-01", "no.tyre.studs", "pass"),
        # StVZO 36(1): studs are not allowed on public roads
        ("DE", "2026-11-10", "de.tyre.studs", "fail"),
        # Regeling voertuigen 5.3.27(8): no metal parts that can stand out
        ("NL", "2026-11-10", "nl.tyre.studs", "fail"),
        # TSFS 2009:19: 1 October to 15 April
        ("SE", "2026-10-01", "se.tyre.studs", "pass"),
        ("SE", "2026-09-30", "se.tyre.studs", "fail"),
        # Tieliikennelaki 106(2): 1 November to 31 March
        ("FI", "2026-11-01", "fi.tyre.studs", "pass"),
        # VTS 62(1): 1 November to 30 April
        ("CH", "2026-10-31", "ch.tyre.studs_season", "fail"),
        ("CH", "2026-11-01", "ch.tyre.studs_season", "not applicable"),
        # decree 341/2014 part F no. 11 and its successor: barred, in international traffic too
        ("CZ", "2026-11-10", "cz.tyre.studs", "fail"),
        # regulation of 31.12.2002, 11(7) no. 6: barred
        ("PL", "2026-11-10", "pl.tyre.studs", "fail"),
        # KDV 4(5) no. 2(c): barred from June to September
        ("AT", "2026-09-30", "at.tyre.studs_season", "fail"),
        ("AT", "2026-10-01", "at.tyre.studs_season", "not applicable"),
    ],
)
def test_a_dutch_van_with_studs_is_judged_where_it_drives(
    used: str, day: str, rule: str, outcome: str
) -> None:
    report = judged(dutch_van(), day, registered="NL", used=used, workshop="NL")
    assert_found(report, rule, outcome, USED, used)
    others = {each.rule for each in report.findings if ".studs" in each.rule and each.place != used}
    assert others == set(), "the studs of a road that it does not drive on are nobody's matter"


def test_a_dutch_van_with_studs_in_norway_stays_bound_to_the_dutch_register() -> None:
    report = judged(dutch_van(), "2026-11-10", registered="NL", used="NO", workshop="NL")
    # forskrift om bruk 1-4 no. 4 a: studs on all wheels; no. 1 a: 3 mm in the winter period
    assert_found(report, "no.vehicle.studs_all", "pass", USED, "NO")
    assert_found(report, "no.tyre.winter_tread_depth", "pass", USED, "NO")
    # Regeling voertuigen 5.3.27(9): one size an axle; (7): two tyres of index 104, 900 kg each, on 950 kg
    assert_found(report, "nl.axle.size", "pass", REGISTERED, "NL")
    assert_found(report, "nl.tyre.load_single", "pass", REGISTERED, "NL")
    # Norwegian vehicles alone are held to these
    assert_absent(report, "no.axle.properties", "no.tyre.load", "no.vehicle.retorque", "nl.tyre.studs")
    assert failing(report, "no", "nl", "eu") == set()
    # Norway's road brings none of the Union's rules, the Dutch register does
    assert national(report) == {"nl": {"registered in"}, "eu": {"registered in"}, "no": {"used in"}}


def test_in_the_north_of_norway_the_season_begins_earlier() -> None:
    south = judged(dutch_van(), "2026-10-16", registered="NL", used="NO", workshop="NO")
    north = judged(dutch_van(**{"no.north": True}), "2026-10-16", registered="NL", used="NO", workshop="NO")
    # forskrift om bruk 1-4 no. 3: Nordland, Troms and Finnmark from 16 October
    assert_found(south, "no.tyre.studs", "fail", USED, "NO")
    assert_found(north, "no.tyre.studs", "pass", USED, "NO")
    # of the workshop's country
    assert {each.place for each in of(north, "no.vehicle.retorque_told")} == {"NO"}
    assert {each.tie for each in of(north, "no.vehicle.retorque_told")} == {WORKSHOP}


# --- 3. Norwegian lorry in Sweden ------------------------------------------------------------------------


def lorry(**tyre: Any) -> Job:
    return job(
        LORRY,
        {"tread_depth_main_grooves": "8 mm", **SUMMER, **tyre},
        axles=(
            {"driven": False, "steered": True, "permitted_mass": "7 t"},
            {"driven": True, "fitment": "dual", "permitted_mass": "11 t"},
        ),
        size="315/80 R22.5 156/150L",
        event={"winter_road": False},
    )


@pytest.mark.parametrize(
    ("used", "day", "rule", "outcome"),
    [
        # 4 kap. 18 b §, since 2025-11-01: 10 November to 10 April whatever the road
        ("SE", "2026-11-09", "se.tyre.winter_mark_heavy", "not applicable"),
        ("SE", "2026-11-10", "se.tyre.winter_mark_heavy", "fail"),
        ("SE", "2026-11-12", "se.tyre.winter_mark_heavy", "fail"),
        ("SE", "2027-04-10", "se.tyre.winter_mark_heavy", "fail"),
        ("SE", "2027-04-11", "se.tyre.winter_mark_heavy", "not applicable"),
        # the season before: from 1 December, and on a winter road alone
        ("SE", "2024-12-01", "se.tyre.winter_mark_heavy", "not applicable"),
        # forskrift om bruk 1-4 no. 2: 15 November to 31 March
        ("NO", "2026-11-12", "no.tyre.winter_mark_heavy", "not applicable"),
        ("NO", "2026-11-15", "no.tyre.winter_mark_heavy", "fail"),
    ],
)
def test_a_norwegian_lorry_meets_the_swedish_season_before_its_own(
    used: str, day: str, rule: str, outcome: str
) -> None:
    report = judged(lorry(), day, registered="NO", used=used, workshop="NO")
    assert_found(report, rule, outcome, USED, used)
    assert_absent(report, "no.tyre.winter" if used == "SE" else "se.")


def test_a_norwegian_lorry_in_sweden_on_12_november() -> None:
    later = judged(lorry(), "2026-12-12", registered="NO", used="SE", workshop="NO")
    # kjoretoyforskriften 13-1 no. 2.2: two tyres of index 156, 4000 kg each, on 7 t;
    # four of 150, 3350 kg each, on 11 t
    front, rear = of(later, "no.tyre.load_single"), of(later, "no.tyre.load_dual")
    assert {(each.subject.axle, each.outcome.word) for each in front} == {(1, "pass"), (2, "not applicable")}
    assert {(each.subject.axle, each.outcome.word) for each in rear} == {(1, "not applicable"), (2, "pass")}
    assert {(each.tie, each.place) for each in (*front, *rear)} == {(REGISTERED, "NO")}
    report = judged(lorry(), "2026-11-12", registered="NO", used="SE", workshop="NO")
    # Norway's own season has not begun, and binds on Norwegian roads only
    assert failing(report, "no", "se", "eu") == {"se.tyre.winter_mark_heavy"}
    assert {str(each.subject) for each in report.failing if each.pack == "se"} == {
        *(f"axle 1 {side}" for side in SIDES["single"]),
        *(f"axle 2 {side}" for side in SIDES["dual"]),
    }
    # Sweden is of the Union; Norway's register and workshop are not
    assert {(each.tie, each.place) for each in report.findings if each.pack == "eu"} <= {(USED, "SE")}
    assert report.book.coverage.complete


# --- 4. British bus in France ----------------------------------------------------------------------------


def bus(**front: Any) -> Job:
    return job(
        BUS,
        {
            "tread_depth_main_grooves": "9 mm",
            "tread_depth_whole_tread": "9 mm",
            "date_code_legible": True,
            "retread": False,
            "manufactured": "2024-03-04",
            **SUMMER,
        },
        front=front,
        axles=(
            {"driven": False, "steered": True, "permitted_mass": "7 t"},
            {"driven": True, "fitment": "dual", "permitted_mass": "11 t"},
        ),
        size="295/80 R22.5 154/149M",
    )


def test_front_tyres_of_eleven_years_stop_a_british_bus_in_britain_and_not_in_france() -> None:
    old = bus(manufactured="2015-06-01")
    france = judged(old, "2026-07-15", registered="GB", used="FR", workshop="GB")
    assert_absent(france, "gb.tyre.age")  # regulation 27(1)(i) binds use on British roads
    # order of 2019, article on depth, para. 3: 1 mm; para. 4: no more than 5 mm apart on an axle
    assert_found(france, "fr.tyre.tread_depth_others", "pass", USED, "FR")
    assert_found(france, "fr.axle.tread_difference", "pass", USED, "FR")
    assert failing(france, "fr", "gb", "eu") == set()
    # regulation 26(1): one construction an axle; of vehicles of the British register
    assert_found(france, "gb.axle.construction", "pass", REGISTERED, "GB")
    # Great Britain left the Union on 2020-12-31, France did not
    assert {(each.tie, each.place) for each in france.findings if each.pack == "eu"} <= {(USED, "FR")}

    home = judged(old, "2026-07-15", registered="GB", used="GB", workshop="GB")
    # SI 2020/1178 reg 2(4): at most ten years by the date code on the front axle of a bus
    assert {
        (str(each.subject), each.outcome.word) for each in of(home, "gb.tyre.age") if each.subject.axle == 1
    } == {
        ("axle 1 left", "fail"),
        ("axle 1 right", "fail"),
    }
    assert {each.outcome.word for each in of(home, "gb.tyre.age") if each.subject.axle == 2} == {
        "not applicable"
    }
    assert {(each.tie, each.place) for each in of(home, "gb.tyre.age")} == {(USED, "GB")}
    assert_absent(home, "fr.")


@pytest.mark.parametrize(("registered", "workshop"), [("FR", "FR"), ("FR", "GB"), ("GB", "FR")])
def test_a_bus_of_any_register_is_held_to_the_age_limit_on_british_roads(
    registered: str, workshop: str
) -> None:
    report = judged(
        bus(manufactured="2015-06-01"), "2026-07-15", registered=registered, used="GB", workshop=workshop
    )
    assert {(each.rule, each.tie, each.place) for each in report.holding if each.pack == "gb"} == {
        ("gb.tyre.age", USED, "GB")
    }


# --- 5. Utah car in Quebec, Californian workshop ---------------------------------------------------------


def utah_car(**own: Any) -> Job:
    return job(
        {**CAR, "monitoring_works": False},
        {
            **SUMMER,
            "tread_depth_main_grooves": "5 mm",
            "tread_depth_two_adjacent_grooves": "5 mm",
            "pressure": "230 kPa",
        },
        axles=(
            {"driven": True, "steered": True, "cold_pressure_partial": "230 kPa"},
            {"driven": False, "cold_pressure_partial": "230 kPa"},
        ),
        own=own,
        event={"gauge_error": "1 psi", "pressure_recorded": True},
    )


def test_a_utah_car_with_dead_monitoring_in_quebec_from_a_californian_workshop() -> None:
    report = judged(utah_car(), "2026-01-20", registered="US-UT", used="CA-QC", workshop="US-CA")
    # 49 U.S.C. 30122(b): a repair business leaves no required part out of action
    assert_found(report, "us.vehicle.make_inoperative", "fail", WORKSHOP, "US-CA")
    # FMVSS 138 S7.3: fitted, being built after 2007-09-01
    assert_found(report, "us.vehicle.monitoring_required", "pass", REGISTERED, "US-UT")
    # 17 CCR 95550(d): gauge within 2 psi, pressures on the invoice
    assert_found(report, "us_ca.gauge.accuracy", "pass", WORKSHOP, "US-CA")
    assert_found(report, "us_ca.inflation.recorded", "pass", WORKSHOP, "US-CA")
    # R714-160-8(1)(g)(ii): 2/32 in; (1)(c): not below half of the maker's pressure
    assert_found(report, "us_ut.tyre.tread_depth", "pass", REGISTERED, "US-UT")
    assert_found(report, "us_ut.tyre.pressure", "pass", REGISTERED, "US-UT")
    # C-24.2 r. 32 s. 159(1): 1.6 mm
    assert_found(report, "ca_qc.tyre.tread_depth", "pass", USED, "CA-QC")
    # Highway Safety Code 440.1 asks winter tyres of vehicles registered in the province
    assert_absent(report, "ca_qc.tyre.winter")
    # what binds on Californian, Utah or American roads
    assert_absent(report, "us_ca.tyre", "us_ut.tyre.stud", "us.tyre", "us.axle", "us.wheel.runout")
    assert {each.rule for each in report.holding} == {"us.vehicle.make_inoperative"}
    assert report.book.coverage.complete


def test_what_was_dead_before_the_visit_is_not_the_workshop_s_breach() -> None:
    car = utah_car(**{"us.dead_on_arrival": True})
    report = judged(car, "2026-01-20", registered="US-UT", used="CA-QC", workshop="US-CA")
    # the agency's letter of 2011-11-22, first scenario
    assert_found(report, "us.vehicle.make_inoperative", "not applicable", WORKSHOP, "US-CA")


def test_in_a_canadian_workshop_nobody_must_keep_the_monitoring_alive() -> None:
    report = judged(utah_car(), "2026-01-20", registered="US-UT", used="CA-QC", workshop="CA-QC")
    # Motor Vehicle Safety Regulations: no duty to fit monitoring, nor a bar to switching it off
    assert_absent(report, "us.vehicle.make_inoperative", "us.sensor", "us_ca.")
    assert "us.vehicle.monitoring_required" in {each.rule for each in report.findings}


def test_a_canadian_car_in_an_american_workshop() -> None:
    """A Canadian car is not made to meet the American standard, so that nothing fitted for it can die."""
    told = utah_car(**{"us.uncertified": True})
    report = judged(told, "2026-01-20", registered="CA-QC", used="CA-QC", workshop="US-CA")
    # 49 U.S.C. 30122(b): parts fitted to meet a standard of that title
    assert_found(report, "us.vehicle.make_inoperative", "not applicable", WORKSHOP, "US-CA")
    assert_absent(report, "us.vehicle.monitoring_required")
    # 17 CCR 95550(d) asks for no American plate
    assert_found(report, "us_ca.inflation.recorded", "pass", WORKSHOP, "US-CA")


def test_the_same_car_registered_in_quebec_needs_winter_tyres_even_in_vermont() -> None:
    report = judged(utah_car(), "2026-01-20", registered="CA-QC", used="US-VT", workshop="CA-QC")
    # Highway Safety Code 440.1: 1 December to 15 March
    assert_found(report, "ca_qc.tyre.winter", "fail", REGISTERED, "CA-QC")
    assert_absent(report, "ca_qc.tyre.tread_depth", "us.vehicle")
    # 49 CFR 570.9(a): the federal pattern for the roads of the states
    assert_found(report, "us.tyre.tread_depth", "pass", USED, "US-VT")
    assert gaps(report) == [(USED, "US-VT", "there is no pack for US-VT; only US's own rules were checked")]
    assert not report.is_clean
    summer = judged(utah_car(), "2026-03-16", registered="CA-QC", used="US-VT", workshop="CA-QC")
    assert_found(summer, "ca_qc.tyre.winter", "not applicable", REGISTERED, "CA-QC")


# --- 6. Japanese car in Korea ----------------------------------------------------------------------------


def japanese_car() -> Job:
    return job(
        {**CAR, "monitoring": "none"},
        {
            **SUMMER,
            "tread_depth_main_grooves": "6 mm",
            "tread_depth_whole_tread": "6 mm",
            "manufactured": "2024-03-04",
        },
    )


def test_a_japanese_car_in_korea_is_never_clean_for_there_is_no_pack() -> None:
    report = judged(japanese_car(), "2026-11-20", registered="JP", used="KR", workshop="JP")
    assert gaps(report) == [(USED, "KR", "there is no pack for KR")]
    assert not report.is_clean
    # notice 619 Art. 89(4)(i): two tyres of load index 91, 615 kg each, on 950 kg
    assert_found(report, "jp.tyre.load_single", "pass", REGISTERED, "JP")
    # Art. 167(4)(ii) binds on Japanese roads
    assert_absent(report, "jp.tyre.tread", "jp.tyre.cord", "jp.tyre.cut")
    assert failing(report, "jp") == set()


def test_the_gap_alone_keeps_the_report_from_being_clean() -> None:
    """What is read by others is taken away, so that nothing but the gap is left."""
    home = judged(japanese_car(), "2026-11-20", registered="JP", used="JP", workshop="JP")
    assert_found(home, "jp.tyre.tread_depth", "pass", USED, "JP")
    abroad = judged(japanese_car(), "2026-11-20", registered="JP", used="KR", workshop="JP")
    assert gaps(home) == []
    unsettled = [
        {(each.rule, str(each.subject)) for each in (*report.failing, *report.unknown) if each.pack == "jp"}
        for report in (home, abroad)
    ]
    assert unsettled == [set(), set()]


# --- 7. French car in the Italian mountains, Italian car in the French ------------------------------------


def alpine_car(tyre: Mapping[str, Any], **own: Any) -> Job:
    return job(
        {**CAR, "monitoring": "indirect", "chains_aboard": 0},
        {**tyre, "tread_depth_main_grooves": "6 mm", "tread_depth_whole_tread": "6 mm", "speed_symbol": "V"},
        own=own,
    )


def test_a_french_car_on_an_italian_mountain_road() -> None:
    car = alpine_car(SUMMER, **{"fr.mountain_zone": True})
    report = judged(car, "2026-12-20", registered="FR", used="IT", workshop="FR")
    # directive of 2013-01-16: a frame for orders of the roads' owners, 15 November to 15 April;
    # no duty by itself
    assert_found(report, "it.tyre.winter_season", "fail", USED, "IT")
    assert {each.gravity.value for each in of(report, "it.tyre.winter_season")} == {"advise"}
    # D.P.R. 495/1992, appendix VIII: 1.60 mm
    assert_found(report, "it.tyre.tread_depth", "pass", USED, "IT")
    # D314-8 binds in the communes of the French list
    assert_absent(report, "fr.vehicle.winter", "fr.tyre.tread", "fr.tyre.studs")
    # circular 1049 of 2014 and the decree of 1994: of vehicles of the Italian register
    assert_absent(report, "it.tyre.winter_speed", "it.vehicle.construction", "it.axle")
    assert failing(report, "it", "fr", "eu") == {"it.tyre.winter_season"}
    for day, outcome in (("2026-11-14", "pass"), ("2026-11-15", "fail"), ("2027-04-16", "pass")):
        found = judged(car, day, registered="FR", used="IT", workshop="FR")
        assert_found(found, "it.tyre.winter_season", outcome, USED, "IT")


@pytest.mark.parametrize(
    ("tyre", "day", "outcome"),
    [
        (SUMMER, "2026-01-20", "fail"),  # D314-8 II 1: winter tyres, or chains for two drive wheels
        (ALPINE, "2026-01-20", "pass"),
        (MUD_SNOW, "2024-03-31", "pass"),  # D314-8 V: M+S alone to 2024-10-31
        (MUD_SNOW, "2024-11-01", "fail"),
        (SUMMER, "2026-04-01", "not applicable"),  # D314-8 IV: to 31 March
    ],
)
def test_an_italian_car_in_a_listed_commune_of_france(
    tyre: Mapping[str, Any], day: str, outcome: str
) -> None:
    car = alpine_car(tyre, **{"fr.mountain_zone": True})
    report = judged(car, day, registered="IT", used="FR", workshop="IT")
    assert_found(report, "fr.vehicle.winter_equipment", outcome, USED, "FR")
    # decree of 1994, Annex IV: one construction; the Italian register goes along
    assert_found(report, "it.vehicle.construction", "pass", REGISTERED, "IT")
    assert_absent(report, "it.tyre.winter_season", "it.tyre.tread")
    assert national(report)["fr"] == {"used in"}


# --- 8. One coach tyre, eight countries ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("used", "rule", "outcome"),
    [
        # regulation of 31.12.2002, 23(4) no. 3: 3 mm of a bus allowed 100 km/h
        ("PL", "pl.tyre.tread_depth_coach", "fail"),
        # KDV 4(4) no. 2: 2.0 mm above 3.5 t
        ("AT", "at.tyre.tread_depth_heavy", "fail"),
        # StVZO 36(3): 1.6 mm
        ("DE", "de.tyre.tread_depth", "pass"),
        # decree 341/2014 part F no. 5 and its successor: 1.6 mm
        ("CZ", "cz.tyre.tread_depth", "pass"),
        # VTS 58(4): 1.6 mm over the whole tread
        ("CH", "ch.tyre.tread_depth", "pass"),
        # order of 2019, para. 3: 1 mm
        ("FR", "fr.tyre.tread_depth_others", "pass"),
        # regulation 27(1)(g): 1.0 mm over three quarters of the breadth
        ("GB", "gb.tyre.tread_depth_heavy", "pass"),
        # forskrift om bruk 1-4 no. 1 a: 1.6 mm outside the winter
        ("NO", "no.tyre.tread_depth", "pass"),
    ],
)
def test_a_polish_coach_at_one_and_eight_tenths_of_a_millimetre(used: str, rule: str, outcome: str) -> None:
    coach = job(
        BUS,
        {
            **SUMMER,
            "tread_depth_main_grooves": "1.8 mm",
            "tread_depth_whole_tread": "1.8 mm",
            "retread": False,
            "regrooved": False,
        },
        axles=(
            {"driven": False, "steered": True, "permitted_mass": "7 t"},
            {"driven": True, "fitment": "dual", "permitted_mass": "11 t"},
        ),
        size="295/80 R22.5 154/149M",
    )
    report = judged(coach, "2026-07-15", registered="PL", used=used, workshop="PL")
    assert_found(report, rule, outcome, USED, used)
    if used != "PL":
        assert_absent(report, "pl.tyre.tread_depth_coach", "pl.tyre.retread_coach")
    # regulation of 31.12.2002, 11(7) no. 1: one construction an axle, of the Polish register
    assert_found(report, "pl.axle.construction", "pass", REGISTERED, "PL")
    depths = {each.place for each in report.findings if "tread_depth" in each.rule and each.pack != "world"}
    assert depths == {used}


# --- 9. Ontario car in New York --------------------------------------------------------------------------


def test_an_ontario_car_in_a_state_without_a_pack() -> None:
    car = job(
        {**CAR, "monitoring_works": False},
        {
            **STUDS,
            "tread_depth_main_grooves": "1.55 mm",
            "tread_depth_two_adjacent_grooves": "1.55 mm",
        },
        own={"ca_on.northern": False},
    )
    report = judged(car, "2026-01-20", registered="CA-ON", used="US-NY", workshop="CA-ON")
    assert gaps(report) == [(USED, "US-NY", "there is no pack for US-NY; only US's own rules were checked")]
    assert not report.is_clean
    # 49 CFR 570.9(a): 2/32 in, which is 1.5875 mm
    assert_found(report, "us.tyre.tread_depth", "fail", USED, "US-NY")
    # Reg. 625 s. 9: studs for addresses of Northern Ontario alone
    assert_found(report, "ca_on.tyre.studs", "fail", REGISTERED, "CA-ON")
    # Reg. 625 s. 3(1)(b), 1.5 mm, binds on Ontario's roads
    assert_absent(report, "ca_on.tyre.tread", "us.vehicle")
    home = judged(car, "2026-01-20", registered="CA-ON", used="CA-ON", workshop="CA-ON")
    assert_found(home, "ca_on.tyre.tread_depth", "pass", USED, "CA-ON")
    assert gaps(home) == []


# --- 10. Across the states -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("used", "day", "rule", "outcome"),
    [
        # 41-6a-1636(5)(a)(i): 15 October to 31 March
        ("US-UT", "2027-03-31", "us_ut.tyre.studs", "not applicable"),
        ("US-UT", "2027-04-01", "us_ut.tyre.studs", "fail"),
        # 75 Pa.C.S. 4525(c): 1 November to 15 April
        ("US-PA", "2027-04-15", "us_pa.tyre.studs", "not applicable"),
        ("US-PA", "2027-04-16", "us_pa.tyre.studs", "fail"),
        # CVC 27454: 1 November to 30 April
        ("US-CA", "2027-04-30", "us_ca.tyre.studs", "not applicable"),
        ("US-CA", "2027-05-01", "us_ca.tyre.studs", "fail"),
        # RCW 46.37.420(2): unlawful from 1 April to 1 November
        ("US-WA", "2027-03-31", "us_wa.tyre.studs", "not applicable"),
        ("US-WA", "2027-04-01", "us_wa.tyre.studs", "fail"),
    ],
)
def test_studs_of_a_virginian_car_on_the_roads_of_other_states(
    used: str, day: str, rule: str, outcome: str
) -> None:
    car = job(CAR, {**STUDS, "tread_depth_two_adjacent_grooves": "7 mm", "temporary_use": False})
    report = judged(car, day, registered="US-VA", used=used, workshop="US-VA")
    assert_found(report, rule, outcome, USED, used)
    # 19VAC30-70-130 no. 5: 2/32 in, at the inspection of Virginia's vehicles
    assert_found(report, "us_va.tyre.tread_depth", "pass", REGISTERED, "US-VA")
    assert {each.place for each in report.findings if ".studs" in each.rule} == {used}


@pytest.mark.parametrize(("registered", "bound"), [("US-WA", True), ("US-VA", False)])
def test_washington_s_limit_binds_its_own_vehicles_wherever_they_drive(registered: str, bound: bool) -> None:
    car = job(CAR, {**SUMMER, "tread_depth_two_adjacent_grooves": "1.5 mm", "temporary_use": False})
    for used in ("US-WA", "US-CA"):
        report = judged(car, "2027-01-15", registered=registered, used=used, workshop="US-CA")
        if bound:
            # RCW 46.37.425(4): 2/32 in, which is 1.5875 mm, of vehicles subject to registration in the state
            assert_found(report, "us_wa.tyre.tread_depth", "fail", REGISTERED, "US-WA")
        else:
            assert_absent(report, "us_wa.tyre.tread")
            # 19VAC30-70-130 no. 5: 2/32 in
            assert_found(report, "us_va.tyre.tread_depth", "fail", REGISTERED, "US-VA")
        # 49 CFR 570.9(a): 2/32 in, the pattern for the road
        assert_found(report, "us.tyre.tread_depth", "fail", USED, used)
        if used == "US-CA":
            # CVC 27465(b): 1/32 in, as it is told
            assert_found(report, "us_ca.tyre.tread_depth", "pass", USED, "US-CA")


# --- 11. Across Australia --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("used", "rule", "gravity"),
    [
        ("AU-WA", "au_wa.tyre.tread_depth", "hold"),  # reg. 270(2)(a)(ii): 1.5 mm in all main grooves
        ("AU-NSW", "au.tyre.tread_depth", "remedy"),  # the national model, told by others: 1.5 mm
    ],
)
@pytest.mark.parametrize(("depth", "outcome"), [("1.5 mm", "pass"), ("1.4 mm", "fail")])
def test_a_ute_of_new_south_wales(used: str, rule: str, gravity: str, depth: str, outcome: str) -> None:
    ute = job(VAN, {**SUMMER, "tread_depth_main_grooves": depth})
    report = judged(ute, "2026-11-20", registered="AU-NSW", used=used, workshop="AU-WA")
    assert_found(report, rule, outcome, USED, used)
    assert {each.gravity.value for each in of(report, rule)} == {gravity}
    told = "there is no pack for AU-NSW; only AU's own rules were checked"
    assert (REGISTERED, "AU-NSW", told) in gaps(report)
    assert ((USED, "AU-NSW", told) in gaps(report)) == (used == "AU-NSW")
    # Western Australia's rule stands in for the model where it binds, and nowhere else
    if used == "AU-WA":
        assert_found(report, "au.tyre.tread_depth", "not applicable", USED, "AU-WA")
    else:
        assert_absent(report, "au_wa.")
    assert not report.is_clean


# --- 12. Swiss law on a German car with studs ------------------------------------------------------------


def test_a_german_car_with_studs_in_switzerland() -> None:
    car = job(
        {**CAR, "stud_sign": False},
        {**STUDS, "tread_depth_main_grooves": "7 mm", "tread_depth_whole_tread": "7 mm"},
    )
    report = judged(car, "2026-01-15", registered="DE", used="CH", workshop="DE")
    # VTS 62(1): 1 November to 30 April; 61(2): on all wheels
    assert_found(report, "ch.tyre.studs_season", "not applicable", USED, "CH")
    assert_found(report, "ch.vehicle.studs_all", "pass", USED, "CH")
    # VTS 62(2): the sign with 80 at the rear
    assert_found(report, "ch.vehicle.stud_sign", "fail", USED, "CH")
    # StVZO 36(1) binds on German roads; VTS 58(3) vehicles of the Swiss register
    assert_absent(report, "de.tyre.studs", "ch.vehicle.construction", "ch.tyre.load")
    assert_found(report, "de.vehicle.construction", "pass", REGISTERED, "DE")
    assert failing(report, "ch", "de", "eu") == {"ch.vehicle.stud_sign"}
    assert places(report) <= {("used in", "CH"), ("registered in", "DE"), ("workshop in", "DE")}


# --- 12a. American car in British Columbia ---------------------------------------------------------------


def test_no_tread_passes_in_silence_where_the_minimum_was_not_read() -> None:
    bald = job(
        CAR, {**SUMMER, "tread_depth_main_grooves": "0.2 mm", "tread_depth_two_adjacent_grooves": "0.2 mm"}
    )
    report = judged(bald, "2026-07-15", registered="US-UT", used="CA-BC", workshop="US-UT")
    assert_found(report, "ca_bc.vehicle.tread_accepted", "unknown", USED, "CA-BC")
    # R714-160-8(1)(g)(ii): 2/32 in, at the inspection of Utah's vehicles, wherever they drive
    assert_found(report, "us_ut.tyre.tread_depth", "fail", REGISTERED, "US-UT")
    assert_absent(report, "us.tyre.tread_depth")
    assert not report.is_clean


# --- 13. Place not told, and a subdivision of a country with no law of its own below ----------------------


def test_a_tie_without_a_place_is_a_gap_and_bars_clean() -> None:
    report = check(german_car(), rulebook(on="2026-01-15", registered_in="DE", workshop="DE"))
    assert gaps(report) == [(USED, None, "the place was not given")]
    assert not report.is_clean
    assert_absent(report, "de.tyre.tread", "de.tyre.winter", "at.")
    assert_found(report, "de.vehicle.construction", "pass", REGISTERED, "DE")


# --- 14. Two sides of a change of law --------------------------------------------------------------------


OLD_MUD_SNOW = {**MUD_SNOW, "manufactured": "2016-10-10", "tread_depth_main_grooves": "6 mm"}


def changed(before: str, after: str, *, used: str) -> dict[str, str]:
    """Return what the road's law adds, ends and changes between two days, by rule."""
    old, new = (rulebook(on=day, registered_in="NL", used_in=used, workshop="NL") for day in (before, after))
    return {each.rule: each.how for each in old.compare(new).changes}


def test_the_day_on_which_mud_and_snow_alone_ceased_to_suffice_in_germany() -> None:
    car = job(CAR, OLD_MUD_SNOW, event={"winter_road": True})
    for day, outcome in (("2024-09-30", "pass"), ("2024-10-01", "fail")):
        report = judged(car, day, registered="NL", used="DE", workshop="NL")
        # StVZO 36(4a): M+S tyres made to 2017-12-31 counted to 2024-09-30
        assert_found(report, "de.tyre.winter_road", outcome, USED, "DE")
    told = changed("2024-09-30", "2024-10-01", used="DE")
    assert told["de.tyre.winter_road"] == "changed"
    assert told["de.tyre.winter_mark"] == "added"
    assert told["de.tyre.winter_mark_transition"] == "ended"
    assert {rule.partition(".")[0] for rule in told} == {"de"}
    assert changed("2024-09-29", "2024-09-30", used="DE") == {}


def test_the_same_tyre_two_months_later_in_sweden() -> None:
    car = job(CAR, OLD_MUD_SNOW, event={"winter_road": True})
    # TSFS 2019:44: M+S alone to 2024-11-30; the duty itself begins on 1 December, 4 kap. 18 a §
    for day, outcome in (
        ("2024-03-31", "pass"),
        ("2024-11-30", "not applicable"),
        ("2024-12-01", "fail"),
    ):
        report = judged(car, day, registered="NL", used="SE", workshop="NL")
        assert_found(report, "se.tyre.winter_mark", outcome, USED, "SE")
    told = changed("2024-11-30", "2024-12-01", used="SE")
    assert told["se.tyre.winter_mark"] == "changed"
    assert {rule.partition(".")[0] for rule in told} == {"se"}
    # on the day of Germany's change nothing changed in Sweden
    assert changed("2024-09-30", "2024-10-01", used="SE") == {}


def test_what_is_coming_to_both_roads_is_told_ahead() -> None:
    autumn = {
        used: rulebook(on="2024-09-01", registered_in="NL", used_in=used, workshop="NL").coming("2024-12-31")
        for used in ("DE", "SE", "FR")
    }

    def days(used: str, rule: str) -> list[str]:
        return [str(each.after) for each in autumn[used] if rule in {change.rule for change in each.changes}]

    assert days("DE", "de.tyre.winter_road") == ["2024-10-01"]
    assert days("SE", "se.tyre.winter_mark") == ["2024-12-01"]
    # D314-8 V: from 2024-11-01 the alpine symbol together with M+S
    assert days("FR", "fr.vehicle.winter_equipment") == ["2024-11-01"]
    assert days("FR", "de.tyre.winter_road") == days("DE", "fr.vehicle.winter_equipment") == []


def test_sweden_s_new_season_for_lorries_is_told_a_year_ahead_to_a_norwegian() -> None:
    book = rulebook(on="2025-06-01", registered_in="NO", used_in="SE", workshop="NO")
    turns = {str(each.after): {change.rule for change in each.changes} for each in book.coming("2026-05-31")}
    # 4 kap. 18 b §, in force 2025-11-01
    assert "se.tyre.winter_mark_heavy" in turns["2025-11-01"]
    (change,) = (
        each
        for each in book.compare(book.at("2025-11-01")).changed
        if each.rule == "se.tyre.winter_mark_heavy"
    )
    seasons = [
        [str(value.value) for value in side if value.name == "se.winter.heavy_season"]
        for side in (change.before, change.after)
    ]
    assert len(seasons[0]) == len(seasons[1]) == 1
    assert seasons[0] != seasons[1]


def test_the_union_s_rules_leave_a_british_car_with_2020() -> None:
    car = job(CAR, {**SUMMER, "tread_depth_main_grooves": "5 mm"})
    last = judged(car, "2020-12-31", registered="GB", used="FR", workshop="GB")
    first = judged(car, "2021-01-01", registered="GB", used="FR", workshop="GB")
    # withdrawal agreement: the transition ended with 2020-12-31; 2014/45/EU 5.2.3(d) bound till then
    assert_found(last, "eu.tyre.bulge", "pass", REGISTERED, "GB")
    assert_absent(first, "eu.tyre.bulge", "eu.axle", "eu.wheel")
    assert {"eu" in each.packs for each in first.book.coverage.ties if each.tie is USED} == {True}
    assert {each.how for each in last.book.compare(first.book).changes if each.rule == "eu.tyre.bulge"} == {
        "ended"
    }


def outcomes(found: Iterable[Finding]) -> set[str]:
    return {each.outcome.word for each in found}


def test_the_age_of_the_same_tyre_turns_on_british_roads_alone() -> None:
    old = bus(manufactured="2016-03-07")
    # SI 2020/1178: more than ten years by the date code fails; it came into force on 2021-02-01
    for day, expected in (("2026-03-07", "pass"), ("2026-03-08", "fail")):
        british = judged(old, day, registered="FR", used="GB", workshop="FR")
        front = [each for each in of(british, "gb.tyre.age") if each.subject.axle == 1]
        assert outcomes(front) == {expected}
        assert_absent(judged(old, day, registered="FR", used="FR", workshop="FR"), "gb.")
    told = rulebook(on="2021-01-31", registered_in="FR", used_in="GB", workshop="FR").coming("2021-02-01")
    rules = {change.rule for each in told for change in each.changes}
    assert "gb.tyre.age" in rules
