"""Reports as JSON."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stemlore.errors import DocumentError, LanguageError
from stemlore.interchange import (
    ReportRecord,
    read_job,
    report_from_json,
    report_schema,
    report_to_json,
    schema,
)
from stemlore.rules import Gravity, Outcome, Report, Subject, check, rulebook
from stemlore.rules.discovery import Discovery

pytestmark = pytest.mark.usefixtures("invented")

DAY = "2026-11-25"


def job(treads: dict[str, str | None], pressure: str | None = None, works: bool | None = None) -> str:
    return json.dumps(
        {
            "schema": "stemlore.job/1",
            "vehicle": {
                "axles": [{"number": 1, "fitment": "single"}, {"number": 2, "fitment": "single"}],
                "monitoring_works": works,
            },
            "event": {"on": "2026-11-20"},
            "assemblies": [
                {"position": position, "tyre": {"tread_depth_main_grooves": tread, "pressure": pressure}}
                for position, tread in treads.items()
            ],
        }
    )


WHEELS = ("axle 1 left", "axle 1 right", "axle 2 left", "axle 2 right")


def report(
    *treads: str | None, pressure: str | None = None, works: bool | None = None, **places: str
) -> Report:
    body = job(dict(zip(WHEELS, treads, strict=False)), pressure, works)
    return check(read_job(body), rulebook(on=DAY, **(places or {"place": "XA"})))


MIXED = ("1.2 mm", "1.6 mm", None, "4 mm")


def document(of: Report, **options: Any) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(report_to_json(of, **options))
    return loaded


def test_the_full_form_has_the_names_of_the_report() -> None:
    made = report(*MIXED, pressure="66 psi")
    full = document(made)
    assert full["schema"] == "stemlore.report/1"
    for name in (
        "findings",
        "faults",
        "counts",
        "is_clean",
        "coverage",
        "next_readings",
        "fingerprint",
        "day",
    ):
        assert hasattr(made, name)
        assert name in full
    assert set(full["counts"]) == {"pass", "fail", "unknown", "not applicable"}
    assert "no statement of roadworthiness" in full["safety"]
    for finding in full["findings"]:
        for name in finding:
            assert hasattr(made.findings[0], name) or name == "sentence"


def test_a_finding_carries_all_that_it_rests_on() -> None:
    full = document(report(*MIXED))
    (worn,) = (each for each in full["findings"] if each["outcome"] == "fail")
    assert (worn["rule"], worn["subject"]) == ("xa.tyre.tread_depth", "axle 1 left")
    assert (worn["measured"], worn["limit"], worn["margin"], worn["unit"]) == (1.2, 1.6, -0.4, "mm")
    assert worn["citation"] == {
        "title": "Invented road act of a country that does not exist, long enough to be wrapped on any page",
        "issuer": "XA",
        "number": "Road Act 12/2000",
        "edition": "state of 2020-01-01",
        "url": None,
        "at": "art. 12",
        "grade": "read",
        "text": "XA, Road Act 12/2000, art. 12 [text read]",
    }
    (used,) = worn["parameters"]
    assert (used["from"], used["until"], used["value"]) == ("2000-01-01", "2029-12-31", 1.6)
    assert worn["advice"] == "Renew the tyre."
    assert worn["caution"]
    (unknown,) = (
        each for each in full["findings"] if each["outcome"] == "unknown" and "tread" in each["rule"]
    )
    assert unknown["missing"] == ["tyre.tread_depth_main_grooves"]
    assert unknown["margin"] is None


def test_a_limit_lists_every_figure_of_its_source() -> None:
    full = document(report("4 mm", pressure="66 psi"))
    pressed = next(each for each in full["findings"] if each["rule"] == "xa.tyre.pressure")
    assert pressed["parameters"][0]["figures"] == ["65 psi", "450 kPa"]


def test_reading_back_gives_an_equal_record() -> None:
    made = report(*MIXED, pressure="66 psi", works=True)
    record = report_from_json(report_to_json(made))
    assert report_from_json(report_to_json(record)) == record
    assert report_to_json(record) == report_to_json(made)
    assert record.is_clean is made.is_clean is False
    assert record.counts == made.counts
    for name in ("findings", "failing", "unknown", "holding"):
        ours, theirs = getattr(record, name), getattr(made, name)
        assert [(each.rule, each.subject, each.outcome) for each in ours] == [
            (each.rule, str(each.subject), each.outcome) for each in theirs
        ]
    assert record.failing[0].gravity is Gravity.HOLD
    assert record.findings[0].outcome in Outcome
    assert record.on == date(2026, 11, 25)
    assert [str(each) for each in record.next_readings] == [str(each) for each in made.next_readings]
    assert record.fingerprint == made.fingerprint
    with pytest.raises(AttributeError):
        record.is_clean = True  # type: ignore[misc]


def test_a_clean_report_stays_clean() -> None:
    made = report(*(["4 mm"] * 4), pressure="2.5 bar", works=True)
    assert made.is_clean
    assert report_from_json(report_to_json(made)).is_clean


@pytest.mark.parametrize("source", ["path", "bytes", "indented"])
def test_every_kind_of_source_is_read(source: str, tmp_path: Path) -> None:
    made = report(*MIXED)
    text = report_to_json(made, indent=2 if source == "indented" else 0)
    given: Any = text
    if source == "path":
        given = tmp_path / "report.json"
        given.write_text(text, "utf-8")
    elif source == "bytes":
        given = text.encode()
    assert report_from_json(given).fingerprint == made.fingerprint


depths = st.one_of(st.none(), st.integers(0, 9_000_000).map(lambda n: f"{n / 1e6:.6f} mm"))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(depths, min_size=0, max_size=4), st.one_of(st.none(), st.integers(0, 900).map("{} kPa".format))
)
def test_the_compact_rows_say_what_the_findings_say(treads: list[str | None], pressure: str | None) -> None:
    made = report(*treads, pressure=pressure)
    compact = document(made, form="compact")
    jsonschema.validate(compact, report_schema("compact"))
    told = sorted(
        (compact["rules"][rule]["rule"], compact["subjects"][subject], compact["outcomes"][outcome], *shown)
        for rule, subject, outcome, *shown in compact["rows"]
    )
    assert repr(told) == repr(
        sorted(
            (each.rule, str(each.subject), each.outcome.word, each.measured, each.limit, each.margin)
            for each in made.findings
        )
    )
    assert compact["is_clean"] is made.is_clean
    assert sum(compact["counts"].values()) == len(compact["rows"])


@pytest.mark.parametrize("places", [{"place": "XA"}, {"used_in": "XA"}, {"used_in": "XA", "workshop": "XC"}])
def test_both_forms_keep_to_their_schema(places: dict[str, str]) -> None:
    made = report(*MIXED, pressure="66 psi", **places)
    jsonschema.Draft202012Validator.check_schema(report_schema("full"))
    jsonschema.validate(document(made), report_schema("full"))
    jsonschema.validate(document(made, form="compact"), report_schema("compact"))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**document(made), "verdict": "fine"}, report_schema("full"))


def test_a_place_without_a_pack_is_told() -> None:
    record = report_from_json(report_to_json(report(*(["4 mm"] * 4), used_in="XA", workshop="XC")))
    assert not record.is_clean
    assert [(each.tie.value, each.place) for each in record.coverage.gaps] == [
        ("registered_in", None),
        ("workshop", "XC"),
    ]


def test_the_text_is_the_same_every_time() -> None:
    for form in ("full", "compact"):
        assert report_to_json(report(*MIXED), form=form) == report_to_json(report(*MIXED), form=form)


def test_sentences_take_the_units_asked_for() -> None:
    full = document(report(*MIXED), units=("in",))
    worn = next(each for each in full["findings"] if each["outcome"] == "fail")
    assert "0.047 in" in worn["sentence"]
    assert worn["unit"] == "mm"
    with pytest.raises(LanguageError):
        report_to_json(report(*MIXED), language="xx")


def lie(**changed: Any) -> str:
    return json.dumps({**document(report(*MIXED)), **changed})


@pytest.mark.parametrize(
    ("text", "path"),
    [
        (lambda: lie(is_clean=True), "is_clean"),
        (lambda: lie(counts={"pass": 9, "fail": 0, "unknown": 0, "not applicable": 0}), "counts.pass"),
        (lambda: lie(schema="stemlore.job/1"), "schema"),
        (lambda: lie(day="yesterday"), "day"),
        (lambda: lie(notes=[1]), "notes[0]"),
        (lambda: report_to_json(report(*MIXED), form="compact"), "form"),
        (lambda: '{"schema": "stemlore.report/1", "form": "full"}', ""),
        (lambda: lie()[:-1] + ', "day": "2026-11-20"}', "day"),
    ],
)
def test_a_document_that_cannot_be_trusted_is_refused(text: Any, path: str) -> None:
    with pytest.raises(DocumentError) as caught:
        report_from_json(text())
    assert caught.value.faults[0].path == path


def test_a_form_that_there_is_not_is_refused() -> None:
    made = report(*MIXED)
    with pytest.raises(ValueError, match="neither"):
        report_to_json(made, form="short")  # type: ignore[arg-type]
    record: ReportRecord = report_from_json(report_to_json(made))
    with pytest.raises(ValueError, match="compact"):
        report_to_json(record, form="compact")


def test_one_rule_that_breaks_takes_no_row_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    made = report(*MIXED)
    plain = made.rows()

    def broken(*_: Any) -> Any:
        raise ZeroDivisionError

    for judged in made._judged:
        monkeypatch.setitem(judged.group.__dict__, "_rows", broken)
    assert made.rows() == plain


def test_a_rule_that_raised_has_no_row(invented: Discovery) -> None:
    from stemlore.rules.report import Judged, RuleFault

    made = report(*MIXED)
    judged = [
        Judged(each.group, each.layout, [bytes([4, *codes[1:]]) for codes in each.codes])
        for each in made._judged
    ]
    fault = RuleFault(rule="xa.tyre.tread_depth", subject=Subject("vehicle"), error="ZeroDivisionError: no")
    faulty = Report(made.job, made.book, made.day, tuple(judged), (fault,), ())
    compact = document(faulty, form="compact")
    assert len(compact["rows"]) == len(faulty.findings) < len(made.findings)
    assert compact["faults"][0]["error"] == "ZeroDivisionError: no"
    record = report_from_json(report_to_json(faulty))
    assert record.faults[0].rule == "xa.tyre.tread_depth"


def test_one_way_to_every_schema() -> None:
    book = rulebook("XA", on=DAY)
    assert schema("report") == report_schema("full")
    jsonschema.Draft202012Validator.check_schema(schema("job", book))
    foreign = {"schema": "stemlore.job/1", "own": {"zz.field": 1}}
    jsonschema.validate(foreign, schema("job"))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(foreign, schema("job", book))
    with pytest.raises(ValueError, match="no document"):
        schema("table")  # type: ignore[arg-type]
