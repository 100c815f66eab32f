"""Places are ISO 3166 codes, EU, UN and world; a near miss gets a hint."""

from __future__ import annotations

import pytest

from stemlore.errors import UnknownPlaceError
from stemlore.rules.places import COUNTRIES, country_of, place_code


def test_the_list_of_countries():
    # ISO 3166-1:2020 assigns 249 alpha-2 codes
    assert len(COUNTRIES) == 249
    assert all(len(code) == 2 and code.isascii() and code.isupper() for code in COUNTRIES)


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ("DE", "DE"),
        (" de ", "DE"),
        ("us-ca", "US-CA"),
        ("DE-BY", "DE-BY"),
        ("FR-2A", "FR-2A"),
        ("GB-ENG", "GB-ENG"),
        ("XA", "XA"),
        ("XA-1", "XA-1"),
        ("eu", "EU"),
        ("un", "UN"),
        ("World", "world"),
    ],
)
def test_codes_in_their_canonical_spelling(given, code):
    assert place_code(given) == code


@pytest.mark.parametrize(
    "given",
    [
        "",
        " ",
        "D",
        "DEU",
        "Germany",
        "ZZ",
        "DE-",
        "-BY",
        "DE-BAYERN",
        "DE BY",
        "DE_BY",
        "EU-DE",
        "world-1",
        "DE-B-Y",
        "ÄÖ",
        "DE\n-BY",
    ],
)
def test_what_is_no_code_is_refused(given):
    with pytest.raises(UnknownPlaceError, match="unknown place"):
        place_code(given)


@pytest.mark.parametrize("given", [None, 276, b"DE", ["DE"]])
def test_what_is_no_text_is_refused(given):
    with pytest.raises(UnknownPlaceError):
        place_code(given)


@pytest.mark.parametrize("given", ["UK", "uk", "UK-ENG"])
def test_the_united_kingdom_is_gb(given):
    with pytest.raises(UnknownPlaceError, match="GB"):
        place_code(given)


def test_a_name_is_told_how_a_code_looks():
    with pytest.raises(LookupError, match="ISO 3166 code such as DE or US-CA"):
        place_code("Germany")


def test_the_country_of_a_subdivision():
    assert [country_of(code) for code in ("DE-BY", "DE", "EU", "world")] == ["DE", "DE", "EU", "world"]
