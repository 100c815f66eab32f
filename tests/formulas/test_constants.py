"""The table of constants: what it refuses, and figures against other libraries."""

from __future__ import annotations

import math

import pytest

from stemlore.errors import TableError
from stemlore.formulas.constants import constant, constants, read_constants, read_sources, sources
from stemlore.provenance import Grade

HEAD = "name,value,unit,edition,source,at,grade\n"
SOURCES = "id,title,issuer,number,edition,url,read_on,language,grade\n"


def test_every_constant_is_cited() -> None:
    assert len(constants()) > 50
    for each in constants().values():
        assert each.citation.source in sources().values()
        assert each.citation.at
        assert each.citation.grade is not Grade.MEMORY


def test_against_independent_libraries() -> None:
    atmosphere = pytest.importorskip("fluids.atmosphere")
    codata = pytest.importorskip("scipy.constants")
    assert constant("us76.gravity").value == codata.g == atmosphere.g0
    assert constant("us76.sea_level_pressure").value == codata.atm
    assert constant("us76.earth_radius").value == atmosphere.r0
    # the edition of 1976 has its own gas constant: 8.31432, today 8.314463
    assert constant("us76.gas_constant").value == pytest.approx(8314.32 / atmosphere.M0, rel=1e-12)
    assert constant("us76.gas_constant").value == pytest.approx(1000 * codata.R / atmosphere.M0, rel=2e-5)
    assert constant("inch").value / 1000 == codata.inch
    assert constant("pi").value == math.pi
    assert constant("us76.lapse_rate").edition == "1976"


@pytest.mark.parametrize(
    "row, why",
    [
        ("a,x,mm,,s,p. 1,read", "not a number"),
        ("a,inf,mm,,s,p. 1,read", "not finite"),
        ("a,1,furlong_,,s,p. 1,read", "unknown unit"),
        ("a,1,mm,,t,p. 1,read", "source"),
        ("a,1,mm,,s,,read", "place"),
        ("a,1,mm,,s,p. 1,memory", "grade 'memory' does not ship"),
        ("a,1,mm,,s,p. 1,read\na,2,mm,,s,p. 1,read", "twice"),
    ],
)
def test_a_wrong_constant_is_refused(row: str, why: str) -> None:
    known = read_sources(SOURCES + "s,Title,Issuer,,,,2024-05-01,en,read\n")
    assert str(known["s"].read_on) == "2024-05-01"
    with pytest.raises(TableError, match=why) as caught:
        read_constants(HEAD + row + "\n", known)
    assert caught.value.faults[0].where.startswith("constants.csv:")


@pytest.mark.parametrize(
    "row, why",
    [
        ("s,Title,Issuer,,,,,en,memory", "does not ship"),
        ("s,,Issuer,,,,,en,read", "a title"),
        ("s,Title,,,,,,en,read", "an issuer"),
        ("s,Title,Issuer,,,,,en,read\ns,Title,Issuer,,,,,en,read", "of its own"),
    ],
)
def test_a_wrong_source_is_refused(row: str, why: str) -> None:
    with pytest.raises(TableError, match=why):
        read_sources(SOURCES + row + "\n")
