"""Tables written: whole, in groups of rows of a fair size, as Parquet and as CSV."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pyarrow.parquet as pq
import pytest

from stemlore.audit import _writing as writing


def parts(count: int) -> list[pl.DataFrame]:
    words = ["a", None, "b", "c"]
    lists = [["tyre.size", "tyre.make"], [], None, ["tyre.size"]]
    return [
        pl.DataFrame({"row": list(range(n, n + 4)), "word": words, "missing": lists})
        for n in range(0, 4 * count, 4)
    ]


@pytest.mark.parametrize(("group", "groups"), [(100, [12]), (8, [8, 4]), (3, [2] * 6), (1, [1] * 12)])
def test_groups_are_no_larger_than_told_and_not_as_small_as_what_is_added(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, group: int, groups: list[int]
) -> None:
    monkeypatch.setattr(writing, "_GROUP", group)
    with writing.Files(tmp_path) as files:
        for each in parts(3):
            files.add("table", each)
    path = tmp_path / "table.parquet"
    assert pl.read_parquet(path).equals(pl.concat(parts(3)))
    with pq.ParquetFile(path) as file:
        assert [file.metadata.row_group(at).num_rows for at in range(file.num_row_groups)] == groups


@pytest.mark.parametrize("form", ["parquet", "csv"])
def test_a_table_without_rows_has_its_columns(tmp_path: Path, form: str) -> None:
    with writing.Files(tmp_path, form) as files:
        files.add("table", parts(1)[0].clear())
    path = tmp_path / f"table.{form}"
    made = pl.read_parquet(path) if form == "parquet" else pl.read_csv(path)
    assert (made.columns, made.height) == (["row", "word", "missing"], 0)


def test_in_csv_a_list_is_one_text(tmp_path: Path) -> None:
    with writing.Files(tmp_path, "csv") as files:
        for each in parts(2):
            files.add("table", each)
    told = (tmp_path / "table.csv").read_text()
    lines = told.splitlines()
    assert len(lines) == 9
    assert lines[1] == '0,"a","tyre.size; tyre.make"'
    assert pl.read_csv(tmp_path / "table.csv")["row"].to_list() == list(range(8))
