"""The section in small, as it stands in a corner of a job sheet."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

pytest.importorskip("matplotlib")

from stemlore.figures import wheel_section
from stemlore.model import Assembly
from stemlore.pages.density import FIGURE, FLOOR

sys.path.insert(0, str(Path(__file__).parent))

from test_figures import sensor_valve, snap_in, texts, truck  # noqa: E402

MAKERS = {
    "snap-in": snap_in,
    "truck's": truck,
    "sensor's": sensor_valve,
    "unknown": lambda: Assembly(position="axle 1 left"),
}
each = pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS)


@each
def test_its_texts_can_be_read_lie_on_it_and_on_no_other(make: object) -> None:
    assert callable(make)
    *found, (_, _, page) = texts(wheel_section(make(), compact=True))
    assert len(found) >= 4
    for index, (text, size, box) in enumerate(found):
        assert size >= FLOOR, text
        assert min(box.x0, box.y0) >= 0, text
        assert box.x1 <= page.width, text
        assert box.y1 <= page.height, text
        assert not any(box.overlaps(there) for _, _, there in found[index + 1 :]), text


@each
def test_it_is_as_wide_as_its_place_on_the_sheet(make: object) -> None:
    assert callable(make)
    svg = wheel_section(make(), compact=True).svg()
    found = re.search(r'width="([0-9.]+)pt"', svg)
    assert found is not None
    assert float(found[1]) * 25.4 / 72 == pytest.approx(FIGURE, abs=0.1)


def test_it_carries_the_measures_and_asks_for_those_that_are_missing() -> None:
    words = " ".join(text for text, _, _ in texts(wheel_section(snap_in(), compact=True)))
    for number in ("11.3", "3.5", "38.1", "42", "36"):
        assert number in words
    assert "?" not in words
    words = " ".join(
        text for text, _, _ in texts(wheel_section(Assembly(position="axle 1 left"), compact=True))
    )
    assert words.count("?") == 5


@each
def test_it_says_in_words_what_the_large_one_says(make: object) -> None:
    assert callable(make)
    small, large = wheel_section(make(), compact=True), wheel_section(make())
    assert (small.title, small.description, small.missing) == (large.title, large.description, large.missing)
