"""The invented fleet and the twenty rules that the benchmarks in bulk share."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import polars as pl
from car import DAY, PACK

from stemlore.rules import Cite, PackFolder, Rule, Rulebook, discover, field, same
from stemlore.rules._resolve import compile_rules, open_rules
from stemlore.rules.rule import Tie
from stemlore.rules.rulebook import Coverage, TieCoverage

__all__ = ["AXLE_RULES", "NUMBERS", "WHEEL_RULES", "book_of_twenty", "wheels"]

WHEEL_RULES = tuple(
    f"xa.{name}"
    for name in (
        "tyre.min_depth tyre.min_depth_lorry tyre.advised_depth tyre.min_depth_whole tyre.min_depth_adjacent "
        "tyre.min_pressure tyre.min_pressure_heavy tyre.min_load_index tyre.min_load_index_lorry "
        "tyre.max_pressure tyre.ceiling tyre.max_depth valve.min_valve_length valve.min_valve_pressure "
        "wheel.min_wheel_load wheel.min_thickness wheel.hole tyre.construction"
    ).split()
)
AXLE_RULES = ("xa.axle.construction", "xa.axle.load_index")
# column, middle and spread of what is read there
NUMBERS = {
    "tyre_tread_depth_main_grooves_mm": (5.0, 2.0),
    "tyre_tread_depth_whole_tread_mm": (4.0, 1.5),
    "tyre_tread_depth_two_adjacent_grooves_mm": (4.5, 1.5),
    "tyre_pressure_kpa": (260.0, 60.0),
    "valve_effective_length_mm": (33.0, 4.0),
    "valve_rated_pressure_kpa": (520.0, 40.0),
    "wheel_rated_load_kg": (690.0, 120.0),
    "wheel_thickness_at_hole_mm": (3.5, 0.8),
    "wheel_valve_hole_mm": (11.5, 0.1),
}


@lru_cache(maxsize=1)
def book_of_twenty() -> Rulebook:
    """Return a rulebook of eighteen rules of a wheel and two of an axle."""
    pack = PackFolder(PACK).load()
    rules = [pack.rules[name] for name in WHEEL_RULES]
    for name, path in zip(AXLE_RULES, ("tyre.construction", "tyre.load_index"), strict=True):
        rules.append(
            Rule(
                id=name,
                title=f"Tyres of one axle are alike: {path}",
                subject="axle",
                check=same(field(path)),
                tie="used_in",
                basis="law",
                gravity="remedy",
                cite=Cite("road_act", "art. 60"),
                advice="Put it right.",
            )
        )
    opened = open_rules([(rule, pack) for rule in rules], [pack], DAY)
    ties = tuple(TieCoverage(tie=tie, place="XA", packs=("xa",), covered=True) for tie in Tie)
    return Rulebook(
        on=DAY,
        coverage=Coverage(ties),
        epoch=(DAY, DAY),
        decision="simple",
        packs={"xa": pack},
        compiled=compile_rules(opened),
        found=discover(),
    )


def wheels(rows: int, *, seed: int = 7) -> pl.DataFrame:
    """Return a fleet of vehicles of four wheels; a fiftieth of readings is missing, half a hundredth NaN."""
    assert rows % 4 == 0
    chance = np.random.default_rng(seed)
    vehicles = rows // 4
    category = chance.choice(["M1", "N1", "N3"], vehicles, p=[0.7, 0.2, 0.1])
    mass = np.where(category == "M1", 1900.0, np.where(category == "N1", 3100.0, 18000.0))
    index = np.where(category == "M1", 91, np.where(category == "N1", 109, 156))
    made: dict[str, Any] = {
        "vehicle_id": np.arange(vehicles).repeat(4),
        "axle_number": np.tile([1, 1, 2, 2], vehicles),
        "side": np.tile(["left", "right"], vehicles * 2),
        "axle_fitment": np.full(rows, "single"),
        "vehicle_category": category.repeat(4),
        "vehicle_gross_mass_kg": mass.repeat(4),
    }
    holes: dict[str, Any] = {}
    for name, (middle, spread) in NUMBERS.items():
        values = np.abs(chance.normal(middle, spread, rows)).round(2)
        values[chance.random(rows) < 0.005] = np.nan
        made[name], holes[name] = values, chance.random(rows) < 0.02
    index = np.where(chance.random(rows) < 0.01, 60, index.repeat(4))
    made["tyre_load_index"], holes["tyre_load_index"] = index, chance.random(rows) < 0.02
    made["tyre_construction"] = np.where(chance.random(rows) < 0.01, "diagonal", "radial")
    holes["tyre_construction"] = chance.random(rows) < 0.02
    frame = pl.DataFrame(made)
    return frame.with_columns(
        pl.when(~pl.Series(hole)).then(pl.col(name)).alias(name) for name, hole in holes.items()
    )
