"""Tyre sizes of the metric system."""

from __future__ import annotations

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import ServiceDescription, TyreSize


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("205/55 R16 91V", "205/55 R16 91V"),
        ("205/55R16 91V", "205/55 R16 91V"),
        ("205/55r16", "205/55 R16"),
        ("205 / 55 R 16 91 v", "205/55 R16 91V"),
        ("２０５／５５Ｒ１６", "205/55 R16"),
        ("P205/55R16 89H", "P205/55 R16 89H"),
        ("LT245/75R16 120/116S", "LT245/75 R16 120/116S"),
        ("LT 245/75 R16 120/116S", "LT245/75 R16 120/116S"),
        ("245/75R16 LT", "245/75 R16 LT"),
        ("215/65 R16 C 109/107T", "215/65 R16 C 109/107T"),
        ("215/65R16C 109/107T", "215/65 R16 C 109/107T"),
        ("215/65R16 109/107T C", "215/65 R16 C 109/107T"),
        ("235/65R16CP 118R", "235/65 R16 CP 118R"),
        ("195R14C 106/104Q", "195 R14 C 106/104Q"),
        ("225/45 ZR17 (91Y)", "225/45 ZR17 (91Y)"),
        ("225/45ZR17", "225/45 ZR17"),
        ("225/45 R17 94W XL", "225/45 R17 94W XL"),
        ("225/45 R17 XL 94W", "225/45 R17 94W XL"),
        ("225/45 R17 94W extra load", "225/45 R17 94W XL"),
        ("195/65 R15 95T Reinforced", "195/65 R15 95T XL"),
        ("195/65 R15 95T RF", "195/65 R15 95T RF"),
        ("HL245/40 R21 103Y", "HL245/40 R21 103Y"),
        ("245/40 R21 103Y HL", "HL245/40 R21 103Y"),
        ("385/65 R22,5 160K", "385/65 R22.5 160K"),
        ("315/70R22.50", "315/70 R22.5"),
        ("T135/90R16", "T135/90 R16"),
        ("155 SR 13", "155 SR13"),
        ("155-13", "155 D13"),
        ("205/70-14", "205/70 D14"),
        ("205/70 B14", "205/70 B14"),
        ("205/55 R16 60C", "205/55 R16 60C"),
    ],
)
def test_reads_and_writes(text: str, written: str) -> None:
    value = TyreSize.parse(text)
    assert str(value) == written
    assert TyreSize.parse(written) == value


def test_fields_of_a_full_size() -> None:
    value = TyreSize.parse("LT245/75 R16 120/116S")
    assert (value.width, value.width_mm, value.aspect_ratio, value.rim_diameter_code) == (245, 245, 75, 16)
    assert (value.construction, value.prefix, value.suffix, value.load_version) == ("radial", "LT", "", "")
    assert value.service == ServiceDescription(120, 116, "S")
    assert value.system == "metric"
    assert not value.zr
    assert TyreSize.parse("225/45ZR17").zr


def test_numbers_compare_by_value() -> None:
    whole = TyreSize(width=205, aspect_ratio=55, rim_diameter_code=16)
    assert whole == TyreSize(width=205.0, aspect_ratio=55.0, rim_diameter_code=16.0)
    assert {whole: "found"}[TyreSize.parse("205/55R16")] == "found"


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("", 0, ""),
        ("91V", 0, ""),
        ("205-55-16", 4, "205/55 R16"),
        ("205-55 R16", 4, "205/55 R16"),
        ("205 55 16", 4, "205/55 R16"),
        ("2055516", 0, "205/55 R16"),
        ("205/55R1691V", 7, "205/55 R16 91V"),
        ("2O5/55 R16", 0, "205/55 R16"),
        ("205/55 16", 7, "205/55 R16"),
        ("205/55 R16 94 XL", 14, "205/55 R16"),
        ("205/5 R16", 4, ""),
        ("205/55 R", 8, ""),
        ("205/55 R390", 8, ""),
        ("205/55 R16.3", 8, "205/55 R16"),
        ("205/55 R16. 91V", 11, "205/55 R16 91V"),
        ("205/55 R16 91V 94W", 15, "205/55 R16 91V"),
        ("205/55 R16 91V XL XL", 18, "205/55 R16 91V XL"),
        ("205/55 R16 C C", 13, "205/55 R16 C"),
        ("205/55 R16 109 C", 15, "205/55 R16"),
        ("205/55 R16 M+S", 11, "205/55 R16"),
        ("205/55²R16", 6, "205/55 R16"),
        ("31x10.50 R15", 0, ""),
        ("7.50 R16", 0, ""),
        ("205-55", 4, ""),
        ("P245/40 R21 103Y HL", 0, "P245/40 R21 103Y"),
        ("205/55 R16 91Н", 13, "205/55 R16 91H"),  # a Cyrillic letter
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        TyreSize.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


def test_too_long_a_text_is_refused_unread() -> None:
    with pytest.raises(NotationError, match="longer than 80"):
        TyreSize.parse("205/55 R16" + " " * 1_000_000)


def test_what_is_no_text_is_a_notation_error_too() -> None:
    with pytest.raises(NotationError, match="text is needed, not int"):
        TyreSize.parse(2055516)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("values", "path"),
    [
        ({"width": 99}, "width"),
        ({"width": 205.5}, "width"),
        ({"width": True}, "width"),
        ({"width": float("nan")}, "width"),
        ({"width": 10**400}, "width"),
        ({"width": "205"}, "width"),
        ({"rim_diameter_code": 16.25}, "rim_diameter_code"),
        ({"rim_diameter_code": None}, "rim_diameter_code"),
        ({"aspect_ratio": 0}, "aspect_ratio"),
        ({"aspect_ratio": None, "rim_diameter_code": 30}, "aspect_ratio"),
        ({"construction": "R"}, "construction"),
        ({"construction": "diagonal", "speed_mark": "Z"}, "speed_mark"),
        ({"prefix": "X"}, "prefix"),
        ({"prefix": "P", "load_version": "HL"}, "prefix"),
        ({"suffix": ["C"]}, "suffix"),
        ({"service": "91V"}, "service"),
        ({"system": "inch"}, "system"),
    ],
)
def test_constructor_refuses(values: dict[str, object], path: str) -> None:
    right: dict[str, object] = {"width": 205, "aspect_ratio": 55, "rim_diameter_code": 16}
    with pytest.raises(RecordError) as caught:
        TyreSize(**(right | values))  # type: ignore[arg-type]
    assert [fault.path for fault in caught.value.faults] == [path]
