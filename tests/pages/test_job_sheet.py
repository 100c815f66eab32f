"""The job sheet: what stands on it, and that it stands on one page."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import msgspec
import pytest

from stemlore import plan_from_json, plan_to_json, plan_work, read_job, rulebook
from stemlore.interchange import NoticeRecord, PlanRecord, plan_record
from stemlore.interchange.plan_words import cautions_of, values_of
from stemlore.pages import job_sheet
from stemlore.pages._sources import split_source
from stemlore.pages.density import FLOOR, LEVELS
from stemlore.workplan import WorkPlan

WORKED = Path(__file__).parents[1] / "workplan" / "worked"
NAMES = sorted(path.stem for path in WORKED.glob("*.json"))
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
VOID = {"meta", "col", "br", "link", "img", "input", "hr"}


@cache
def plan_of(name: str, place: str = "US") -> WorkPlan:
    return plan_work(read_job(WORKED / f"{name}.json"), rulebook(place, on="2026-11-25"))


class Page(HTMLParser):
    """Reads a page: its text, its elements, and that all are closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self._open: list[str] = []
        self.feed(text)
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self._open:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def count(self, name: str) -> int:
        return sum(name in (each.get("class") or "").split() for _, each in self.elements)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("name", NAMES)
def test_every_step_stands_on_it_with_values_and_cautions(name: str) -> None:
    record = plan_record(plan_of(name))
    page = Page(job_sheet(record))
    text = squeezed(page.text)
    places = [text.index(squeezed(each.title)) for each in record.steps]
    assert places == sorted(places)
    assert text.count("CAUTION") == sum(bool(each.cautions) for each in record.steps)
    for step in record.steps:
        for caution in cautions_of(step):
            assert squeezed(caution.partition(" (")[0].rstrip(".")) in text
    for point in record.set_points:
        shown = values_of(point)
        is_read = point.what == "work.restraint_rating"  # what it bears at least stands on its plate
        assert squeezed(shown.band if is_read else shown.value) in text
    assert squeezed(record.safety) in text
    for gap in record.gaps:
        assert squeezed(gap.text) in text


def test_each_wheel_of_a_step_has_its_own_box() -> None:
    record = plan_record(plan_of("heavy_truck_dual"))
    boxes = sum(len(each.positions) or 1 for each in record.steps)
    gaps = len({(each.text, each.rule, each.missing) for each in record.gaps})
    page = Page(job_sheet(record))
    assert page.count("box") == boxes + gaps
    assert "2Lo" in page.text
    assert "1L = axle 1 left; o = outer, i = inner" in page.text


def test_a_vehicle_with_very_many_wheels_gets_one_box_a_step() -> None:
    record = plan_record(plan_of("heavy_truck_dual"))
    many = tuple(
        msgspec.structs.replace(record.wheels[0], position=f"axle {axle} {side}")
        for axle in range(1, 9)
        for side in ("left", "right")
    )
    page = Page(job_sheet(msgspec.structs.replace(record, wheels=many, gaps=())))
    assert page.count("box") == len(record.steps)


def stopped() -> WorkPlan:
    document: dict[str, Any] = json.loads((WORKED / "car_steel.json").read_text("utf-8"))
    document["assemblies"][0]["condition"] = {"wheel_cracked": True}
    return plan_work(read_job(document), rulebook("DE", on="2026-11-25"))


def test_what_stops_the_work_stands_before_all_that_is_done() -> None:
    plan = stopped()
    assert any(each.stops for each in plan.notices)
    text = Page(job_sheet(plan)).text
    stop = text.index("STOP Do not inflate")
    assert stop < text.index("come first.") < text.index("Value Also") < text.index("Steps")
    assert "STOP" not in Page(job_sheet(plan_of("car_alloy"))).text


def test_a_wheel_that_must_not_be_inflated_has_no_box_where_air_goes_in() -> None:
    plan = stopped()
    page = Page(job_sheet(plan))
    seat = next(each for each in plan.steps if each.key == "seat_beads")
    assert "axle 1 left" not in [str(each) for each in seat.positions]
    boxes = sum(len(each.positions) or 1 for each in plan.steps)
    gaps = len({(each.text, each.rule, each.missing) for each in plan.gaps})
    assert page.count("box") == boxes + gaps


@pytest.mark.parametrize("figures", [False, True])
def test_the_page_needs_no_network_and_no_colour(figures: bool) -> None:
    made = job_sheet(plan_of("car_alloy"), figures=figures)
    assert made.startswith("<!DOCTYPE html>")
    page = Page(made)
    names = {  # of vocabularies; nothing is fetched from them
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
        "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
        "http://purl.org/dc/elements/1.1/",
        "http://purl.org/dc/dcmitype/StillImage",
        "http://creativecommons.org/ns#",
    }
    for tag, each in page.elements:
        assert tag not in ("script", "link", "img", "iframe", "object"), tag
        for name, value in each.items():
            assert not name.startswith("on"), (tag, name)
            if name in ("src", "href", "xlink:href") and tag != "dc:type":
                assert (value or "").startswith("#"), (tag, value)
    assert set(re.findall(r"https?://[^\"' <)]+", made)) <= (names if figures else set())
    assert not re.search(r"url\((?!#)", made)
    style = made.partition("<style>")[2].partition("</style>")[0]
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", style)) <= {"#000", "#fff", "#555"}
    assert not re.search(r"\b(red|yellow|orange|green|blue)\b", style)


def test_all_text_is_escaped() -> None:
    evil = '<script>alert("x")</script>&'
    record = plan_record(plan_of("car_alloy"))

    def spoilt(value: Any) -> Any:
        if isinstance(value, msgspec.Struct):
            kept = {"schema", "unit", "what", "grade", "position", "rule", "verdict", "side", "key"}
            new = {
                name: spoilt(getattr(value, name))
                for name in value.__struct_fields__
                if name not in kept and name != "positions"
            }
            return msgspec.structs.replace(value, **new)
        if isinstance(value, tuple):
            return tuple(spoilt(each) for each in value)
        return f"{evil}{value}" if type(value) is str else value

    steps = tuple(spoilt(each) for each in record.steps)
    dirty = msgspec.structs.replace(
        record,
        steps=steps,
        choices=tuple(
            msgspec.structs.replace(spoilt(each), likely=None, deciding={}) for each in record.choices
        ),
        set_points=tuple(spoilt(each) for each in record.set_points),
        renewals=tuple(spoilt(each) for each in record.renewals),
        gaps=tuple(spoilt(each) for each in record.gaps),
        notices=(NoticeRecord(text=evil, stops=True, positions=(), rule=""),),
        wheels=tuple(msgspec.structs.replace(each, tyre=evil, rim=evil) for each in record.wheels),
        coverage=spoilt(record.coverage),
        visit=evil,
        category=evil,
        safety=evil,
    )
    made = job_sheet(dirty)
    assert made.count("&lt;script&gt;") > 50
    assert "<script" not in made
    assert Page(made).text.count("<script>") > 50


def test_a_plan_read_back_gives_the_same_sheet() -> None:
    plan = plan_of("car_alloy")
    record = plan_from_json(plan_to_json(plan))
    assert isinstance(record, PlanRecord)
    assert job_sheet(record) == job_sheet(plan, figures=False)
    assert job_sheet(plan) == job_sheet(plan)


def test_a_valve_that_stays_is_not_called_by_another_part() -> None:
    pytest.importorskip("matplotlib")
    plan = plan_of("motorcycle")
    assert all(each.keep for each in plan.choices)
    captions = re.findall("<figcaption>(.*?)</figcaption>", job_sheet(plan))
    assert captions
    assert all("valve that stays" in each for each in captions)


def test_values_come_in_the_units_asked_for_with_the_others_beside() -> None:
    truck = plan_of("heavy_truck_dual")
    text = Page(job_sheet(truck, figures=False, units=("psi",))).text
    assert "axle 1 110 psi 758 kPa, 7.58 bar" in text
    assert "at most 40 psi 275 kPa, 2.75 bar" in text
    text = Page(job_sheet(truck, figures=False)).text
    assert "axle 1 758 kPa 7.58 bar, 110 psi" in text


def test_where_only_the_maker_tells_there_is_a_line_to_write_on() -> None:
    plan = plan_of("heavy_truck_dual")
    point = next(each for each in plan.set_points if each.what == "work.wheel_fixing_torque")
    assert point.target is None
    page = Page(job_sheet(plan))
    assert "Torque of the wheel fixings N·m the maker's figure is needed" in page.text
    assert page.count("line") >= 2  # in the table and at its step


def test_that_a_maker_s_figure_comes_first_stands_once_below_the_values() -> None:
    plan = plan_of("heavy_truck_dual")
    record = plan_record(plan)
    marked = [each for each in record.set_points if "maker's figure first" in each.note]
    text = Page(job_sheet(plan)).text
    assert len(marked) == 3
    assert text.count("Look for the maker's figure first") == 1
    for point in marked:
        assert f"{values_of(point).value}*" in text
    assert "758 kPa*" not in text


def test_what_a_restraint_bears_at_least_is_told_as_that() -> None:
    text = Page(job_sheet(plan_of("heavy_truck_dual"))).text
    assert "Rating of the restraint at least 1250 kPa" in text
    assert "cage, barrier or bolted on the vehicle at least 1250 kPa" in text


def test_the_section_is_drawn_once_for_wheels_that_look_alike() -> None:
    pytest.importorskip("matplotlib")
    made = job_sheet(plan_of("car_alloy"))
    assert len(plan_of("car_alloy").choices) == 2
    assert made.count("<figure>") == made.count("<svg") == 1
    assert made.index("<figure>") < made.index('class="steps"')
    assert "<svg" not in job_sheet(plan_of("car_alloy"), figures=False)
    ids = re.findall(r' id="([^"]+)"', made)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    ("absent", "code", "told"),
    [
        ("jinja2", "import stemlore.pages", "pip install 'stemlore[pages]'"),
        ("matplotlib", "from stemlore.pages import job_sheet; print('there')", "there"),
    ],
)
def test_an_extra_that_is_not_installed(absent: str, code: str, told: str) -> None:
    code = f"import sys; sys.modules['{absent}'] = None\ntry:\n    {code}\nexcept ImportError as e: print(e)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told in run.stdout


def test_without_matplotlib_the_sheet_has_no_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [each for each in sys.modules if each.startswith("stemlore.figures")]:
        monkeypatch.delitem(sys.modules, name)
    import stemlore

    monkeypatch.delattr(stemlore, "figures", raising=False)
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    assert job_sheet(plan_of("car_alloy")) == job_sheet(plan_of("car_alloy"), figures=False)


def size_of(made: str) -> float:
    found = re.search(r"font: ([0-9.]+)pt/", made)
    assert found is not None
    return float(found[1])


def test_the_more_there_is_to_say_the_smaller_the_type() -> None:
    record = plan_record(plan_of("car_alloy"))
    few = size_of(job_sheet(msgspec.structs.replace(record, steps=record.steps[:5])))
    usual = size_of(job_sheet(record))
    assert few == LEVELS[0].size
    assert few > usual >= FLOOR == LEVELS[-1].size


PAGES = re.compile(rb"/Type\s*/Page\b(?!s)")


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("Do it (a maker, Manual [text read])", ("Do it", "a maker, Manual [text read]")),
        ("Do it (so). (A union (AU), Guide [text read])", ("Do it (so)", "A union (AU), Guide [text read]")),
        (
            "At least 3 mm (0.1 in) apart (a maker [text read]).",
            ("At least 3 mm (0.1 in) apart", "a maker [text read]"),
        ),
        ("No source (so it is)", ("No source (so it is)", "")),
    ],
)
def test_a_line_keeps_its_own_brackets_without_its_source(line: str, told: tuple[str, str]) -> None:
    assert split_source(line) == told


def pages_of(name: str) -> int:
    return job_sheet(plan_of(name)).count('class="next"') + 1


@pytest.mark.parametrize("name", NAMES)
def test_no_text_is_smaller_than_can_be_read(name: str) -> None:
    made = job_sheet(plan_of(name), figures=False)
    sizes = [float(each) for each in re.findall(r"font(?:-size)?: ([0-9.]+)pt", made)]
    assert len(sizes) >= 6
    assert min(sizes) >= FLOOR


def test_a_sheet_that_goes_on_overleaf_says_so_and_loses_no_step() -> None:
    record = plan_record(plan_of("heavy_truck_dual"))
    made = job_sheet(msgspec.structs.replace(record, steps=record.steps * 3))
    count = made.count('class="next"') + 1
    assert count > 1
    text = Page(made).text
    assert all(f"page {number} of {count}" in text for number in range(1, count + 1))
    numbers = [int(each) for each in re.findall(r'<th scope="row" class="n">([0-9]+)</th>', made)]
    assert numbers == list(range(1, 3 * len(record.steps) + 1))


@pytest.mark.parametrize("name", NAMES)
def test_tables_have_heads_and_boxes_have_names(name: str) -> None:
    page = Page(job_sheet(plan_of(name), figures=False))
    assert ("html", {"lang": "en"}) in page.elements
    assert all(each.get("scope") in ("row", "col") for tag, each in page.elements if tag == "th")
    assert all(each.get("aria-label") for tag, each in page.elements if tag == "input")


@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium, which sets the pages")
@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_prints_on_the_pages_that_it_says(name: str, tmp_path: Path) -> None:
    source, target = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    source.write_text(job_sheet(plan_of(name)), "utf-8")
    told = [f"--print-to-pdf={target}", "--no-pdf-header-footer", f"--user-data-dir={tmp_path / 'profile'}"]
    subprocess.run(
        [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", *told, source.as_uri()],
        capture_output=True,
        check=True,
        timeout=120,
    )
    count = len(PAGES.findall(target.read_bytes()))
    assert count == pages_of(name)
    assert count == 1
