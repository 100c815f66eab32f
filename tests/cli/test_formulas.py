"""The command ``compute``."""

from __future__ import annotations

import pytest

from stemlore.cli import main


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["compute", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_without_a_name_it_lists_by_subject(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys)
    assert code == 0
    assert out.index("pressure") < out.index("cold_pressure")
    assert "overall_diameter" in out


def test_one_formula_shows_arguments_range_and_source(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "overall_diameter")
    assert code == 0
    for part in ("width=", "in mm", "Range:", "Source:", "Example:"):
        assert part in out


def test_a_worked_size(capsys: pytest.CaptureFixture[str]) -> None:
    # 205/55 R16: 16 x 25.4 + 2 x 205 x 0.55 = 631.9 mm
    code, out, _ = run(capsys, "overall_diameter", "width=205 mm", "aspect_ratio=0.55", "rim_diameter=16 in")
    assert code == 0
    assert "631.9 mm" in out
    code, out, _ = run(
        capsys, "overall_diameter", "width=205 mm", "aspect_ratio=0.55", "rim_diameter=16 in", "--in", "in"
    )
    assert "24.878 in" in out


def test_a_procedure_says_how_far_to_trust_it(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "etrto_standard_printed_load", "reference_load=615 kg", "pressure=210 kPa")
    assert code == 0
    assert "535 kg" in out
    assert "Trust: within 0 kg" in out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("cold_presure",), "cold_pressure"),
        (("cold_pressure", "hot_pressure=2.8"), "has no unit"),
        (("cold_pressure", "hot_pressure"), "key=value"),
        (("cold_pressure", "nope=1 bar"), "is no argument"),
        (
            ("overall_diameter", "width=205 mm", "aspect_ratio=0.55", "rim_diameter=16 in", "--in", "kg"),
            "fit",
        ),
        (("overall_diameter", "width=0 mm", "aspect_ratio=0.55", "rim_diameter=16 in"), "above zero"),
    ],
)
def test_bad_input_ends_in_2_and_says_what_to_do(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    code, out, err = run(capsys, *words)
    assert code == 2
    assert out == ""
    assert told in err
