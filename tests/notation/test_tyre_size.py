"""Tyre sizes of the metric system; the others stand in test_tyre_systems."""

from __future__ import annotations

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import RimSize, ServiceDescription, TyreSize


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
        ("225/45ZR17 (91/88Y)", "225/45 ZR17 (91/88Y)"),
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
        ("205/55 RF16 91W", "205/55 RF16 91W"),
        ("225/45 zrf18 (91y)", "225/45 ZRF18 (91Y)"),
        ("LT245/75R16 E", "LT245/75 R16 LR E"),
        ("LT245/75R16C", "LT245/75 R16 LR C"),
        ("245/75R16 C LT", "245/75 R16 LT LR C"),
        ("LT245/75R16/E 120/116S", "LT245/75 R16 120/116S LR E"),
        ("LT 245/75 R16 load range e 10 ply", "LT245/75 R16 LR E 10PR"),
        ("195R14C 8PR", "195 R14 C 8PR"),
        ("195R14 8-PR C", "195 R14 C 8PR"),
        ("205/55 R16 91V M&S XL", "205/55 R16 91V XL M+S"),
        ("205/55 R16 91V SL tubeless", "205/55 R16 91V SL TL"),
        ("S145/80D16", "S145/80 D16"),
        ("295/80R22.5 152/148M (154/149L)", "295/80 R22.5 152/148M (154/149L)"),
        ("295/80R22.5 152/148M 154/149L", "295/80 R22.5 152/148M (154/149L)"),
        ("215/65R16C 109/107T (106T)", "215/65 R16 C 109/107T (106T)"),
        ("520/85R42 157A8/154B", "520/85 R42 157A8 (154B)"),
        ("520/85R42 157A8 / (154B)", "520/85 R42 157A8 (154B)"),
        ("VF 710/60R42 CFO 173D", "VF710/60 R42 CFO 173D"),
        ("IF710/70 R42 imp", "IF710/70 R42 IMP"),
        ("120/70ZR17 M/C (58W)", "120/70 ZR17 M/C (58W)"),
        ("120/70 ZR 17 mc 58(w)", "120/70 ZR17 M/C (58W)"),
        ("130/90-16 M/C 67H", "130/90-16 M/C 67H"),
        ("130/90B16 67H", "130/90 B16 67H"),
        ("140/80VB17", "140/80 VB17"),
        ("110/90V18", "110/90 V18"),
        ("340/80-18 IMP TL", "340/80 D18 IMP TL"),
        ("300/80-15,3", "300/80 D15.3"),
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
        ("2O5/55 R16", 1, "205/55 R16"),
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
        ("205/55 R16 M+T", 11, "205/55 R16"),
        ("205/55 R16 H", 11, "205/55 R16"),
        ("205/55²R16", 6, "205/55 R16"),
        ("600-16", 0, "6.00-16"),
        ("600 R 16", 0, "6.00 R16"),
        ("750R16", 0, "7.50 R16"),
        ("275-18 TT", 0, "2.75-18 TT"),
        ("1100R20", 0, "11.00 R20"),
        ("295/80R225", 7, "295/80 R22.5"),
        ("190/65 HR 390", 10, ""),
        ("225/45ZR17 (91V)", 14, "225/45 ZR17 91V"),
        ("205/55 R16 E", 11, "205/55 R16"),
        ("205/55 R16 LR Z", 14, "205/55 R16"),
        ("205/55 R16 10PR 10PR", 16, "205/55 R16 10PR"),
        ("205/55 R16 M+S M+S", 15, "205/55 R16 M+S"),
        ("215/65R16C 109/107T (106T", 25, "215/65 R16 C 109/107T (106T)"),
        ("215/65R16C 109/107T 106T 105T", 25, "215/65 R16 C 109/107T (106T)"),
        ("215/65R16C 109/107T 106Y", 20, "215/65 R16 C 109/107T"),
        ("205/55/R16", 6, "205/55 R16"),
        ("205/", 4, ""),
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
        ({"construction": "diagonal", "run_flat": True}, "run_flat"),
        ({"run_flat": 1}, "run_flat"),
        ({"aspect_ratio": None, "width": 600}, "aspect_ratio"),
        ({"prefix": "LT", "suffix": "C"}, "suffix"),
        ({"overall_diameter_code": 31}, "overall_diameter_code"),
        ({"size_letter": "H"}, "size_letter"),
        ({"low_section": True}, "low_section"),
        ({"whole_width": True}, "whole_width"),
        ({"second_service": ServiceDescription(91, None, "V")}, "second_service"),
        ({"second_service": "91V"}, "second_service"),
        ({"load_range": "I"}, "load_range"),
        ({"ply_rating": 1}, "ply_rating"),
        ({"tube": "T"}, "tube"),
        ({"mud_snow": None}, "mud_snow"),
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


def test_the_designation_leaves_out_what_is_marked_apart_from_the_size() -> None:
    value = TyreSize.parse("215/65 R16 C 109/107T (106T) XL LR D 8PR TL M+S")
    assert value.designation == "215/65 R16 C"
    assert (value.second_service, value.load_range) == (ServiceDescription(106, None, "T"), "D")
    assert (value.ply_rating, value.tube, value.mud_snow) == (8, "TL", True)
    assert TyreSize.parse("HL245/40 R21 103Y").designation == "245/40 R21"
    # what a tyre bears is no part of its size: these are of one size
    same = ("225/45 R17 91W", "225/45 ZR17 91W", "225/45ZR17 94W XL", "225/45 RF17 91W")
    assert {TyreSize.parse(each).designation for each in same} == {"225/45 R17"}


def test_what_the_size_says_of_its_use() -> None:
    assert TyreSize.parse("T135/90R16").is_temporary
    assert not TyreSize.parse("205/55R16").is_temporary
    assert TyreSize.parse("120/70ZR17 M/C").is_motorcycle
    assert not TyreSize.parse("120/70ZR17").is_motorcycle  # it may well be, the size does not say so
    assert TyreSize.parse("205/55 RF16").run_flat
    assert not TyreSize.parse("205/55 R16 RF").run_flat  # reinforced to some


def test_a_lone_c_is_a_suffix_unless_lt_says_load_range() -> None:
    assert TyreSize.parse("195R14 C").suffix == "C"
    assert TyreSize.parse("LT235/85R16 C").load_range == "C"
    assert TyreSize.parse("LT235/85R16 C").suffix == ""


@pytest.mark.parametrize(
    ("tyre", "rim", "match"),
    [
        ("205/55R16", "6.5Jx16", "same"),
        ("8-16.5", "6x16", "half_inch_apart"),
        ("205/75R17", "6x17.5", "half_inch_apart"),
        ("265/70R19.5", "7.5x19", "half_inch_apart"),
        ("295/80R22.5", "9x22.5", "same"),
        ("11R22.5", "8x22", "half_inch_apart"),
        ("300/80-15.3", "9x15", "half_inch_apart"),
        ("205/55R16", "6.5Jx17", "different"),
    ],
)
def test_half_an_inch_between_tyre_and_rim_is_told(tyre: str, rim: str, match: str) -> None:
    assert TyreSize.parse(tyre).rim_match(RimSize.parse(rim)) == match


def test_order_goes_by_rim_then_width() -> None:
    texts = ["225/45 R17", "195/65 R15 91H", "195/65 R15", "6.00-16", "MT90-16", "205/55 R16", "31x10.50 R15"]
    values = sorted(TyreSize.parse(text) for text in texts)
    assert [str(value) for value in values] == [
        "31x10.50 R15",
        "195/65 R15",
        "195/65 R15 91H",
        "MT90-16",
        "205/55 R16",
        "6.00-16",
        "225/45 R17",
    ]
    assert values[0] <= values[0] < values[1] <= values[2] > values[1] >= values[1]
    with pytest.raises(TypeError):
        assert values[0] < "205/55 R16"  # type: ignore[operator]
    for compare in ("__lt__", "__le__", "__gt__", "__ge__"):
        assert getattr(values[0], compare)(5) is NotImplemented
