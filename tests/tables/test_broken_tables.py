"""A broken table says everything that is wrong with it, with file and line."""

from __future__ import annotations

import json
import pickle
from pathlib import Path
from typing import Any

import pytest

from stemlore.errors import TableError, UnknownTableError
from stemlore.provenance import Grade
from stemlore.tables._reader import read_package

SOURCES = (
    "id,title,issuer,number,edition,url,read_on,language,grade\n"
    "std,Some standard,A body,S 1,2001,,2026-02-28,en,read\n"
    "told,Some article,A paper,,2002,,,en,secondary\n"
)
GOOD = (
    "mark,steps,size_mm,kind,source,also,at,grade\n"
    "A,1,2.5,round,std,told,clause 1,read\n"
    "A,1,2.6,round,told,,page 2,secondary\n"
    "B,2,,square,told,,page 3,secondary\n"
    "C,3,7,round,,,,practice\n"
)


def described(name: str, kind: str = "string", **constraints: Any) -> dict[str, Any]:
    return {"name": name, "type": kind, "title": name, "unit": "", "constraints": constraints}


def descriptor() -> dict[str, Any]:
    columns = [
        described("mark", required=True),
        described("steps", "integer", minimum=0, maximum=9),
        described("size_mm", "number"),
        described("kind", enum=["round", "square"]),
        *(described(name) for name in ("source", "also", "at", "grade")),
    ]
    sources = [described(name) for name in SOURCES.partition("\n")[0].split(",")]
    sources[6]["type"] = "date"
    return {
        "resources": [
            {"name": "sources", "path": "sources.csv", "schema": {"fields": sources, "primaryKey": "id"}},
            {
                "name": "marks",
                "title": "Marks",
                "path": "marks.csv",
                "main": "size_mm",
                "schema": {"fields": columns, "primaryKey": ["mark", "source"]},
            },
        ]
    }


def write(
    folder: Path, marks: str = GOOD, sources: str = SOURCES, package: dict[str, Any] | None = None
) -> Path:
    (folder / "datapackage.json").write_text(json.dumps(package or descriptor()), encoding="utf-8")
    (folder / "marks.csv").write_text(marks, encoding="utf-8")
    (folder / "sources.csv").write_text(sources, encoding="utf-8")
    return folder


def faults_of(folder: Path) -> list[str]:
    with pytest.raises(TableError) as caught:
        read_package(folder).read("marks")
    assert isinstance(caught.value, ValueError)
    again = pickle.loads(pickle.dumps(caught.value))
    assert again.faults == caught.value.faults
    return [str(fault) for fault in caught.value.faults]


def test_a_good_table_loads(tmp_path: Path) -> None:
    marks = read_package(write(tmp_path)).read("marks")
    assert marks.lookup("A").value == 2.5
    assert marks.lookup("C").citation.source is None
    assert marks.lookup("C").citation.grade is Grade.PRACTICE
    assert marks.weakest_grade is Grade.PRACTICE
    assert [source.id for source in marks.rows[0].also] == ["told"]
    assert marks.lookup("B", column="steps").value == 2
    with pytest.raises(UnknownTableError):
        read_package(tmp_path).read("sources")


def test_all_faults_of_a_table_are_told_at_once(tmp_path: Path) -> None:
    rows = [
        "mark,steps,size_mm,kind,source,also,at,grade",
        ",1,2.5,round,std,,clause 1,read",  # 2: key empty
        "B,1.5,2.5,round,std,,clause 1,read",  # 3: no integer
        "C,1,wide,round,std,,clause 1,read",  # 4: no number
        "D,1,nan,round,std,,clause 1,read",  # 5: not finite
        "E,10,2.5,round,std,,clause 1,read",  # 6: beyond the maximum
        "F,1,2.5,rond,std,,clause 1,read",  # 7: word not allowed
        "G,1,2.5,round,sdt,,clause 1,read",  # 8: no such source
        "H,1,2.5,round,std,,,read",  # 9: no place
        "I,1,2.5,round,std,,clause 1,sure",  # 10: no grade
        "J,1,2.5,round,std,,clause 1,memory",  # 11: memory
        "K,1,2.5,round,,,clause 1,secondary",  # 12: source missing
        "L,1,2.5,round,told,,page 1,read",  # 13: stronger than its source
        "M,1,2.5,round,std,tld,clause 1,read",  # 14: no such further source
        "N,1,2.5,round,std,,clause 1,read",
        "N,1,2.6,round,std,,clause 2,read",  # 16: key twice
        "O,1,2.5,round,std,clause 1,read",  # 17: too few cells
        "P ,1,2.5,round,std,,clause 1,read",  # 18: space
    ]
    told = faults_of(write(tmp_path, marks="\n".join(rows) + "\n"))
    expected = {
        2: "mark: the cell is empty",
        3: "steps: '1.5' is no integer",
        4: "size_mm: 'wide' is no number",
        5: "size_mm: 'nan' is no number",
        6: "steps: 10 is not between 0 and 9",
        7: "kind: 'rond' is not one of the words allowed (round)",
        8: "source: there is no source 'sdt' (did you mean std?)",
        9: "at: the place in the source is missing",
        10: "grade: 'sure' is no grade",
        11: "grade: what is known from memory only",
        12: "source: a row of grade secondary must name its source",
        13: "grade: read is stronger than the grade secondary",
        14: "also: there is no source 'tld'",
        16: "the key N, std stands in line 15 too",
        17: "7 cells where 8 are needed",
        18: "mark: 'P ' has spaces around it",
    }
    for line, message in expected.items():
        assert [text for text in told if text.startswith(f"marks.csv:{line}: {message}")], (line, told)
    assert len(told) == len(expected)


@pytest.mark.parametrize("text", ["inf", "-inf", "1e999", "1_0", "2,5", "0x1", "--1"])
def test_a_number_is_a_plain_finite_number(tmp_path: Path, text: str) -> None:
    cell = f'"{text}"' if "," in text else text
    told = faults_of(write(tmp_path, marks=GOOD.replace("2.5", cell)))
    assert told == [f"marks.csv:2: size_mm: {text!r} is no number"]


def test_a_header_that_differs_stops_the_table(tmp_path: Path) -> None:
    (told,) = faults_of(write(tmp_path, marks=GOOD.replace("size_mm", "size_in")))
    assert told.startswith("marks.csv:1: the header does not match the descriptor: without size_mm")
    assert "'size_in', not described" in told
    swapped = GOOD.replace("mark,steps", "steps,mark")
    (told,) = faults_of(write(tmp_path, marks=swapped))
    assert "other order" in told


def test_faults_of_sources_come_with_those_of_the_table(tmp_path: Path) -> None:
    sources = SOURCES.replace("2026-02-28", "2026-02-29").replace("secondary", "heard")
    told = faults_of(write(tmp_path, marks=GOOD.replace("2.5", "x"), sources=sources))
    assert "sources.csv:2: read_on: '2026-02-29' is no date" in told
    assert any(text.startswith("sources.csv:3: grade: 'heard' is no grade") for text in told)
    assert "marks.csv:2: size_mm: 'x' is no number" in told
    with pytest.raises(TableError, match=r"sources\.csv:3"):
        _ = read_package(tmp_path).sources


def test_a_source_twice_is_a_fault(tmp_path: Path) -> None:
    twice = SOURCES + "std,Another,A body,,,,,en,read\n"
    assert faults_of(write(tmp_path, sources=twice)) == ["sources.csv:4: the key std stands in line 2 too"]


def test_two_rows_of_practice_clash_though_neither_has_a_source(tmp_path: Path) -> None:
    told = faults_of(write(tmp_path, marks=GOOD + "C,4,8,round,,,,practice\n"))
    assert told == ["marks.csv:6: the key C stands in line 5 too"]


def test_a_key_of_nought_counts_as_a_key(tmp_path: Path) -> None:
    package = descriptor()
    package["resources"][1]["schema"]["primaryKey"] = ["steps", "source"]
    marks = GOOD.replace("A,1,", "A,0,").replace("told,,page 2", "std,,page 2")
    told = faults_of(write(tmp_path, marks=marks, package=package))
    assert told == ["marks.csv:3: the key 0, std stands in line 2 too"]


def test_faults_of_the_descriptor(tmp_path: Path) -> None:
    package = descriptor()
    schema = package["resources"][1]["schema"]
    schema["fields"][1]["type"] = "whole"
    schema["primaryKey"] = ["size_mm", "colour", "source"]
    package["resources"][1]["main"] = "weight"
    told = faults_of(write(tmp_path, package=package))
    assert any("marks.steps: type 'whole' is not read" in text for text in told)
    assert "datapackage.json: marks.colour: this column is not described" in told
    assert "datapackage.json: marks: the main column 'weight' is not described" in told
    assert "datapackage.json: marks.size_mm: a key cannot be a number with a fraction" in told


def test_a_table_without_key_or_citation_is_refused(tmp_path: Path) -> None:
    package = descriptor()
    schema = package["resources"][1]["schema"]
    del schema["primaryKey"]
    schema["fields"] = [item for item in schema["fields"] if item["name"] != "grade"]
    told = faults_of(write(tmp_path, package=package))
    assert "datapackage.json: marks.grade: this column is not described" in told
    assert "datapackage.json: marks: the table has no primaryKey" in told


@pytest.mark.parametrize("content", ["", "{", "[]", "{}", '{"resources": [{"name": "a"}]}'])
def test_a_descriptor_that_cannot_be_read(tmp_path: Path, content: str) -> None:
    (tmp_path / "datapackage.json").write_text(content, encoding="utf-8")
    with pytest.raises(TableError, match=r"datapackage\.json: cannot be read"):
        read_package(tmp_path)
    with pytest.raises(TableError, match=r"datapackage\.json: cannot be read"):
        read_package(tmp_path / "nowhere")


def test_a_file_that_is_not_there_or_not_text(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "marks.csv").write_bytes(b"\xff\xfe")
    assert faults_of(tmp_path)[0].startswith("marks.csv: marks: the file cannot be read")
    (tmp_path / "marks.csv").unlink()
    assert faults_of(tmp_path)[0].startswith("marks.csv: marks: the file cannot be read")
    (tmp_path / "marks.csv").write_text("", encoding="utf-8")
    assert "the header does not match" in faults_of(tmp_path)[0]


def test_an_open_quote_is_told(tmp_path: Path) -> None:
    told = faults_of(write(tmp_path, marks=GOOD + 'D,1,1,round,std,,"clause,read\n'))
    assert any("not CSV" in text for text in told)
