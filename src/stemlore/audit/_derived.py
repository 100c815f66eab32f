"""What follows from other cells of a row or vehicle, as a record of the model derives it."""

from __future__ import annotations

from typing import Any

from stemlore.audit._polars import pl
from stemlore.model import FIELDS
from stemlore.model.condition import SOUND
from stemlore.model.tyre import WEEK_MAY_DIFFER

__all__ = ["FROM_CODE", "FROM_NUMBER", "FROM_SIZE", "Wrong", "derived", "twins"]

FROM_SIZE, FROM_NUMBER, FROM_CODE = "from size ", "from number ", "from code "
"""What stands before the name of a column that a designation tells."""
_WORDS = {FROM_SIZE: "the designation", FROM_CODE: "the valve code"}
_MADE = ("tyre_manufactured_earliest", "tyre_manufactured_latest")
Wrong = tuple[pl.Series, str, pl.Series]
"""Rows that contradict, the column that is then missing, and why."""


def derived(frame: pl.DataFrame) -> tuple[pl.DataFrame, list[Wrong]]:
    """Fill in what designations and a sound condition tell; what contradicts them is missing."""
    wrong: list[Wrong] = []
    frame = _of_number(frame, wrong)
    for prefix, words in _WORDS.items():
        for name in [each for each in frame.columns if each.startswith(prefix)]:
            told = frame[name]
            frame = _follow(frame.drop(name), name.removeprefix(prefix), told, words, wrong)
    if "condition_sound" in frame.columns:
        for name, value in SOUND.items():
            made = pl.when(pl.col("condition_sound")).then(pl.lit(value)).alias("m")
            told = frame.select(made)["m"]
            frame = _follow(frame, FIELDS[f"condition.{name}"].column, told, "sound", wrong)
    return frame, wrong


def _follow(
    frame: pl.DataFrame, target: str, told: pl.Series, source: str, wrong: list[Wrong]
) -> pl.DataFrame:
    if target not in frame.columns:
        return frame.with_columns(told.alias(target))
    given = frame[target].cast(told.dtype)
    differ = (given != told).fill_null(False)
    if differ.any():
        text = told.cast(pl.String).filter(differ)
        why = pl.select(pl.format(f"contradicts {source}, which says {{}}", text)).to_series()
        wrong.append((differ, target, why))
    kept = given.zip_with(given.is_not_null(), told).set(differ, None)
    return frame.with_columns(kept.alias(target))


def _of_number(frame: pl.DataFrame, wrong: list[Wrong]) -> pl.DataFrame:
    """Take the week of an identification number; a date that is given counts where it may be the same."""
    names = [f"{FROM_NUMBER}{name}" for name in _MADE]
    if names[0] not in frame.columns:
        return frame
    first, last = (frame[name] for name in names)
    frame = frame.drop(names)
    nothing = pl.Series([None], dtype=pl.Date).new_from_index(0, frame.height)
    given = [frame[name].cast(pl.Date) if name in frame.columns else nothing for name in _MADE]
    apart = ((given[1] < first) | (given[0] > last + WEEK_MAY_DIFFER)).fill_null(False)
    if apart.any():
        text = first.cast(pl.String).filter(apart)
        why = pl.select(pl.format("contradicts the identification number, which says {}", text)).to_series()
        wrong.append((apart, _MADE[0], why))
    told = given[0].is_not_null() | given[1].is_not_null()
    made = [
        own.zip_with(told, number).set(apart, None) for own, number in zip(given, (first, last), strict=True)
    ]
    return frame.with_columns(each.alias(name) for each, name in zip(made, _MADE, strict=True))


_TWIN = "vehicle_twin_wheels"
_NEEDED = {"vehicle_id", "vehicle_axle_count", "axle_number", "axle_fitment"}


def twins(frame: pl.DataFrame) -> tuple[pl.DataFrame, list[Wrong]]:
    """Tell twin wheels from the fitments of the axles, where the vehicle's axles are declared."""
    wrong: list[Wrong] = []
    if not set(frame.columns) >= _NEEDED:
        return frame, wrong
    fitment: Any = pl.col("axle_fitment").drop_nulls().first()
    axles = (
        frame.filter(pl.col("axle_number").is_not_null())
        .group_by("vehicle_id", "axle_number")
        .agg(fitment.alias("fitment"), pl.col("vehicle_axle_count").max().alias("declared"))
    )
    whole = axles.group_by("vehicle_id").agg(
        (pl.col("fitment") == "dual").any().alias("dual"),
        (pl.col("fitment").is_not_null() & (pl.col("axle_number") <= pl.col("declared")))
        .sum()
        .alias("known"),
        pl.col("declared").max(),
    )
    twin: Any = pl.when(pl.col("declared").is_not_null() & pl.col("dual")).then(True)
    twin = twin.when(pl.col("known") == pl.col("declared")).then(False)
    told = frame.select("vehicle_id").join(
        whole.select("vehicle_id", twin.alias("m")), on="vehicle_id", how="left", maintain_order="left"
    )["m"]
    return _follow(frame, _TWIN, told, "the fitment of the axles", wrong), wrong
