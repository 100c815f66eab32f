"""An analyst's errand: a fleet's report as one page to show, from a table that is not clean."""

import tempfile
from pathlib import Path

from stemlore import rulebook
from stemlore.audit import audit_fleet
from stemlore.pages import audit_report
from stemlore.testing.fleet import synthetic_fleet

# Invented. In practice: a Parquet or CSV file with one row a wheel.
fleet = synthetic_fleet(400, place="DE", seed=7, faults=0.15, mess=0.05)
run = audit_fleet(fleet.wheels, rulebook("DE", on="2026-11-25"))

page = audit_report(run, by=("used_in", "vehicle_category"), title="Fleet, autumn check", worst=5)

with tempfile.TemporaryDirectory() as folder:
    path = Path(folder) / "report.html"
    path.write_text(page, "utf-8")
    print(f"{path.name}: {path.stat().st_size // 1000} kB, one file, needs no network")

outcomes = dict(run.vehicles.collect()["outcome"].value_counts().iter_rows())
for word in ("fails", "not settled", "clean", "not judged"):
    print(f"{word}: {outcomes.get(word, 0)} of {sum(outcomes.values())} vehicles")
print(f"{run.quality.collect().height} entries on the quality of the data")
