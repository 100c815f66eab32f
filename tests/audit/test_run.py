"""Whole fleets: counts that add up, order, batches, mess, mappings, faults of disk and file."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import polars as pl
import pyarrow as pa
import pytest

import stemlore.audit._sources as sources
from stemlore.audit import FleetMapping, audit_fleet, inspect_source, read_mapping
from stemlore.errors import ColumnError, DocumentError, SourceError, WriteError
from stemlore.rules import rulebook
from stemlore.testing.fleet import Fleet, synthetic_fleet

BOOK = rulebook("DE", on="2026-11-25")
KEYS = ["row", "vehicle_id", "position", "rule"]
WHEELS = [
    f"axle {axle} {side}{place}"
    for axle in (1, 2, 3)
    for side in ("left", "centre", "right")
    for place in ("", " outer", " inner")
]


@pytest.fixture(scope="module")
def fleet() -> Fleet:
    return synthetic_fleet(300, seed=3, faults=0.4)


@pytest.fixture(scope="module")
def failing(fleet: Fleet) -> pl.DataFrame:
    return audit_fleet(fleet.wheels, BOOK).findings_of("fail").collect()


# --- what is planted is found ------------------------------------------------------------------


def test_all_planted_faults_are_found_and_nothing_else(fleet: Fleet, failing: pl.DataFrame) -> None:
    assert set(fleet.planted["rule"]) | set(fleet.unplanted["rule"]) == set(BOOK.rules)
    assert failing.select(KEYS).sort(KEYS).equals(fleet.planted.select(KEYS).sort(KEYS))


def test_mess_takes_no_planted_fault_away_and_makes_none() -> None:
    messy = synthetic_fleet(300, seed=4, faults=0.4, mess=0.3)
    run = audit_fleet(messy.wheels, BOOK)
    found = run.findings_of("fail").select(KEYS).collect()
    assert found.sort(KEYS).equals(messy.planted.select(KEYS).sort(KEYS))
    typos = messy.mess.filter(pl.col("told") == "unreadable")
    assert typos.height > 20
    told = run.quality.filter(pl.col("kind") == "unreadable").collect()
    assert told["row"].to_list() == typos["row"].to_list()
    assert any("did you mean radial" in each for each in told["message"])
    # a pressure in another unit is the same pressure; a reading left out gives unknown
    left_out = messy.mess.filter(pl.col("kind") == "missing")["row"]
    depths = run.findings.filter(
        pl.col("rule") == "de.tyre.tread_depth", pl.col("row").is_in(left_out.implode())
    )
    assert {"unknown"} <= set(depths.collect()["outcome"]) <= {"unknown", "not applicable"}


def test_the_same_seed_gives_the_same_fleet() -> None:
    one, same, other = (synthetic_fleet(50, seed=seed, faults=0.5, mess=0.2) for seed in (1, 1, 2))
    assert one.wheels.equals(same.wheels)
    assert one.planted.equals(same.planted)
    assert not one.wheels.equals(other.wheels)


# --- counts and order ----------------------------------------------------------------------------


def test_counts_add_up_to_subjects_times_rules(fleet: Fleet) -> None:
    run = audit_fleet(fleet.wheels, BOOK)
    summary, found = run.summary, run.findings.collect()
    words = ("pass", "fail", "unknown", "not_applicable")
    assert (summary.select(pl.sum_horizontal(words)).to_series() == summary["subjects"]).all()
    kinds = {"position": fleet.wheels.height, "vehicle": 300}
    for kind, subjects in kinds.items():
        assert set(summary.filter(pl.col("subject") == kind)["subjects"]) == {subjects}
    assert found.height == summary["subjects"].sum()
    assert run.rows == fleet.wheels.height
    for word in words:
        assert (found["outcome"] == word.replace("_", " ")).sum() == summary[word].sum()


def test_rows_keep_their_order_whatever_the_batches(fleet: Fleet, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = audit_fleet(fleet.wheels, BOOK)
    findings, wide = whole.findings.collect(), whole.wide.collect()
    assert wide["row"].to_list() == list(range(1, fleet.wheels.height + 1))
    assert findings["row"].is_sorted()
    monkeypatch.setattr(sources, "BATCH", 101)
    cut = audit_fleet(fleet.wheels, BOOK)
    assert len(list(cut._passes.batches())) > 5
    assert cut.findings.collect().equals(findings)
    assert cut.wide.collect().equals(wide)
    assert cut.summary.equals(whole.summary)
    assert cut.needs().equals(whole.needs())


def test_rows_of_a_vehicle_that_stand_apart_are_brought_together(
    fleet: Fleet, failing: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = fleet.wheels.with_row_index("was", offset=1)
    shuffled = rows.sample(fraction=1.0, shuffle=True, seed=5)
    was = shuffled["was"].cast(pl.Int64)
    for batch in (100_000, 101):
        monkeypatch.setattr(sources, "BATCH", batch)
        run = audit_fleet(shuffled.drop("was"), BOOK)
        assert "stand apart" in run.notes[0]
        found = run.findings_of("fail").filter(pl.col("position").is_in(WHEELS)).collect()
        back = found.with_columns(was.gather(found["row"] - 1).alias("row"))
        expected = failing.filter(pl.col("position").is_in(WHEELS))
        assert back.select(KEYS).sort(KEYS).equals(expected.select(KEYS).sort(KEYS))
        vehicles = run.findings_of("fail").filter(pl.col("position") == "vehicle").collect()["vehicle_id"]
        assert sorted(vehicles) == sorted(failing.filter(pl.col("position") == "vehicle")["vehicle_id"])


# --- sources -------------------------------------------------------------------------------------


class Stream:
    """Anything with the Arrow stream interface, such as a frame of another library."""

    def __init__(self, frame: pl.DataFrame) -> None:
        self.table = frame.to_arrow()

    def __arrow_c_stream__(self, requested_schema: Any = None) -> Any:
        return self.table.__arrow_c_stream__(requested_schema)


@pytest.mark.parametrize("form", ["parquet", "csv", "folder", "lazy", "arrow", "stream", "reader"])
def test_every_form_of_source_gives_the_same(
    form: str, fleet: Fleet, failing: pl.DataFrame, tmp_path: Path
) -> None:
    wheels = fleet.wheels
    source: Any = tmp_path / f"fleet.{form}"
    match form:
        case "parquet":
            wheels.write_parquet(source, row_group_size=97)
        case "csv":
            wheels.write_csv(source)
        case "folder":
            source.mkdir()
            cut = 401  # in the middle of a vehicle
            wheels[:cut].write_parquet(source / "a.parquet")
            wheels[cut:].drop("tyre_run_flat").write_csv(source / "b.csv")
        case "lazy":
            source = wheels.lazy()
        case "arrow":
            source = wheels.to_arrow()
        case "stream":
            source = Stream(wheels)
        case "reader":
            source = pa.RecordBatchReader.from_batches(
                wheels.to_arrow().schema, wheels.to_arrow().to_batches()
            )
    found = audit_fleet(source, BOOK).findings_of("fail").collect()
    assert found.with_columns(pl.col("vehicle_id").cast(pl.Int64)).equals(failing)


def test_a_lazy_table_reads_only_what_is_asked_for(fleet: Fleet) -> None:
    lazy = audit_fleet(fleet.wheels, BOOK).findings
    assert isinstance(lazy, pl.LazyFrame)
    few = lazy.filter(pl.col("outcome") == "fail").select("rule", "margin").head(3).collect()
    assert few.shape == (3, 2)


# --- needs and change of law -----------------------------------------------------------------------


def test_needs_tell_what_hides_most_verdicts(fleet: Fleet) -> None:
    blind = fleet.wheels.drop("tyre_tread_depth_main_grooves_mm")
    run = audit_fleet(blind, BOOK)
    needs = run.needs()
    row = needs.row(by_predicate=pl.col("field") == "tyre.tread_depth_main_grooves", named=True)
    unknown = run.findings_of("unknown").collect()
    lists = unknown["missing"].to_list()
    assert row["findings"] == sum("tyre.tread_depth_main_grooves" in each for each in lists) > 0
    assert row["alone"] == sum(each == ["tyre.tread_depth_main_grooves"] for each in lists) > 0
    assert row["in_source"] is False
    assert needs["settled"].is_sorted()
    assert needs["settled"][-1] == sum(bool(each) for each in lists)


def test_compare_tells_whom_a_change_of_law_touches(fleet: Fleet) -> None:
    before, after = BOOK, BOOK.at("2016-06-01")
    found = audit_fleet(fleet.wheels, before).compare("2016-06-01").collect()
    assert found.height > 0
    old, new = (
        audit_fleet(fleet.wheels, book, day=before.on).findings.select(*KEYS, "outcome").collect()
        for book in (before, after)
    )
    both = old.join(new, on=KEYS, how="full", coalesce=True)
    both = both.filter(pl.col("outcome").ne_missing(pl.col("outcome_right")))
    expected = both.select(*KEYS, before="outcome", after="outcome_right").sort(KEYS)
    assert found.sort(KEYS).equals(expected)
    assert audit_fleet(fleet.wheels, before).compare(before.on).collect().height == 0


# --- mess -------------------------------------------------------------------------------------------


def wheels_of(**changed: Any) -> pl.DataFrame:
    data: dict[str, Any] = {
        "vehicle_id": ["a", "a", "b"],
        "axle_number": [1, 1, 1],
        "side": ["left", "right", "left"],
        "vehicle_category": ["M1", "M1", "M1"],
        "tyre_tread_depth_main_grooves_mm": [5.0, 1.5, 4.0],
    }
    return pl.DataFrame({**data, **changed}, strict=False)


def told(frame: pl.DataFrame, **options: Any) -> tuple[list[str], list[tuple[Any, ...]]]:
    run = audit_fleet(frame, BOOK, **options)
    depths = run.findings.filter(pl.col("rule") == "de.tyre.tread_depth").collect()
    quality = run.quality.select("row", "vehicle_id", "column", "kind").collect().rows()
    return depths["outcome"].to_list(), quality


def test_cells_that_cannot_be_read_are_listed_and_count_as_missing() -> None:
    depth = "tyre_tread_depth_main_grooves_mm"
    outcomes, quality = told(wheels_of(**{depth: ["5.0", "worn", "-1"]}))
    assert outcomes == ["pass", "unknown", "unknown"]
    assert quality == [(2, "a", depth, "unreadable"), (3, "b", depth, "impossible")]
    outcomes, quality = told(wheels_of(**{depth: [float("inf"), float("nan"), None]}))
    assert outcomes == ["unknown"] * 3
    assert quality == [(1, "a", depth, "impossible")]


def test_a_wheel_in_two_rows_is_unknown_in_both() -> None:
    outcomes, quality = told(wheels_of(side=["left", "left", "left"]))
    assert outcomes == ["unknown", "unknown", "pass"]
    assert quality == [(1, "a", "position", "duplicate"), (2, "a", "position", "duplicate")]


def test_rows_of_one_vehicle_that_contradict_each_other_are_not_believed() -> None:
    outcomes, quality = told(wheels_of(vehicle_category=["M1", "N1", "M1"]))
    assert outcomes[2] == "pass"
    assert quality == [(row, "a", "vehicle_category", "contradiction") for row in (1, 2)]
    found = audit_fleet(wheels_of(vehicle_category=["M1", "N1", "M1"]), BOOK).findings_of("unknown").collect()
    asked = found.filter(pl.col("row") == 1).explode("missing")["missing"]
    assert "vehicle.category" in asked.to_list()


def test_rows_of_no_vehicle_are_vehicles_of_their_own() -> None:
    _, quality = told(wheels_of(vehicle_id=[None, None, "b"]))
    assert [(row, kind) for row, _, _, kind in quality] == [(1, "no vehicle"), (2, "no vehicle")]
    run = audit_fleet(wheels_of(vehicle_id=[None, None, "b"]), BOOK)
    assert set(run.summary.filter(pl.col("subject") == "vehicle")["subjects"]) == {3}


def test_what_contradicts_a_designation_is_missing() -> None:
    frame = wheels_of(tyre_size=["205/55 R16 91V"] * 3, tyre_load_index=[91, 95, None])
    run = audit_fleet(frame, BOOK)
    assert run.quality.select("row", "column", "kind").collect().rows() == [
        (2, "tyre_load_index", "contradiction")
    ]
    rows, _ = next(run._passes.batches())
    assert rows["tyre_load_index"].to_list() == [91, None, 91]
    assert rows["tyre_speed_symbol"].to_list() == ["V"] * 3


def test_unknown_columns_are_told_with_what_they_may_be() -> None:
    frame = wheels_of().with_columns(tyre_presure_kpa=pl.lit(240.0), remarks=pl.lit("x"))
    rows = audit_fleet(frame, BOOK).quality.collect()
    assert rows["row"].to_list() == [None, None]
    assert "tyre_pressure_kpa" in rows["message"][0]
    assert (
        audit_fleet(frame, BOOK, mapping='ignore = ["remarks", "tyre_presure_kpa"]').quality.collect().height
        == 0
    )


# --- mappings ----------------------------------------------------------------------------------------

MAPPING = """
missing = ["n/a"]
ignore = ["Depot"]

[columns]
Reg = "vehicle_id"
Class = { to = "vehicle.category", words = { car = "M1", van = "N1" } }
Tread = { to = "tyre.tread_depth_main_grooves", unit = "in" }
Tyre = { split = "size" }
DOT = { split = "date code" }

[columns.Pos]
to = "position"
words = { FL = "axle 1 left", FR = "axle 1 right" }
"""


def foreign() -> pl.DataFrame:
    return pl.DataFrame(
        {
            "Reg": ["x", "x", "y"],
            "Class": ["car", "Car", "van"],
            "Pos": ["FL", "FR", "FL"],
            "Tread": ["0.2", "1.5 mm", "n/a"],
            "Tyre": ["205/55 R16 91V", "205/55 R16 91V", "205/55 R16"],
            "DOT": ["0323", "5219", "9999"],
            "Depot": ["north"] * 3,
            "tyre_pressure_bar": [2.4, 2.5, 2.6],
        }
    )


def test_a_mapping_renames_converts_splits_and_translates() -> None:
    run = audit_fleet(foreign(), BOOK, mapping=MAPPING)
    rows, quality = next(run._passes.batches())
    assert rows["tyre_tread_depth_main_grooves_mm"].to_list() == [5.08, 1.5, None]
    assert rows["vehicle_category"].to_list() == ["M1", "M1", "N1"]
    assert rows["side"].to_list() == ["left", "right", "left"]
    assert rows["tyre_load_index"].to_list() == [91, 91, None]
    assert [str(day) for day in rows["tyre_manufactured_earliest"]] == ["2023-01-16", "2019-12-23", "None"]
    assert rows["tyre_pressure_kpa"].to_list() == pytest.approx([240.0, 250.0, 260.0])
    assert quality.select("row", "column", "value").rows() == [(3, "DOT", "9999")]


def test_a_mapping_that_does_not_fit_is_told() -> None:
    with pytest.raises(ColumnError, match="did you mean 'Tread'"):
        audit_fleet(foreign(), BOOK, mapping='[columns]\nTreda = "tyre.tread_depth_main_grooves"')
    with pytest.raises(DocumentError, match="did you mean"):
        read_mapping('[columns]\nx = "tyre.presure"')
    with pytest.raises(DocumentError, match="no unit of"):
        read_mapping('[columns]\nx = { to = "tyre.pressure", unit = "mm" }')
    with pytest.raises(DocumentError, match="gives"):
        audit_fleet(wheels_of(again=[1, 2, 3]), BOOK, mapping='[columns]\nagain = "axle_number"')


def test_an_inspection_proposes_a_mapping_that_can_be_used() -> None:
    frame = (
        foreign()
        .rename({"Tread": "Tread depth (mm)"})
        .with_columns(
            pl.Series("Tread depth (mm)", [5.0, 1.5, None]),
            Pos=pl.Series(["axle 1 left", "axle 1 right", "axle 1 left"]),
        )
    )
    found = inspect_source(frame)
    told_of = {each.name: each.to for each in found.mapping.columns}
    assert told_of["Reg"] == "vehicle_id"
    assert told_of["Tread depth (mm)"] == "tyre.tread_depth_main_grooves"
    assert told_of["Tyre"] == "tyre.size"
    assert told_of["Pos"] == "position"
    assert list(found.unmapped) == ["Depot"]
    assert found.unread["Class"] == ("car", "Car", "van")
    assert found.unread["DOT"] == ("9999",)
    again = read_mapping(found.to_toml())
    assert again.columns == found.mapping.columns
    settled = frame.with_columns(Class=pl.lit("M1"))
    depths = audit_fleet(settled, BOOK, mapping=again).findings.filter(
        pl.col("rule") == "de.tyre.tread_depth"
    )
    assert depths.collect()["outcome"].to_list() == ["pass", "fail", "unknown"]


# --- faults of files, columns and disk ---------------------------------------------------------------


def test_a_table_without_what_is_needed_is_refused() -> None:
    with pytest.raises(ColumnError, match="vehicle_id"):
        audit_fleet(wheels_of().drop("vehicle_id"), BOOK)
    with pytest.raises(ColumnError, match="no column"):
        audit_fleet(pl.DataFrame({"vehicle_id": [1], "colour": ["red"]}), BOOK)
    with pytest.raises(SourceError, match="int"):
        audit_fleet(3, BOOK)


def test_a_truncated_file_is_named(fleet: Fleet, tmp_path: Path) -> None:
    path = tmp_path / "cut.parquet"
    fleet.wheels.write_parquet(path)
    path.write_bytes(path.read_bytes()[:-200])
    with pytest.raises(SourceError, match=r"cut\.parquet"):
        audit_fleet(path, BOOK)


def test_a_file_spoilt_in_its_middle_is_named_and_leaves_nothing(fleet: Fleet, tmp_path: Path) -> None:
    path = tmp_path / "spoilt.parquet"
    fleet.wheels.write_parquet(path, compression="zstd")
    data = bytearray(path.read_bytes())
    data[200:6000] = bytes(5800)
    path.write_bytes(data)
    with pytest.raises(SourceError, match=r"spoilt\.parquet"):
        audit_fleet(path, BOOK).write(tmp_path / "out")
    assert not (tmp_path / "out").exists() or list((tmp_path / "out").iterdir()) == []


def test_an_unreadable_file_in_a_folder_is_named(fleet: Fleet, tmp_path: Path) -> None:
    fleet.wheels.write_parquet(tmp_path / "a.parquet")
    (tmp_path / "b.parquet").write_bytes(b"not a table")
    with pytest.raises(SourceError, match=r"b\.parquet"):
        audit_fleet(tmp_path, BOOK)
    (tmp_path / "b.parquet").unlink()
    (tmp_path / "c.csv").write_text("vehicle_id,side\n1,left,7\n")
    with pytest.raises(SourceError, match=r"c\.csv"):
        audit_fleet(tmp_path, BOOK)


def test_written_tables_are_whole_and_replace_those_before(fleet: Fleet, tmp_path: Path) -> None:
    run = audit_fleet(fleet.wheels, BOOK)
    for _ in range(2):
        run.write(tmp_path)
    names = ["findings", "needs", "quality", "summary", "vehicles", "wide"]
    there = sorted(each.name for each in tmp_path.iterdir())
    assert there == sorted(["run.json", *(f"{name}.parquet" for name in names)])
    found = pl.read_parquet(tmp_path / "findings.parquet")
    assert found.equals(run.findings_of("fail", "unknown").collect())
    assert pl.read_parquet(tmp_path / "wide.parquet").equals(run.wide.collect())
    assert pl.read_parquet(tmp_path / "summary.parquet").equals(run.summary)
    run.write(tmp_path, everything=True)
    assert pl.read_parquet(tmp_path / "findings.parquet").height == run.summary["subjects"].sum()


def test_a_full_disk_is_told_and_the_tables_before_stay(fleet: Fleet, tmp_path: Path) -> None:
    few = audit_fleet(fleet.wheels.head(4), BOOK)
    few.write(tmp_path)
    before = {each.name: each.read_bytes() for each in tmp_path.iterdir()}
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    kept = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:  # a limit on the size of files stands for a disk without room
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, limits[1]))
        with pytest.raises(WriteError, match="make room"):
            audit_fleet(fleet.wheels, BOOK).write(tmp_path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, kept)
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == before


def test_a_directory_that_cannot_be_made_is_told(fleet: Fleet, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(WriteError, match="file"):
        audit_fleet(fleet.wheels, BOOK).write(tmp_path / "file" / "out")


_KILLED = """
import sys
from pathlib import Path
import stemlore.audit._sources as sources
sources.BATCH = 200
from stemlore.audit import audit_fleet
from stemlore.rules import rulebook
audit_fleet(sys.argv[1], rulebook("DE", on="2026-11-25")).write(sys.argv[2])
"""


def test_a_run_that_is_killed_leaves_no_table_under_its_name(tmp_path: Path) -> None:
    synthetic_fleet(5000, seed=1).wheels.write_parquet(tmp_path / "fleet.parquet")
    out = tmp_path / "out"
    child = subprocess.Popen([sys.executable, "-c", _KILLED, tmp_path / "fleet.parquet", out])
    try:
        until = time.monotonic() + 60
        while time.monotonic() < until and not (out.exists() and any(out.iterdir())):
            time.sleep(0.02)
        assert child.poll() is None, "it ended before it could be killed"
    finally:
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
    left = [each.name for each in out.iterdir()]
    assert left
    assert not [name for name in left if name.endswith(".parquet")]


def test_an_empty_fleet_is_audited() -> None:
    run = audit_fleet(wheels_of().clear(), BOOK)
    assert run.findings.collect().height == 0
    assert run.summary["subjects"].sum() == 0
    assert run.needs().height == 0
    assert isinstance(run._passes.reader.mapping, FleetMapping)
