"""A fleet from pandas and back: a table with a shop's own columns, and findings as a pandas frame."""

import pandas as pd

from stemlore import rulebook
from stemlore.audit import audit_fleet

# Columns named as the shop names them; tread in inches, dates as on the sidewall.
wheels = pd.DataFrame(
    {
        "Reg": ["x 1", "x 1", "x 2", "x 2"],
        "Class": ["car", "car", "van", "van"],
        "Pos": ["axle 1 left", "axle 1 right", "axle 1 left", "axle 1 right"],
        "Tread": [0.2, 0.05, 0.25, None],
        "DOT": ["0323", "0323", "5219", "?"],
    }
)
mapping = """
[columns]
Reg = "vehicle_id"
Pos = "position"
Class = { to = "vehicle.category", words = { car = "M1", van = "N1" } }
Tread = { to = "tyre.tread_depth_main_grooves", unit = "in" }
DOT = { split = "date code" }
"""

# A pandas frame goes in as it is, by the Arrow stream interface (pandas 2.2 and later).
run = audit_fleet(wheels, rulebook("DE", on="2026-11-25"), mapping=mapping)

findings = run.findings_of("fail", "unknown").collect().to_pandas()
tread = findings[findings["rule"] == "de.tyre.tread_depth"]
print(tread[["vehicle_id", "position", "outcome", "measured", "limit", "unit"]].to_string(index=False))

needs = run.needs().to_pandas()
print(needs[["meaning", "findings"]].head(3).to_string(index=False))
print(run.quality.collect().to_pandas()[["row", "column", "value", "kind"]].to_string(index=False))
