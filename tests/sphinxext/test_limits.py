from __future__ import annotations

import pytest


def test_a_limit_is_read_from_the_pack_with_its_source(build):
    html, warned = build("# Page\nIt is {limit}`xb.tread.min_depth@2026-11-25`.\n")
    assert warned == ""
    assert 'title="Otherland, Act 7, art. 1 as amended [told by a secondary source]">1.6 mm</abbr>' in html


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("xb.tread.min_depth@2014-06-30", "1.0 mm"),  # the day before the change
        ("xb.tread.min_depth@2014-07-01", "1.6 mm"),
        ("xb.tread.unread@2007-05-01", "65 psi / 450 kPa"),
        ("xb.tread.winter@2015-01-01", "1 November to 15 April"),
    ],
)
def test_the_day_decides(build, written, shown):
    html, warned = build(f"# Page\n{{limit}}`{written}`\n")
    assert warned == ""
    assert f">{shown}</abbr>" in html


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("xb.tread.min_dept@2026-11-25", "did you mean xb.tread.min_depth"),
        ("xb.tread.min_depth", "write xb.tread.min_depth@2026-11-25"),
        ("xb.tread.min_depth@1999-01-01", "its first is of 2001-01-01"),
        ("xb.tread.unread@2007-04-30", "has no value on 2007-04-30"),
        ("xb.tread.winter@2020-04-16", "has no value on 2020-04-16"),
        ("xbb.tread.min_depth@2026-11-25", "did you mean xb"),
    ],
)
def test_what_cannot_be_read_is_told_with_file_and_line(build, written, told):
    _, warned = build(f"# Page\n\n{{limit}}`{written}`\n")
    assert told in warned
    assert "index.md:3" in warned


def test_a_history_shows_every_value(build):
    html, warned = build("# Page\n```{parameter-history} xb.tread.min_depth\n```\n")
    assert warned == ""
    assert html.index("1.0 mm") < html.index("1.6 mm")
