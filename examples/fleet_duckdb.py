"""Questions in SQL over the findings of a fleet: DuckDB reads the Parquet files that an audit writes."""

import tempfile

import duckdb
import polars as pl

from stemlore import rulebook
from stemlore.audit import audit_fleet

# Invented: three depots, tread worn as the number of the car says.
cars = [f"car {number}" for number in range(60)]
wheels = pl.DataFrame(
    [
        {
            "vehicle_id": car,
            "depot": ("north", "south", "harbour")[number % 3],
            "vehicle_category": "M1",
            "axle_number": axle,
            "side": side,
            "vehicle_axle_count": 2,
            "tyre_tread_depth_main_grooves_mm": 1.0 + (number * 7 + axle) % 60 / 10 if number % 10 else None,
        }
        for number, car in enumerate(cars)
        for axle in (1, 2)
        for side in ("left", "right")
    ]
)
run = audit_fleet(wheels, rulebook("DE", on="2026-11-25"), mapping='keep = ["depot"]')

QUESTION = """
select w.depot, f.rule,
       count(distinct f.vehicle_id) filter (f.outcome = 'fail') as fail,
       count(distinct f.vehicle_id) filter (f.outcome = 'unknown') as "unknown",
       round(min(f.margin), 3) as worst_margin, any_value(f.unit) as unit
from read_parquet(? || '/findings.parquet') f
join read_parquet(? || '/wide.parquet') w using (row)
where f.rule = 'de.tyre.tread_depth'
group by all order by fail desc, depot
"""

with tempfile.TemporaryDirectory() as folder:
    run.write(folder)
    print(duckdb.execute(QUESTION, [folder, folder]).fetchall())

    # The same without a file: a lazy frame, collected, is an Arrow table that DuckDB reads in place.
    findings = run.findings_of("fail").collect().to_arrow()
    print(
        duckdb.sql("select gravity, count(*) as findings from findings group by all order by all").fetchall()
    )
