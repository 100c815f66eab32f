"""Names of threads, core chambers and grommets."""

from __future__ import annotations

from typing import Any

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import CoreChamber, Grommet, ThreadName


@pytest.mark.parametrize(
    ("text", "scheme", "written"),
    [
        ("8V1", "ISO", "8V1"),
        ("10 v 2", "ISO", "10V2"),
        ("5CV", "ISO", "5CV"),
        ("Vg 8", "DIN", "Vg 8"),
        ("vg12", "DIN", "Vg 12"),
        ("CTV8-32", "JIS", "CTV8-32"),
        ("ctv 5 - 36", "JIS", "CTV5-36"),
        ("８Ｖ１", "ISO", "8V1"),
    ],
)
def test_threads(text: str, scheme: str, written: str) -> None:
    value = ThreadName.parse(text)
    assert value == ThreadName(scheme=scheme, name=written)
    assert str(value) == written


# ISO 4570-1:1977 and ISO 4570-3:1980 (titles), ISO 9413:2012 (grommets), GB 9765-2009
@pytest.mark.parametrize(
    "text", ["5V1", "5V2", "6V1", "8V1", "8V2", "10V1", "10V2", "12V1", "17V3", "20V1", "8CV"]
)
def test_threads_that_the_standards_list(text: str) -> None:
    assert ThreadName.parse(text).is_listed


def test_threads_that_no_list_names() -> None:
    assert not ThreadName.parse("5V3").is_listed
    assert not ThreadName.parse("Vg 8").is_listed


def test_threads_per_inch_stand_in_a_jis_name() -> None:
    # JIS D 9422, annex A: CTV5-36 is the inner thread of an automobile valve, 36 threads to the inch
    assert ThreadName.parse("CTV5-36").threads_per_inch == 36
    assert ThreadName.parse("8V1").threads_per_inch is None


def test_threads_sort_by_diameter() -> None:
    values = sorted(ThreadName.parse(text) for text in ("12V1", "8V1", "10V2", "8CV", "Vg 12", "Vg 5"))
    assert [str(value) for value in values] == ["Vg 5", "Vg 12", "8CV", "8V1", "10V2", "12V1"]


@pytest.mark.parametrize(
    ("cls", "text", "position", "suggestion"),
    [
        (ThreadName, "Vg 13", 0, ""),
        (ThreadName, "V8", 1, "Vg 8"),
        (ThreadName, "8V", 0, ""),  # 8V1 or 8V2
        (ThreadName, "12V", 0, "12V1"),
        (ThreadName, "8-V-1", 1, "8V1"),
        (ThreadName, "CTV8", 4, ""),
        (ThreadName, "8V1 X", 4, ""),
        (ThreadName, "30V1", 0, ""),
        (CoreChamber, "5", 0, ""),
        (CoreChamber, "No. 0", 4, ""),
        (CoreChamber, "No. 11", 4, ""),
        (CoreChamber, "C1", 0, ""),
        (CoreChamber, "Nr. 2", 0, "No. 2"),
        (CoreChamber, "No. 1 A", 6, ""),
        (Grommet, "4", 0, "B 04"),
        (Grommet, "B.4", 1, "B 04"),
        (Grommet, "B", 1, ""),
        (Grommet, "B 00", 2, ""),
        (Grommet, "B100", 1, ""),
        (Grommet, "B 04 X", 5, ""),
        (Grommet, "RG9", 0, ""),
    ],
)
def test_refuses(cls: Any, text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        cls.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


@pytest.mark.parametrize("text", ["No. 2", "no2", "ISO No.2", "2", "# 2", "Ｎｏ．２"])
def test_core_chambers(text: str) -> None:
    assert CoreChamber.parse(text) == CoreChamber(2)
    assert str(CoreChamber(2)) == "No. 2"


@pytest.mark.parametrize("text", ["B 04", "b4", "B-04", "B　０４"])
def test_grommets(text: str) -> None:
    assert Grommet.parse(text) == Grommet(4)
    assert str(Grommet(4)) == "B 04"


@pytest.mark.parametrize(
    ("make", "path"),
    [
        (lambda: ThreadName(scheme="TRA", name="8V1"), "scheme"),
        (lambda: ThreadName(scheme="DIN", name="8V1"), "name"),
        (lambda: ThreadName(scheme="ISO", name=8), "name"),  # type: ignore[arg-type]
        (lambda: CoreChamber(5), "number"),
        (lambda: CoreChamber(True), "number"),
        (lambda: Grommet(0), "number"),
    ],
)
def test_constructors_refuse(make: Any, path: str) -> None:
    with pytest.raises(RecordError) as caught:
        make()
    assert [fault.path for fault in caught.value.faults] == [path]
