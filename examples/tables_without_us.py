"""Read a reference table without this library: one line of Polars, or Python's own csv module."""

import csv
import sys
from pathlib import Path

# In a workshop's own program this is the folder where the data package was unpacked.
DATA = Path(__file__).parents[1] / "src" / "stemlore" / "tables" / "data"


def with_csv() -> None:
    """Print who says that a load index of 91 stands for how much."""
    with (DATA / "load_index.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["load_index"] == "91"]
    for row in rows:
        print(f"csv: load index 91 is {row['load_kg']} kg ({row['source']}, {row['at']}, {row['grade']})")


def with_polars() -> None:
    """Print the rim widths that a truck tyre may sit on."""
    import polars as pl

    rims = pl.read_csv(DATA / "tyre_rims.csv")  # the one line

    row = rims.filter(pl.col("size") == "315/80R22.5").row(0, named=True)
    print(f"polars: 315/80R22.5 sits on {row['approved_rims']} ({row['source']}, {row['grade']})")


if __name__ == "__main__":
    with_csv()
    try:
        with_polars()
    except ModuleNotFoundError as error:
        print(f"{error}: pip install polars", file=sys.stderr)
