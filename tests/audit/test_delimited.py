"""Text files of cells as several countries write them: marks, text that is not UTF-8, ragged rows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import polars as pl
import pytest

from stemlore.audit._sources import open_source
from stemlore.errors import SourceError

CSV = "vehicle_id{0}position{0}vehicle_category{0}tyre_tread_depth_main_grooves_mm\n"
ROWS = "A{0}axle 1 left{0}M1{0}1.0\nA{0}axle 1 right{0}M1{0}1.9\n"


def depths(path: Path) -> list[Any]:
    frame = pl.concat(open_source(path).batches())
    return frame["tyre_tread_depth_main_grooves_mm"].to_list()


@pytest.mark.parametrize("mark", [";", "\t", ","])
@pytest.mark.parametrize("name", ["a.csv", "a.tsv", "a.txt", "A.CSV"])
def test_the_mark_between_cells_is_seen_in_the_header(tmp_path: Path, mark: str, name: str) -> None:
    path = tmp_path / name
    path.write_text((CSV + ROWS).format(mark))
    assert depths(path) == ["1.0", "1.9"]


@pytest.mark.parametrize("mark", [";", "\t", ","])
def test_marks_within_quotes_part_nothing(tmp_path: Path, mark: str) -> None:
    path = tmp_path / "a.csv"
    head = f'"Tread, main; all\tof it"{mark}tyre_tread_depth_main_grooves_mm\n'
    path.write_text(head + f'"x, y; z\tw"{mark}"1,0"\n')
    assert depths(path) == ["1,0"]


def test_decimal_commas_do_not_part_cells_of_a_table_with_semicolons(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("a, b, c;tyre_tread_depth_main_grooves_mm\nx;1,0\ny;2,0\n")
    assert depths(path) == ["1,0", "2,0"]


def test_a_byte_order_mark_is_no_part_of_the_first_name(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"\xef\xbb\xbf" + (CSV + ROWS).format(";").encode())
    assert next(iter(open_source(path).schema)) == "vehicle_id"


@pytest.mark.parametrize("text", ["Gr\u00f6\u00dfe;a\n1;2\n", "Size;a\n1;2\n\u00fc;3\n"])
@pytest.mark.parametrize("code", ["latin-1", "utf-16"])
def test_a_text_that_is_not_utf_8_says_how_to_save_it(tmp_path: Path, text: str, code: str) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(text.encode(code))
    with pytest.raises(SourceError, match="save it as UTF-8"):
        list(open_source(path).batches())


@pytest.mark.parametrize(("row", "cells"), [("B;axle 1 left", "2"), ("B;axle 1 left;M1;1,0;5", "5")])
def test_a_row_with_cells_too_few_or_many_is_named_by_its_line(tmp_path: Path, row: str, cells: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text((CSV + ROWS).format(";") + f'A;"two\nlines";M1;1.0\n\n{row}\n' + ROWS.format(";"))
    with pytest.raises(SourceError, match=f"line 7 has {cells} cells, the header 4"):
        list(open_source(path).batches())


def test_a_spreadsheet_is_to_be_saved_as_csv(tmp_path: Path) -> None:
    for name in ("a.xlsx", "a.xls", "a.ods"):
        path = tmp_path / name
        path.write_bytes(b"PK")
        with pytest.raises(SourceError, match="CSV UTF-8"):
            open_source(path)


def test_a_folder_takes_tabs_and_semicolons_and_leaves_notes_alone(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text((CSV + ROWS).format(";"))
    (tmp_path / "b.tsv").write_text((CSV + ROWS).format("\t"))
    (tmp_path / "readme.txt").write_text("no table")
    assert depths(tmp_path) == ["1.0", "1.9"] * 2


def test_json_is_no_table(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    path.write_text("[]")
    with pytest.raises(SourceError, match="is no table"):
        open_source(path)


def test_a_row_far_below_the_header_is_named_by_its_line_too(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(CSV.format(",") + ROWS.format(",") * 100_000 + "B,axle 1 left\n")
    with pytest.raises(SourceError, match="line 200002 has 2 cells, the header 4"):
        list(open_source(path).batches())


def test_cells_with_line_ends_are_read_whole_wherever_blocks_end(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(CSV.format(",") + 'A,"two\nlines",M1,1.0\n' * 100_000)
    frame = pl.concat(open_source(path).batches())
    assert frame.height == 100_000
    assert frame["position"].unique().to_list() == ["two\nlines"]
