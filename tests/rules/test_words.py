"""Trees in words: every kind of node reads as a phrase, and no name of a class shows."""

from __future__ import annotations

import inspect
import re
from datetime import date

import pytest

from stemlore.rules import (
    choose,
    constant,
    every,
    exp,
    field,
    first_known,
    log,
    lookup,
    parameter,
    same,
    some,
    spread,
    today,
    years_since,
)
from stemlore.rules import nodes as n
from stemlore.rules._lower import lowered
from stemlore.rules.seasons import MovingDay, Season
from stemlore.rules.words import in_words, value_words
from stemlore.units import unit

DEPTH = field("tyre.tread_depth_main_grooves")
PRESSURE = field("tyre.pressure")
STUDDED = field("tyre.studded")
MADE = field("tyre.manufactured")
CATEGORY = field("vehicle.category")
LOAD = lookup("load_index", field("tyre.load_index"), "load_kg")

# a field stands first, as packs write it
CASES = [
    (DEPTH >= "1.6 mm", "tread depth in the main grooves is at least 1.6 mm"),
    (DEPTH > "1.6 mm", "tread depth in the main grooves is above 1.6 mm"),
    (DEPTH <= "1.6 mm", "tread depth in the main grooves is at most 1.6 mm"),
    (DEPTH < "1.6 mm", "tread depth in the main grooves is below 1.6 mm"),
    (~(DEPTH < "1.6 mm"), "tread depth in the main grooves is not below 1.6 mm"),
    (DEPTH.within("1 mm", "8 mm"), "tread depth in the main grooves is between 1 mm and 8 mm"),
    (DEPTH >= parameter("xa.tread.depth"), "tread depth in the main grooves is at least [xa.tread.depth]"),  # noqa: SIM300
    (CATEGORY.equals("M1"), "category of the vehicle is M1"),
    (CATEGORY.one_of("M1", "N1"), "category of the vehicle is one of M1, N1"),
    (field("valve.kind").one_of("clamp_in"), "kind of valve is clamp in"),
    (PRESSURE.one_of("2 bar"), "inflation pressure (gauge) is 200 kPa"),
    (~STUDDED, "it is not so that the tyre is studded"),
    (
        STUDDED & (DEPTH > "3 mm"),
        "the tyre is studded, and tread depth in the main grooves is above 3 mm",
    ),
    (STUDDED | field("tyre.retread"), "either the tyre is studded, or the tyre is retreaded"),
    (DEPTH - "1 mm" >= "2 mm", "tread depth in the main grooves − 1 mm is at least 2 mm"),
    (2 * (DEPTH + "1 mm") >= "2 mm", "2 × (tread depth in the main grooves + 1 mm) is at least 2 mm"),
    (years_since(MADE) <= "6 year", "years since date of manufacture of the tyre is at most 6 years"),
    (date(2020, 1, 2) <= MADE, "date of manufacture of the tyre is at least 2020-01-02"),
    (choose(STUDDED, "3 mm", "1.6 mm") <= DEPTH, None),
    (
        PRESSURE <= first_known(field("maker.cold_pressure"), "2 bar"),  # noqa: SIM300
        "inflation pressure (gauge) is at most cold inflation pressure that the maker gives, else 200 kPa",
    ),
    (
        LOAD >= "500 kg",
        "greatest load of one tyre by load index in single fitment (table load_index) is at least 500 kg",
    ),
    (every(STUDDED), "for every wheel, the tyre is studded"),
    (some(STUDDED), "for at least one wheel, the tyre is studded"),
    (same(DEPTH), "all wheels have the same tread depth in the main grooves"),
    (same(field("tyre.studded")), "all wheels agree on whether the tyre is studded"),
    (spread(DEPTH) <= "2 mm", "difference in tread depth in the main grooves between wheels is at most 2 mm"),
    (exp(constant(1)) >= 1, "exp(1) is at least 1"),
    (log(constant(1)) >= 1, "log(1) is at least 1"),
    (constant(True), "yes"),
    (today() >= date(2024, 1, 1), "today is at least 2024-01-01"),
    (n.UNKNOWN, "not decided"),
    (Season((11, 1), (4, 15)).node(), "either from 11-01, or to 04-15"),
    (Season((11, 1), MovingDay("easter + 7")).node(), "the day lies from 11-01 to easter + 7"),
    (
        n.Step("vehicle.first_registration", (date(2014, 11, 1),), (True,), "flag"),
        "the value by date of first registration",
    ),
]


@pytest.mark.parametrize(("tree", "words"), CASES)
def test_a_tree_reads_as_a_phrase(tree, words):
    assert words is None or in_words(tree) == words


CLASSES = {name for name, cls in inspect.getmembers(n, inspect.isclass) if issubclass(cls, n.Node)}


@pytest.mark.parametrize("tree", [tree for tree, _ in CASES])
def test_no_name_of_a_class_shows_in_a_tree_or_any_part_of_it(tree):
    for whole in (tree, lowered(tree)):
        for part in n.walk(whole):
            words = in_words(part)
            assert words
            assert not re.search(rf"\b(?:{'|'.join(CLASSES - {'Not'})})\b\(?", words), words
            assert "None" not in words
            assert "Not(" not in words


def test_every_kind_of_node_is_read_here():
    seen = {
        type(part).__name__ for tree, _ in CASES for whole in (tree, lowered(tree)) for part in n.walk(whole)
    }
    assert CLASSES - {"Node"} - seen == set()


@pytest.mark.parametrize(
    ("value", "given", "words"),
    [
        (None, None, "not known"),
        (True, None, "yes"),
        (False, None, "no"),
        (1.6, unit("mm"), "1.6 mm"),
        (91.0, None, "91"),
        (1.0, unit("year"), "1 year"),
        (6.0, unit("year"), "6 years"),
        (5.0, unit("N.m"), "5 N·m"),
        (20.0, unit("degC"), "20 °C"),
        (date(2024, 2, 29), None, "2024-02-29"),
        ("clamp_in", None, "clamp in"),
    ],
)
def test_values_in_words(value, given, words):
    assert value_words(value, given) == words
