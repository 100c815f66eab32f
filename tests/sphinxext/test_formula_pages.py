"""Every subject of formulas has a page in the docs."""

from __future__ import annotations

import re
from pathlib import Path

from stemlore.formulas import formulas

PAGES = Path(__file__).parents[2] / "docs" / "reference" / "formulas"


def test_every_subject_has_a_page_and_every_page_a_subject() -> None:
    subjects = {each.subject for each in formulas().values()}
    assert {path.stem for path in PAGES.glob("*.md")} - {"index"} == subjects
    index = (PAGES / "index.md").read_text("utf-8")
    for subject in subjects:
        assert re.search(rf"^{subject}$", index, re.M)
        assert f"{{formula-list}} {subject}" in (PAGES / f"{subject}.md").read_text("utf-8")


def test_one_subject_is_listed_alone_and_an_unknown_one_refused(build) -> None:
    html, warned = build("# Page\n```{formula-list} pressure\n```\n")
    assert 'id="formula:cold_pressure"' in html
    assert 'id="formula:overall_diameter"' not in html
    assert "new_temperature" in html
    assert not warned
    _, warned = build("# Page\n```{formula-list} presure\n```\n")
    assert "did you mean pressure" in warned
