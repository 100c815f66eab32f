from __future__ import annotations

import re

import pytest

from stemlore.model import specs_of
from stemlore.sphinxext._records import RECORDS
from stemlore.tables import table, table_names


def rows_of(html: str) -> list[list[str]]:
    rows = re.findall(r"<tr.*?</tr>", html, re.S)
    return [
        [
            re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", cell)).replace("\u200b", "").strip()
            for cell in re.findall(r"<t[dh].*?</t[dh]>", row, re.S)
        ]
        for row in rows
    ]


@pytest.mark.parametrize("name", RECORDS)
def test_every_field_of_every_record_is_shown(build, name):
    html, warned = build(f"# Page\n```{{record-fields}} {name}\n```\n")
    assert warned == ""
    shown = rows_of(html)[1:]
    specs = list(specs_of(RECORDS[name]).values())
    assert [row[0].split()[0] for row in shown] == [spec.name for spec in specs]
    assert [row[1] for row in shown] == [spec.meaning for spec in specs]


def test_a_field_shows_unit_column_and_how_it_is_read(build):
    html, _ = build("# Page\n```{record-fields} tyre\n```\n")
    (row,) = [row for row in rows_of(html) if row[0].startswith("pressure ")]
    assert row[0] == "pressure column tyre_pressure_kpa"
    assert row[2] == "kPa"
    assert row[3] == "Take it with a checked gauge at the valve."


@pytest.mark.parametrize("name", table_names())
def test_every_row_and_cell_of_every_table_is_shown(build, name):
    found = table(name)
    html, warned = build(f"# Page\n```{{reference-table}} {name}\n:beside: 1\n```\n")
    assert warned == ""
    shown = rows_of(html)
    start = next(index for index, row in enumerate(shown) if row and row[-1] == "Source")
    assert len(shown) - start - 1 == len(found.rows)
    assert [row[0] for row in shown[start + 1 :]] == [str(row[found.columns[0].name]) for row in found.rows]
    assert all(row[-1] for row in shown[start + 1 :])


def test_the_load_index_is_as_published_and_stands_in_blocks(build):
    html, _ = build("# Page\n```{reference-table} load_index\n```\n")
    pairs = {(row[at], row[at + 1]) for row in rows_of(html) if len(row) == 9 for at in (0, 3, 6)}
    # 91 stands for 615 kg, 121 for 1450 kg in a tyre maker's load index chart of 75 to 150
    assert {("91", "615"), ("121", "1450")} <= pairs
    assert len(pairs - {("", "")}) == len(table("load_index").rows) + 1  # and the heading


def test_letters_lead_to_notes_and_numbers_to_sources(build):
    html, _ = build("# Page\n```{reference-table} tubeless_valves\n```\n")
    for target in set(re.findall(r'href="#(tubeless_valves-[^"]+)"', html)):
        assert f'id="{target}"' in html, target


@pytest.mark.parametrize(
    ("directive", "told"),
    [
        ("reference-table} load_indx", "did you mean load_index"),
        ("record-fields} tire", "did you mean tyre"),
        ("pack-rules} xbb", "did you mean xb"),
        ("pack-sources} nowhere", "it is not installed"),
        ("parameter-history} xb.tread.min", "xb.tread.min_depth"),
        ("pack-coverage} wrld", "did you mean world"),
    ],
)
def test_errors_name_file_line_and_near_misses(build, directive, told):
    _, warned = build(f"# Page\n\n```{{{directive}\n```\n")
    assert told in warned
    assert "index.md:3" in warned


def test_every_formula_is_shown_with_its_sources_and_examples(build):
    from stemlore.formulas import formulas

    html, warned = build("# Page\n```{formula-list}\n```\n")
    assert warned == ""
    for each in formulas().values():
        assert f'id="formula:{each.name}"' in html
    assert html.count("<tbody>") == sum(bool(each.examples) for each in formulas().values())
