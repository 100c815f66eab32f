"""The report of a fleet: what stands on it, never kinder than the audit, and unharmed by data."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import attrs
import polars as pl
import pytest

from stemlore import check, rulebook
from stemlore.audit import AuditRun, _sources, audit_fleet
from stemlore.audit._margins import Margins
from stemlore.errors import ColumnError
from stemlore.pages import audit_report
from stemlore.pages._fleet_charts import bars, columns, share, stacked
from stemlore.rules import Cite, Rule, Rulebook, constant, field, pack, rulebooks, years_since

if TYPE_CHECKING:
    from stemlore.rules.discovery import Discovery

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
VOID = {"meta", "br", "rect", "line"}
SIDES = ("left", "right")
HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(2)>',
    "{{ 7 * 7 }} & 'x'",
    "a\u202eb\x00c\nd",
    "W" * 300,
]


class Page(HTMLParser):
    """Reads a page: its words, its elements, and that all are closed in order."""

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

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self._open and "desc" not in self._open:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def of(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.elements if name == tag]


def fleet(*vehicles: tuple[Any, float | None, float | None], **also: list[Any]) -> pl.DataFrame:
    """Cars of one axle: id, tread of both tyres in mm, pressure of both in kPa."""
    rows = [(each, side) for each in vehicles for side in SIDES]
    frame = pl.DataFrame(
        {
            "vehicle_id": pl.Series([each[0] for each, _ in rows], dtype=pl.String),
            "axle_number": [1] * len(rows),
            "side": [side for _, side in rows],
            "tyre_tread_depth_main_grooves_mm": pl.Series([each[1] for each, _ in rows], dtype=pl.Float64),
            "tyre_pressure_kpa": pl.Series([each[2] for each, _ in rows], dtype=pl.Float64),
            "vehicle_monitoring_works": [True] * len(rows),
            "vehicle_axle_count": [1] * len(rows),
        }
    )
    return frame.with_columns(
        pl.Series(name, [value for value in values for _ in SIDES]) for name, values in also.items()
    )


@pytest.fixture
def book(invented: Discovery) -> Rulebook:
    return rulebook("XA", on="2026-11-25")


def audited(book: Rulebook, *vehicles: tuple[Any, float | None, float | None], **also: list[Any]) -> AuditRun:
    return audit_fleet(fleet(*vehicles, **also), book)


GOOD, WORN, HARD, UNREAD = (5.0, 240.0), (1.5, 240.0), (5.0, 460.0), (None, 240.0)


def test_the_verdict_counts_vehicles_in_words(book: Rulebook) -> None:
    run = audited(book, ("a", *WORN), ("b", *GOOD), ("c", *UNREAD), ("d", *HARD), ("e", *GOOD), ("f", *GOOD))
    page = Page(audit_report(run))
    assert "FAILS 2 of 6 vehicles fail." in page.text
    assert "1 vehicle does not leave until it is put right (gravity hold)." in page.text
    assert "1 vehicle more must be put right at this visit (gravity remedy)." in page.text
    for words in ("Fails: 2 (33.3 %)", "Not settled: 1 (16.7 %)", "Clean: 3 (50 %)", "Not judged: 0 (0 %)"):
        assert words in page.text.replace("\u00a0", " ")


def test_all_clean_is_said_only_where_all_is_covered_and_known(book: Rulebook) -> None:
    clean = Page(audit_report(audited(book, ("a", *GOOD), ("b", *GOOD)))).text
    assert "CLEAN None of 2 vehicles fails; all are settled, and each place has a pack." in clean
    unknown = Page(audit_report(audited(book, ("a", *GOOD), ("b", *UNREAD)))).text
    assert "OPEN None of 2 vehicles is found to fail, but 1 is not settled." in unknown
    assert "No finding fails. That says nothing of what is unknown, not judged or not covered." in unknown


def test_a_place_without_a_pack_is_never_clean(invented: Discovery) -> None:
    run = audit_fleet(fleet(("a", *GOOD), ("b", *GOOD)), rulebook("XD", on="2026-11-25"))
    text = Page(audit_report(run)).text
    assert "CLEAN" not in text
    assert "Clean: 0" in text
    assert (
        "2 vehicles stand where a place is not given or has no pack: none of these counts as clean." in text
    )
    assert "Not covered: registered in XD" in text


def test_a_place_that_is_not_given_is_never_clean(invented: Discovery) -> None:
    run = audit_fleet(fleet(("a", *GOOD)), rulebook(used_in="XA", workshop="XA", on="2026-11-25"))
    text = Page(audit_report(run)).text
    assert "1 vehicle stands where a place is not given or has no pack" in text
    assert "Clean: 0" in text


def test_rows_without_a_book_are_told_as_not_judged(invented: Discovery) -> None:
    days = [date(2026, 11, 25), None]
    run = audit_fleet(fleet(("a", *GOOD), ("b", *WORN), law_day=days), rulebooks("XA"))
    text = Page(audit_report(run)).text
    assert "OPEN None of 2 vehicles is found to fail, but 1 is not judged." in text
    assert "no day tells which law holds: 2 rows are not judged" in text


def test_an_empty_table_has_no_verdict(book: Rulebook) -> None:
    text = Page(audit_report(audit_fleet(fleet(), book))).text
    assert "OPEN No vehicle was judged: the table has no rows." in text
    assert "CLEAN" not in text


def breaks_at_six(view: Any) -> bool:
    if view.load("tyre.tread_depth_main_grooves") == 6.0:
        raise ValueError("it broke")
    return True


def book_of(*rules: Rule, on: str) -> Rulebook:
    whole = pack("xa")
    more = MappingProxyType({**whole.rules, **{each.id: each for each in rules}})
    return rulebook("XA", on=on, also=[attrs.evolve(whole, rules=more)])


OF_RULE: dict[str, Any] = {
    "subject": "position",
    "tie": "used_in",
    "basis": "law",
    "gravity": "hold",
    "cite": Cite("act", "art. 1"),
}


def test_a_vehicle_on_which_a_rule_breaks_is_not_clean(invented: Discovery) -> None:
    broken = Rule(
        id="xa.tyre.broken",
        title="A rule that breaks",
        check=field("tyre.studded"),
        body=breaks_at_six,
        reads=("tyre.tread_depth_main_grooves",),
        **OF_RULE,
    )
    table = fleet(("a", 6.0, 240.0), ("b", *GOOD), ("c", *GOOD))
    run = audit_fleet(table, book_of(broken, on="2026-11-25"), on_fault="list")
    text = Page(audit_report(run)).text
    assert "Clean: 2" in text
    assert "Not settled: 1" in text
    assert "On 1 vehicle a rule broke: none of these counts as clean." in text
    assert "2 times a rule broke" in text
    assert "ValueError: it broke" in text


@pytest.mark.parametrize("told", ["law_day", "day", "event_on"])
def test_ages_of_the_worst_vehicles_count_at_the_day_of_the_audit(invented: Discovery, told: str) -> None:
    old = Rule(
        id="xa.tyre.age",
        title="The tyre is young",
        check=years_since(field("tyre.manufactured")) <= constant("6 years"),
        **OF_RULE,
    )
    made = {"tyre_manufactured": [date(2021, 1, 1), date(2020, 1, 1)]}
    days = {told: [date(2025, 6, 1), date(2027, 6, 1)]} if told != "day" else {}
    table = fleet(("new", *GOOD), ("old", *GOOD), **made, **days)
    first = book_of(old, on="2025-06-01")
    book = rulebooks("XA", also=first.packs.values()) if told == "law_day" else first
    day = date(2026, 6, 1) if told == "day" else None
    text = Page(audit_report(audit_fleet(table, book, day=day))).text
    assert "1 of 2 vehicles fail" in text
    assert f"{7.4 if told != 'day' else 6.4}" in re.sub(r"(\d\.\d)\d+", r"\1", text)
    assert text.count("Required: The tyre is young.") == 2


def test_worst_vehicles_are_told_in_the_counters_sentences(book: Rulebook) -> None:
    run = audited(book, ("b", *HARD), ("a", *WORN), ("both", 1.0, 470.0), ("c", *GOOD))
    page = Page(audit_report(run))
    text = page.text
    jobs = dict(run.jobs())
    for name in ("b", "a", "both"):
        for finding in check(jobs[name], book).failing:
            assert finding.sentence() in text
    assert "at most 65 psi / 450 kPa allowed" in text
    order = [text.index(f"{number}. Vehicle {name} ") for number, name in enumerate(("both", "a", "b"), 1)]
    assert order == sorted(order)
    assert "Let the air out before the bead is broken." in text
    assert "Road Act 12/2000, art. 12 [text read]" in text
    assert "4. Vehicle" not in text


def test_few_are_asked_for_and_many_findings_are_cut_with_their_number(book: Rulebook) -> None:
    wheels = [(f"axle {axle}", axle, side) for axle in range(1, 5) for side in SIDES]
    frame = pl.DataFrame(
        {
            "vehicle_id": ["long"] * 8,
            "axle_number": [axle for _, axle, _ in wheels],
            "side": [side for *_, side in wheels],
            "tyre_tread_depth_main_grooves_mm": [1.0] * 8,
            "tyre_pressure_kpa": [500.0] * 8,
            "vehicle_axle_count": [4] * 8,
        }
    )
    run = audit_fleet(pl.concat([frame, frame.with_columns(vehicle_id=pl.lit("other"))]), book)
    text = Page(audit_report(run, worst=1)).text
    assert "1 of 2 vehicles that fail" in text
    assert text.count("tread depth in the main grooves 1 mm, at least 1.6 mm needed") == 8
    assert "4 more findings of this vehicle fail" in text


def test_worst_vehicles_are_checked_by_the_law_of_their_own_day(invented: Discovery) -> None:
    days = [date(2031, 1, 1), date(2026, 1, 1)]  # from 2030-01-01 the invented act asks for 2 mm
    run = audit_fleet(fleet(("new", 1.8, 240.0), ("old", 1.8, 240.0), law_day=days), rulebooks("XA"))
    text = Page(audit_report(run)).text
    assert "1 of 2 vehicles fail" in text
    assert "tread depth in the main grooves 1.8 mm, at least 2 mm needed" in text


@pytest.mark.parametrize("hostile", HOSTILE)
def test_what_the_table_says_is_text_and_nothing_else(book: Rulebook, hostile: str) -> None:
    mapping = 'keep = ["depot"]'
    table = fleet((hostile, *WORN), ("b", *GOOD), depot=[hostile, "here"]).with_columns(
        tyre_dot=pl.lit(hostile)
    )
    run = audit_fleet(table, book, mapping=mapping)
    text = audit_report(run, by=("depot",), title=hostile)
    page = Page(text)
    assert not page.of("script")
    assert not page.of("img")
    assert all(not name.startswith("on") for _, attrs in page.elements for name in attrs)
    assert "49" not in re.sub(r"[0-9a-f]{64}", "", page.text)
    assert "\x00" not in text
    assert "\u202e" not in text
    shown = "".join(each if each.isprintable() else "\ufffd" for each in hostile)
    assert " ".join(shown.split()) in page.text


def test_hostile_cells_that_cannot_be_read_are_told_as_text(book: Rulebook) -> None:
    table = fleet(("a", *GOOD)).with_columns(tyre_pressure_kpa=pl.lit("<b>240</b>"))
    page = Page(audit_report(audit_fleet(table, book)))
    assert "<b>240</b>" in page.text
    assert "unreadable" in page.text


def test_groups_count_vehicles_and_what_fails_most(book: Rulebook) -> None:
    table = fleet(("a", *WORN), ("b", *GOOD), ("c", *UNREAD), depot=["north", "north", "south"])
    run = audit_fleet(table, book, mapping='keep = ["depot"]')
    page = Page(audit_report(run, by=("depot", "used_in", "side")))
    north = re.search(r"north ([\d %.\u00a0]+) Tread in the main grooves is deep enough \(2\)", page.text)
    assert north is not None
    # vehicles, fail, share, not settled, clean, not judged, findings hold, remedy, advise, unknown
    assert north[1].replace(" %", "%").split() == ["2", "1", "50%", "0", "1", "0", "2", "0", "0", "0"]
    assert "Wheels of one vehicle may differ in this" in page.text
    with pytest.raises(ColumnError):
        audit_report(run, by=("depott",))


def test_margins_are_counted_from_all_findings(book: Rulebook) -> None:
    treads = [0.5, 1.59, 1.6, 1.61, 3.0, 3.1, 8.0]
    run = audited(book, *((str(number), tread, 240.0) for number, tread in enumerate(treads)))
    text = Page(audit_report(run)).text
    assert "4 fail, 10 pass, 2 of these exactly at the limit" in text
    assert "No rule that fails has a margin" in Page(audit_report(audited(book, ("a", *GOOD)))).text


def test_what_is_missing_is_ranked_and_never_a_pass(book: Rulebook) -> None:
    run = audited(book, ("a", *UNREAD), ("b", 5.0, None), ("c", None, 240.0))
    text = Page(audit_report(run)).text
    assert "6 of 15 findings are unknown. Unknown is no pass." in text
    assert text.index("tread depth in the main grooves") < text.index("inflation pressure")


def test_the_method_names_packs_versions_and_fingerprints(book: Rulebook) -> None:
    text = Page(audit_report(audited(book, ("a", *GOOD)))).text
    assert book.fingerprint in text
    for name, each in book.packs.items():
        assert each.fingerprint in text
        assert f"{name} {each.version}" in text
    for rule in book.rules.values():
        assert f"{rule.rule.title} {rule.rule.id}" in text
        assert str(rule.citation) in text
    assert "Decision rule: simple" in text
    assert text.count("It is no statement of roadworthiness.") == 2


def test_it_needs_no_network_and_can_be_used_by_keyboard(book: Rulebook) -> None:
    text = audit_report(audited(book, ("a", *WORN), ("b", *GOOD), ("c", *UNREAD)))
    page = Page(text)
    assert not re.search(r"https?:|url\((?!#)|@import", text)
    links = [attrs["href"] for attrs in page.of("a")]
    names = [attrs["id"] for _, attrs in page.elements if attrs.get("id")]
    assert len(names) == len(set(names))
    assert all(link is not None and link[0] == "#" and link[1:] in names for link in links)
    assert links[0] == "#verdict"
    assert len(page.of("table")) == sum(each.get("role") == "region" for each in page.of("div"))
    assert all(
        each.get("tabindex") == "0" and each.get("aria-label")
        for each in page.of("div")
        if each.get("role") == "region"
    )
    charts = [each for each in page.of("svg") if each.get("role") == "img"]
    assert len(charts) >= 4
    assert all(set((each["aria-labelledby"] or "").split()) <= set(names) for each in charts)
    assert all(each.get("role") == "img" or each.get("aria-hidden") == "true" for each in page.of("svg"))
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h\d", tag)]
    assert all(after - before <= 1 for before, after in zip([0, *levels], levels, strict=False))
    assert all(each.get("scope") in ("col", "row") for each in page.of("th"))


def test_it_is_judged_a_fixed_number_of_times(book: Rulebook, monkeypatch: pytest.MonkeyPatch) -> None:
    run = audited(book, ("a", *WORN), ("b", *GOOD))
    passes: list[bool] = []
    judged = type(run._passes).judged

    def counting(self: Any, **given: Any) -> Any:
        passes.append(True)
        return judged(self, **given)

    monkeypatch.setattr(type(run._passes), "judged", counting)
    text = Page(audit_report(run)).text
    assert len(passes) == 3
    assert "judged three times for this page" in text


def test_batches_make_no_difference(book: Rulebook, monkeypatch: pytest.MonkeyPatch) -> None:
    vehicles = [(f"v{number}", 1.0 + number % 7 / 2, 300.0 + number * 3) for number in range(300)]
    whole = audit_report(audited(book, *vehicles))
    monkeypatch.setattr(_sources, "BATCH", 2)
    run = audited(book, *vehicles)
    assert len(list(run._passes.batches())) > 3
    assert audit_report(run) == whole


def test_several_books_in_several_batches_and_ids_that_are_numbers(
    invented: Discovery, monkeypatch: pytest.MonkeyPatch
) -> None:
    count = 200
    days = [(date(2026, 1, 1), date(2031, 1, 1), None)[number % 3] for number in range(count)]
    vehicles = [(str(number), 1.0 + number % 7 / 5, 240.0) for number in range(count)]
    table = fleet(*vehicles, law_day=days).with_columns(pl.col("vehicle_id").cast(pl.Int64))
    whole = Page(audit_report(audit_fleet(table, rulebooks("XA")), worst=200)).text
    monkeypatch.setattr(_sources, "BATCH", 20)
    run = audit_fleet(table, rulebooks("XA"))
    parts = Page(audit_report(run, worst=200)).text
    # rows are brought together by book first, and numbered as they stand in the table
    note = "Note. 2 rulebooks: findings stand book by book. "
    assert note in parts
    assert parts.replace(note, "") == whole


# --- numbers of charts ------------------------------------------------------------------------------


def margins_of(*values: float, step_limit: int | None = None) -> Margins:
    made = Margins("xa.rule", "mm")
    for value in values:
        outcome = "fail" if value < 0 else "pass"
        made.add(pl.DataFrame({"outcome": [outcome], "margin": [value]}))
    return made


def test_bins_hold_all_and_the_limit_is_an_edge() -> None:
    bins, width = margins_of(-0.3, -0.1, 0.0, 0.1, 0.2, 0.3, 1.7).columns()
    assert width == 0.1
    assert [(each.low, each.fails) for each in bins if each.fails] == [(-0.3, 1), (-0.1, 1)]
    # 0.3 is in the bin from 0.3, not in that below, though 0.3 / 0.1 is less than 3 in floating point
    assert [(each.low, each.passes) for each in bins if each.passes] == [
        (0.0, 1), (0.1, 1), (0.2, 1), (0.3, 1), (1.7, 1),
    ]  # fmt: skip
    assert any(each.low == 0 for each in bins)


def test_margins_are_held_to_the_millionth() -> None:
    # 2.01 * 1e6 is a little less than 2010000 in floating point
    assert margins_of(2.01, -2.01).passes == {2_010_000: 1}
    assert margins_of(2.01, -2.01).fails == {-2_010_000: 1}


def test_bins_grow_with_what_is_filled_and_keep_every_count() -> None:
    frame = pl.DataFrame({"margin": [number / 1000 - 10 for number in range(30_000)]})
    frame = frame.with_columns(
        outcome=pl.when(pl.col("margin") < 0).then(pl.lit("fail")).otherwise(pl.lit("pass"))
    )
    whole, parts = Margins("r"), Margins("r")
    whole.add(frame)
    for at in range(29, -1, -1):
        parts.add(frame[at * 1000 : (at + 1) * 1000])
    assert whole == parts
    assert whole.step > 1
    assert (sum(whole.fails.values()), sum(whole.passes.values())) == (10_000, 20_000)
    assert max(whole.fails) == -1
    assert min(whole.passes) == 0
    bins, _ = whole.columns()
    assert sum(each.fails for each in bins) == 10_000
    assert sum(each.passes for each in bins) == 20_000
    assert len(bins) <= 24


def test_one_value_far_off_does_not_flatten_the_rest() -> None:
    bins, width = margins_of(-1e9, *(number / 100 for number in range(300))).columns()
    assert width <= 1
    assert (bins[0].low, bins[0].fails) == (None, 1)


def test_columns_are_as_high_as_the_root_of_the_count() -> None:
    bins, _ = margins_of(-1.0, *([1.0] * 16)).columns()
    rects = {each["name"]: each["h"] for each in columns(bins)["rects"]}
    assert rects["clean"] == pytest.approx(4 * rects["fail"])


@pytest.mark.parametrize(
    ("part", "whole", "words"),
    [
        (0, 9, "0 %"), (9, 9, "100 %"), (1, 10_000, "< 0.1 %"), (9_999, 10_000, "> 99.9 %"), (1, 8, "12.5 %"),
        (0, 0, "\u2013"),
    ],
)  # fmt: skip
def test_a_share_never_looks_like_none_or_all(part: int, whole: int, words: str) -> None:
    assert share(part, whole).replace("\u00a0", " ") == words


def test_a_part_of_a_bar_is_seen_however_small() -> None:
    rects = stacked([("fail", 1), ("clean", 1_000_000)])["rects"]
    assert rects[0]["w"] > 0.9
    assert sum(each["w"] for each in rects) == pytest.approx(100, abs=0.01)
    assert stacked([("fail", 0), ("clean", 0)])["rects"] == []
    assert bars([])["height"] == 0


# --- in a browser -----------------------------------------------------------------------------------


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here")
def test_a_narrow_screen_needs_no_scrolling_sideways(book: Rulebook, tmp_path: Path) -> None:
    assert CHROMIUM is not None
    table = fleet(
        ("W" * 300, *WORN), ("b", *HARD), ("c", *UNREAD), depot=["\u6f22" * 200, "W" * 200, "x y " * 80]
    )
    page = audit_report(audit_fleet(table, book, mapping='keep = ["depot"]'), by=("depot",), title="W" * 80)
    (tmp_path / "report.html").write_text(page.replace("default-src 'none'; ", ""), "utf-8")
    # a window of a headless browser is not narrower than 500 pixels, so the page stands in a frame
    (tmp_path / "frame.html").write_text(
        '<iframe src="report.html" style="width:360px;height:900px;border:0"></iframe><script>'
        "onload = () => { const d = frames[0].document, wide = d.documentElement.clientWidth;"
        "const out = [...d.querySelectorAll('body *')].filter(e => !e.closest('.scroll *, svg')"
        " && e.getBoundingClientRect().right > wide + 0.5).map(e => e.tagName + '.' + e.className);"
        "document.title = `beyond ${d.documentElement.scrollWidth - wide} [${out}]` }</script>",
        "utf-8",
    )
    done = subprocess.run(
        [
            CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files",
            f"--user-data-dir={tmp_path / 'profile'}", "--virtual-time-budget=3000", "--dump-dom",
            (tmp_path / "frame.html").as_uri(),
        ],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    assert "<title>beyond 0 []</title>" in done.stdout, re.findall("<title>.*</title>", done.stdout)
