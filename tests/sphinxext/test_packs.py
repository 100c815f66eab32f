from __future__ import annotations

import re
from html import unescape


def text_of(html: str) -> str:
    """Return the words of the body, single-spaced."""
    body = html.partition('<div class="body"')[2].partition('<div class="sphinxsidebar"')[0]
    text = re.sub(r"<[^>]+>", " ", body).replace("\u200b", "").replace("¶", "")
    text = re.sub(r"\s+", " ", unescape(text))
    return re.sub(r" ([,;.])", r"\1", text)


PAGE = """# Page

{ref}`xb.tyre.tread_depth`, {ref}`the depth <parameter:xb.tread.min_depth>`, {ref}`the act <source:xb:act>`

```{pack-summary} xb
```
```{pack-rules} xb
```
## Sources
```{pack-sources} xb
```
"""


def test_a_page_of_a_pack_warns_of_nothing_and_its_labels_resolve(build):
    html, warned = build(PAGE)
    assert warned == ""
    assert 'href="#xb.tyre.tread_depth"' in html
    assert 'id="xb.tyre.tread_depth"' in html
    assert 'href="#parameter:xb.tread.min_depth"' in html
    assert 'href="#source:xb:act"' in html


def test_a_rule_shows_all_that_it_is(build):
    text = text_of(build(PAGE)[0])
    for told in (
        "xb.tyre.tread_depth · about each position · tied to where the vehicle is used · law · hold",
        "tread depth in the main grooves is at least xb.tread.min_depth",
        "category of the vehicle is one of M1, N1",
        "it is not so that the tyre is retreaded",
        "Renew the tyre.",
        "Let the air out first.",
        "Otherland, Act 7, art. 1 text read",
        "from 2001-01-01",
    ):
        assert told in text, told


def test_all_dated_values_are_shown_with_dates_and_grade(build):
    text = text_of(build(PAGE)[0])
    assert "1.0 mm 2001-01-01 2014-06-30 Otherland, Act 7, art. 1 text read" in text
    assert "1.6 mm 2014-07-01 open Otherland, Act 7, art. 1 as amended told by a secondary source" in text
    assert "1 November to 15 April 2010-11-01 2020-04-15" in text


def test_a_value_that_no_rule_reads_is_shown_with_every_printed_figure(build):
    text = text_of(build(PAGE)[0])
    assert "Values that other packs read" in text
    assert "65 psi / 450 kPa 450 kPa not in the sources; seen in force on 2007-05-01" in text


def test_bulk_support_is_told(build):
    text = text_of(build(PAGE)[0])
    assert text.count("In bulk : columns") == 2
    assert text.count("In bulk : row by row") == 1
    assert "judged by Python code that reads inflation pressure" in text


def test_cases_stand_beneath_their_rule_joined_with_their_base(build):
    text = text_of(build(PAGE)[0])
    assert "all with vehicle.category M1; tyre.retread no" in text
    assert "2026-01-15 tyre.tread_depth_main_grooves 1.6 mm pass margin 0" in text
    assert "2026-01-15 unknown missing tyre.tread_depth_main_grooves" in text


def test_summary_and_sources(build):
    text = text_of(build(PAGE)[0])
    assert "XB; subdivisions may have law of their own" in text
    assert "Rules : 3: 2 advise (tell the customer), 1 hold (the vehicle does not leave)" in text
    assert re.search(r"Otherland, Act 7, Road Act, 2020 ?\. text read, in language fr", text)


def test_coverage_counts_by_grade(build):
    html, warned = build("# Page\n```{pack-coverage} xb\n```\n")
    assert warned == ""
    # rules: two by the act (read) or practice; values: min_depth twice, unread, winter
    rows = [re.sub(r"<[^>]+>|\s+", " ", row).split() for row in re.findall(r"<tr.*?</tr>", html, re.S)]
    assert rows[1] == ["xb", "rules", "3", "2", "1"]
    assert rows[2] == ["values", "4", "3", "1"]
    assert rows[3] == ["clauses", "2", "2"]


def test_coverage_without_names_counts_every_pack(build):
    text = text_of(build("# Page\n```{pack-coverage}\n```\n")[0])
    assert "xb rules" in text
    assert "world rules" in text


def test_links_from_other_pages_find_the_rule(build):
    html, warned = build("# Page\n{limit}`xb.tread.min_depth@2020-01-01`\n", rules=PAGE)
    assert warned == ""
    assert 'href="rules.html#parameter:xb.tread.min_depth"' in html


def test_a_table_in_a_condition_is_linked_to_its_page(build):
    page = "# Page\n```{pack-rules} world\n```\n"
    html, warned = build(page, valves="# Valves\n```{reference-table} tubeless_valves\n```\n")
    assert warned == ""
    assert 'href="valves.html#table:tubeless_valves"' in html


def test_conditions_that_must_all_hold_stand_one_a_line(build):
    html, _ = build("# Page\n```{pack-rules} xb\n```\n")
    applies = html.partition("Applies where")[2].partition("In force")[0]
    assert applies.count("<li>") == 2


def test_clauses_that_no_rule_judges_are_listed_with_the_reason(build):
    html, warned = build(PAGE + "```{pack-clauses} xb\n```\n")
    assert warned == ""
    text = text_of(html)
    assert "The wheel is let down first asks for conduct at the work, not for a reading" in text
    assert "Light vans too is judged by another rule: xb.tyre.tread_depth from 2010-11-01" in text
