"""Tyre sizes in inches, by letter and by overall diameter."""

from __future__ import annotations

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import TyreSize


@pytest.mark.parametrize(
    ("text", "written", "system"),
    [
        ("6.00-16", "6.00-16", "numeric"),
        ("6,00 - 16", "6.00-16", "numeric"),
        ("5.60-15", "5.60-15", "numeric"),
        ("6.00D16", "6.00-16", "numeric"),
        ("7.50R16LT", "7.50 R16 LT", "numeric"),
        ("7.5R16LT", "7.50 R16 LT", "numeric"),
        ("7.50R16C 121/120L", "7.50 R16 C 121/120L", "numeric"),
        ("8.25-20 14PR", "8.25-20 14PR", "numeric"),
        ("10.00R20", "10.00 R20", "numeric"),
        ("11R22.5", "11 R22.5", "numeric"),
        ("11 r 22,5 146/143L 16 P.R.", "11 R22.5 146/143L 16PR", "numeric"),
        ("11R22.5/G", "11 R22.5 LR G", "numeric"),
        ("11R22.5 LR-G", "11 R22.5 LR G", "numeric"),
        ("8.5R17.5", "8.5 R17.5", "numeric"),
        ("9.50R16.5LT", "9.5 R16.5 LT", "numeric"),
        ("10-16.5 NHS", "10-16.5 NHS", "numeric"),
        ("8-14.5 MH", "8-14.5 MH", "numeric"),
        ("3.25-19 54P", "3.25-19 54P", "numeric"),
        ("2.75-17 47P reinf", "2.75-17 47P XL", "numeric"),
        ("4.00H18 TT", "4.00 H18 TT", "numeric"),
        ("18.4R38 146A8 (143B)", "18.4 R38 146A8 (143B)", "numeric"),
        ("16.9-28 8PR", "16.9-28 8PR", "numeric"),
        ("8.3-24", "8.3-24", "numeric"),
        ("17.5L-24", "17.5L-24", "numeric"),
        ("14L - 16.1", "14L-16.1", "numeric"),
        ("10.0/75-15.3 IMP", "10.0/75-15.3 IMP", "numeric"),
        ("12/80-18", "12/80-18", "numeric"),
        ("23.5R25", "23.5 R25", "numeric"),
        ("LT7.50R16", "LT7.50 R16", "numeric"),
        ("31x10.50R15LT 109S", "31x10.50 R15 LT 109S", "flotation"),
        ("31 × 10,5 R 15 LT", "31x10.50 R15 LT", "flotation"),
        ("LT 31X10.50R15 C", "LT31x10.50 R15 LR C", "flotation"),
        ("35x12.50R17 E", "35x12.50 R17 LR E", "flotation"),
        ("44x18.5-16.5LT", "44x18.50-16.5 LT", "flotation"),
        ("25x8-12", "25x8-12", "flotation"),
        ("25x8.00-12", "25x8-12", "flotation"),
        ("H78-15", "H78-15", "alpha_numeric"),
        ("h 78 - 15", "H78-15", "alpha_numeric"),
        ("HR78-15", "HR78-15", "alpha_numeric"),
        ("HR78R15", "HR78-15", "alpha_numeric"),
        ("H78R15", "HR78-15", "alpha_numeric"),
        ("H78-15ST C", "H78-15 ST LR C", "alpha_numeric"),
        ("E70VR14", "E70 VR14", "alpha_numeric"),
        ("C70B14", "C70 B14", "alpha_numeric"),
        ("MT90-16", "MT90-16", "alpha_numeric"),
        ("MT90B16 M/C 74H", "MT90 B16 M/C 74H", "alpha_numeric"),
        ("MT90HB16", "MT90 HB16", "alpha_numeric"),
        ("MR90-18", "MR90-18", "alpha_numeric"),
        ("MT90R16", "MT90 R16", "alpha_numeric"),
        ("ＭＴ９０－１６", "MT90-16", "alpha_numeric"),
    ],
)
def test_reads_and_writes(text: str, written: str, system: str) -> None:
    value = TyreSize.parse(text)
    assert (str(value), value.system) == (written, system)
    assert TyreSize.parse(written) == value


def test_fields_that_a_system_lacks_are_none() -> None:
    flotation = TyreSize.parse("31x10.50R15LT")
    assert (flotation.overall_diameter_code, flotation.width, flotation.aspect_ratio) == (31, 10.5, None)
    assert (flotation.overall_diameter_mm, flotation.width_mm) == (787.4, 266.7)  # 25.4 mm to the inch, exact
    letter = TyreSize.parse("H78-15")
    assert (letter.width, letter.width_mm, letter.aspect_ratio, letter.size_letter) == (None, None, 78, "H")
    truck = TyreSize.parse("11R22.5")
    assert (truck.width, truck.width_mm, truck.aspect_ratio) == (11, 279.4, None)
    assert truck.overall_diameter_mm is None
    assert TyreSize.parse("195R14C").aspect_ratio is None


def test_decimals_of_a_width_tell_sizes_apart() -> None:
    assert TyreSize.parse("7-16") != TyreSize.parse("7.00-16")  # two tyres, two sets of dimensions
    assert TyreSize.parse("7.5-16") == TyreSize.parse("7.50-16")
    assert TyreSize.parse("25x8-12") == TyreSize.parse("25x8.00-12")


def test_motorcycle_letters() -> None:
    assert TyreSize.parse("MT90-16").is_motorcycle
    assert not TyreSize.parse("H78-15").is_motorcycle
    assert TyreSize.parse("MR90-18").construction == "diagonal"  # here R is a width, no construction


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("31/10.50R15", 3, "31x10.50 R15"),
        ("31x", 3, ""),
        ("31xR15", 3, ""),
        ("31x99R15", 3, ""),
        ("31x10.50", 8, ""),
        ("31x10.50R31", 9, ""),
        ("31x10.50R15 C C", 14, ""),
        ("31x10.50R15 C LR D", 12, ""),
        ("11R225", 3, "11 R22.5"),
        ("11R22.5 H", 8, ""),
        ("7.00-16.2", 5, ""),
        ("7.00-16 M", 8, ""),
        ("0.5-16", 0, ""),
        ("91V", 0, ""),
        ("11R", 3, ""),
        ("MR78-15", 0, ""),
        ("H10-15", 1, ""),
        ("HR78B15", 1, ""),
        ("HR78D15", 1, ""),
        ("M78-15", 0, ""),
        ("16x4", 4, ""),
        ("HL7.00-16", 0, ""),
        ("71-16", 0, ""),
        ("6.00-16 (58V)", 11, "6.00-16 58V"),
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        TyreSize.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


INCH: dict[str, object] = {"system": "numeric", "width": 7.5, "rim_diameter_code": 16}
FLOTATION: dict[str, object] = {
    "system": "flotation",
    "overall_diameter_code": 31,
    "width": 10.5,
    "rim_diameter_code": 15,
}
LETTER: dict[str, object] = {
    "system": "alpha_numeric",
    "size_letter": "H",
    "aspect_ratio": 78,
    "rim_diameter_code": 15,
}


@pytest.mark.parametrize(
    ("values", "path"),
    [
        (INCH | {"width": 7.555}, "width"),
        (INCH | {"width": None}, "width"),
        (INCH | {"whole_width": True}, "whole_width"),
        (INCH | {"aspect_ratio": 200}, "aspect_ratio"),
        (FLOTATION | {"overall_diameter_code": None}, "overall_diameter_code"),
        (FLOTATION | {"overall_diameter_code": 15}, "overall_diameter_code"),
        (FLOTATION | {"aspect_ratio": 75}, "aspect_ratio"),
        (FLOTATION | {"suffix": "C"}, "suffix"),
        (FLOTATION | {"load_version": "HL"}, "prefix"),
        (LETTER | {"size_letter": "P"}, "size_letter"),
        (LETTER | {"size_letter": None}, "size_letter"),
        (LETTER | {"aspect_ratio": None}, "aspect_ratio"),
        (LETTER | {"aspect_ratio": 100}, "aspect_ratio"),
        (LETTER | {"size_letter": "MT"}, "aspect_ratio"),
        (LETTER | {"width": 200}, "width"),
        (LETTER | {"prefix": "P"}, "prefix"),
        (LETTER | {"rim_diameter_code": "15"}, "rim_diameter_code"),
    ],
)
def test_constructor_refuses(values: dict[str, object], path: str) -> None:
    with pytest.raises(RecordError) as caught:
        TyreSize(**values)  # type: ignore[arg-type]
    assert [fault.path for fault in caught.value.faults] == [path]
