"""What every figure promises: bytes that repeat, text that fits, words for those who cannot see it."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import matplotlib
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import Collection
from matplotlib.lines import Line2D
from matplotlib.text import Text

from stemlore.errors import MissingExtraError, RecordError
from stemlore.figures import (
    Figure,
    load_over_pressure,
    pressure_history,
    pressure_over_temperature,
    sensor_life,
    wheel_section,
)
from stemlore.formulas import FAMILIES, PressureReading, estimate_loss
from stemlore.model import Assembly, Sensor, Valve, Wheel

SVG = "{http://www.w3.org/2000/svg}"
A4_TEXT = 170 / 25.4 * 72  # points across an A4 page between margins of 20 mm


def series(count: int = 6, *, fall: float = 0.4, first: float = 250.0) -> list[PressureReading]:
    start = date(2026, 1, 5)
    return [
        PressureReading(
            when=start + timedelta(days=14 * index),
            pressure=f"{first - fall * 14 * index + (index % 3 - 1)} kPa",
            temperature=f"{20 - index} degC",
            ambient="1013 hPa",
        )
        for index in range(count)
    ]


def snap_in() -> Assembly:
    return Assembly(
        position="axle 1 left",
        wheel=Wheel(
            material="aluminium",
            rim="7Jx16",
            valve_hole="11.3 mm",
            thickness_at_hole="3.5 mm",
            valve_seat_depth="36 mm",
        ),
        valve=Valve(
            code="TR414", kind="snap_in", effective_length="38.1 mm", length_with_cap="42 mm", cap="dust"
        ),
    )


def truck() -> Assembly:
    return Assembly(
        position="axle 2 right inner",
        wheel=Wheel(valve_hole="9.7 mm", thickness_at_hole="14 mm", valve_seat_depth="120 mm"),
        valve=Valve(
            kind="truck_clamp_in", effective_length="140 mm", length_with_cap="147 mm", cap="sealing"
        ),
    )


def sensor_valve() -> Assembly:
    return Assembly(
        position="axle 2 right",
        wheel=Wheel(valve_hole="11.4 mm", thickness_at_hole="5 mm", valve_seat_depth="48 mm"),
        valve=Valve(kind="clamp_in", effective_length="36 mm", length_with_cap="41 mm", cap="none"),
        sensor=Sensor(fitted=True, mount="clamp_in"),
    )


REFERENCE: dict[str, Any] = {"at_temperature": "20 degC", "at_ambient": "1013 hPa"}
LEVELS = {"warning": "200 kPa", "minimum": "180 kPa"}
FIGURES: dict[str, Any] = {
    "section, snap-in": lambda: wheel_section(snap_in()),
    "section, sensor and cover": lambda: wheel_section(sensor_valve(), cover_depth="44 mm"),
    "section, truck": lambda: wheel_section(truck()),
    "section, tube": lambda: wheel_section(
        Assembly(position="axle 1 centre", valve=Valve(kind="tube_stem", effective_length="35 mm"))
    ),
    "section, high pressure, no length": lambda: wheel_section(
        Assembly(position="spare", valve=Valve(kind="high_pressure_snap_in", length_with_cap="5 mm"))
    ),
    "section, wild sizes": lambda: wheel_section(
        Assembly(
            position="axle 1 left",
            wheel=Wheel(valve_hole="200 mm", thickness_at_hole="0.1 mm", valve_seat_depth="1 mm"),
            valve=Valve(kind="clamp_in", effective_length="0.5 mm", length_with_cap="900 mm"),
        )
    ),
    "section, nothing known": lambda: wheel_section(Assembly(position="axle 1 left")),
    "temperature, US": lambda: pressure_over_temperature(
        "240 kPa",
        cold_temperature="20 degC",
        ambient="1013 hPa",
        monitoring="us",
        rated={"tyre": "350 kPa", "valve": "450 kPa", "wheel": None},
        now="5 degC",
        reading=("262 kPa", "38 degC"),
    ),
    "temperature, UN": lambda: pressure_over_temperature(
        "2.5 bar",
        cold_temperature="15 degC",
        ambient="1013 hPa",
        monitoring="un",
        rated={"tyre": "340 kPa"},
        pressure_unit="bar",
    ),
    "temperature, system and Fahrenheit": lambda: pressure_over_temperature(
        "35 psi",
        cold_temperature="68 degF",
        ambient="14.7 psi",
        warning="26 psi",
        pressure_unit="psi",
        temperature_unit="degF",
    ),
    "temperature, bare": lambda: pressure_over_temperature(
        "800 kPa", cold_temperature="20 degC", ambient="1013 hPa"
    ),
    "history": lambda: pressure_history(series(), **REFERENCE, levels=LEVELS),
    "history, two readings": lambda: pressure_history(series(2), **REFERENCE, levels=LEVELS),
    "history, one reading": lambda: pressure_history(series(1), levels=LEVELS),
    "history, rising": lambda: pressure_history(series(fall=-0.3), **REFERENCE, levels=LEVELS),
    "history, in bar, far ahead": lambda: pressure_history(
        series(), **REFERENCE, levels={**LEVELS, "low": None}, ahead="400 d", pressure_unit="bar"
    ),
    "load": lambda: load_over_pressure(
        "etrto_standard", rated_load="615 kg", load="520 kg", pressure="220 kPa"
    ),
    "load, over, American": lambda: load_over_pressure(
        "tra_lt",
        rated_load="3042 lb",
        rated_pressure="80 psi",
        load="2600 lb",
        pressure="55 psi",
        pressure_unit="psi",
        load_unit="lb",
    ),
    "load, no pressure": lambda: load_over_pressure("jatma", rated_load="545 kg", load="700 kg"),
    "load, no load": lambda: load_over_pressure("jatma", rated_load="545 kg", pressure="300 kPa"),
    "sensor": lambda: sensor_life(
        Sensor(battery_age="6 years", battery_distance="72000 km"), next_tyres=("3 years", "40000 km")
    ),
    "sensor, age alone": lambda: sensor_life(Sensor(battery_age="6 years")),
    "sensor, distance alone, in miles": lambda: sensor_life(
        Sensor(battery_distance="260000 km"), distance_unit="mi"
    ),
    "sensor, unknown": lambda: sensor_life(Sensor()),
}
every_figure = pytest.mark.parametrize("make", FIGURES.values(), ids=FIGURES)


def texts(figure: Figure) -> list[tuple[str, float, Any]]:
    """Return every text that is drawn, with its size in points and its box."""
    with figure._drawn() as drawn:
        canvas = FigureCanvasAgg(drawn)
        canvas.draw()
        renderer = canvas.get_renderer()
        found, hidden = [], beyond_the_ends(drawn)
        for each in drawn.findobj(Text):
            if each.get_visible() and each.get_text().strip() and id(each) not in hidden:
                found.append((each.get_text(), each.get_fontsize(), each.get_window_extent(renderer)))
        page = drawn.bbox
        assert page.width / drawn.dpi * 72 <= A4_TEXT
        return [*found, ("", 0.0, page)]


def beyond_the_ends(drawn: Any) -> set[int]:
    """Return the labels of ticks that lie beyond the ends of an axis and are not drawn."""
    hidden = set()
    for axes in drawn.axes:
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            slack = 1e-9 * (high - low)
            for tick in axis.get_major_ticks():
                if not low - slack <= tick.get_loc() <= high + slack:
                    hidden |= {id(tick.label1), id(tick.label2)}
    return hidden


@every_figure
def test_every_text_lies_on_the_page_and_is_no_smaller_than_eight_points(make: Any) -> None:
    *found, (_, _, page) = texts(make())
    assert len(found) > 5
    for text, size, box in found:
        assert size >= 8, text
        assert box.x0 >= 0, text
        assert box.y0 >= 0, text
        assert box.x1 <= page.width, text
        assert box.y1 <= page.height, text


@every_figure
def test_no_text_lies_on_another(make: Any) -> None:
    *found, _ = texts(make())
    for index, (text, _, box) in enumerate(found):
        for other, _, there in found[index + 1 :]:
            assert not box.overlaps(there), (text, other)


@every_figure
def test_what_the_legend_tells_apart_differs_without_colour(make: Any) -> None:
    with make()._drawn() as drawn:
        seen = []
        for axes in drawn.axes:
            for handle in axes.get_legend_handles_labels()[0]:
                if isinstance(handle, Line2D):
                    dashes = handle._dash_pattern  # the only place where a tuple of dashes is kept
                    seen.append(("line", str(dashes), handle.get_linestyle(), handle.get_marker()))
                elif isinstance(handle, Collection):
                    seen.append(("area", handle.get_hatch()))
                else:
                    seen.append(("area", handle.get_hatch()))
    assert len(seen) == len(set(seen)), seen


@every_figure
def test_the_same_input_gives_the_same_bytes(make: Any) -> None:
    one, other = make(), make()
    assert one.svg() == other.svg()
    assert one.png() == other.png()
    assert one.description == other.description


@every_figure
def test_an_svg_says_in_words_what_it_shows(make: Any) -> None:
    figure = make()
    root = ElementTree.fromstring(figure.svg())
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert (title.text, desc.text) == (figure.title, figure.description)
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    named = set(re.findall(r'(?:href="|url\()#([^")]+)', figure.svg()))
    assert named
    assert named <= set(ids), "what a drawing points to is in it"
    assert "<dc:date>" not in figure.svg()


@every_figure
def test_what_is_missing_is_named(make: Any) -> None:
    figure = make()
    for each in figure.missing[:4]:
        assert each in figure.description


def test_ids_of_two_figures_in_one_page_differ_where_what_they_name_differs() -> None:
    pages = [ElementTree.fromstring(make().svg()) for make in FIGURES.values()]
    named: dict[str, set[bytes]] = {}
    for page in pages:
        for each in page.iter():
            if key := each.get("id"):
                named.setdefault(key, set()).add(ElementTree.tostring(each).strip())
    assert [key for key, contents in named.items() if len(contents) > 1] == []


def test_a_section_carries_its_measures_and_its_clearance() -> None:
    figure = wheel_section(snap_in())
    for text in ("TR414", "diameter 11.3 mm", "hole 3.5 mm", "length 38.1 mm", "cap 42 mm", "edge 36 mm"):
        assert text in figure.description
    assert "Cap stands out of the wheel's edge by 6 mm" in figure.description
    assert figure.missing == ()
    inside = wheel_section(sensor_valve(), cover_depth="44 mm").description
    assert "Cap inside the wheel's edge by 7 mm" in inside
    assert "Cap inside the cover by 3 mm" in inside


def lines_across(figure: Figure) -> list[tuple[float, float]]:
    """Return the measures drawn along the valve: their ends in millimetres of the page."""
    with figure._drawn() as drawn:
        return [
            tuple(line.get_xdata())  # type: ignore[misc]
            for line in drawn.axes[0].lines
            if len(set(line.get_ydata())) == 1
            and line.get_linewidth() == 1.3
            and len(set(line.get_xdata())) > 1  # not the ticks at the ends
            and line.get_xdata()[0] > 66  # nor those of the hole's measure
        ]


def test_a_section_is_to_scale() -> None:
    drawn = [end - start for start, end in lines_across(wheel_section(snap_in()))]
    scale = drawn[0] / 3.5
    assert [round(each / scale, 6) for each in drawn] == [3.5, 38.1, 42.0, 36.0, -6.0]


def test_what_a_section_does_not_know_is_dashed_and_named() -> None:
    figure = wheel_section(Assembly(position="axle 1 left", valve=Valve(kind="clamp_in")))
    assert "diameter of the valve hole" in figure.missing
    assert "effective length of the valve" in figure.missing
    assert "not measured" not in wheel_section(snap_in()).svg()
    words = [text for text, _, _ in texts(figure)]
    for text in ("Effective length: not measured", "Cap to the wheel's edge: cannot be told"):
        assert text in words
    assert not any(re.search(r"\d+ mm", text) for text in words), "no figure for what was not measured"
    assert not re.search(r"\d+ mm", figure.description)
    with figure._drawn() as drawn:
        rim = drawn.axes[0].patches[0]
        assert rim.get_linestyle() not in ("-", "solid")
    with wheel_section(snap_in())._drawn() as drawn:
        assert drawn.axes[0].patches[0].get_linestyle() in ("-", "solid")


def test_pressure_over_temperature_tells_the_published_pair() -> None:
    """A tyre of 30 psi at 20 degC reads 23.14 psi at -25 degC (a published exercise)."""
    figure = pressure_over_temperature(
        "30 psi", cold_temperature="20 degC", ambient="14.7 psi", now="-25 degC", pressure_unit="psi"
    )
    assert "Now, at -25 °C, the gauge should read 23.1 psi." in figure.description
    assert "No warning of a monitoring system is told." in figure.description


def test_a_reading_on_the_warm_tyre_is_told_as_cold() -> None:
    figure = FIGURES["temperature, US"]()
    assert "The gauge read 262 kPa at 38 °C, which is 241 kPa at 20 °C" in figure.description
    assert "180 kPa at the latest" in figure.description  # 75 % of 240 kPa
    assert figure.missing == ("rated pressure of the wheel",)


def test_a_history_takes_a_fit_of_its_own_readings_only() -> None:
    readings = series()
    fit = estimate_loss(readings, **REFERENCE)
    given = pressure_history(readings, fit, **REFERENCE, levels=LEVELS)
    assert given.svg() == pressure_history(readings, **REFERENCE, levels=LEVELS).svg()
    with pytest.raises(RecordError, match="rests on 6 readings, here are 4"):
        pressure_history(series(4), fit)


def test_a_history_tells_the_day_of_each_level() -> None:
    readings = series()
    figure = pressure_history(readings, **REFERENCE, levels=LEVELS)
    found = estimate_loss(readings, **REFERENCE, threshold="180 kPa")
    assert found.days is not None
    assert found.days_earliest is not None
    for days in (found.days, found.days_earliest):
        assert f"{readings[-1].when + timedelta(days=days):%Y-%m-%d}" in figure.description
    assert found.reason in figure.description


def test_the_band_crosses_a_level_on_the_days_of_the_estimate() -> None:
    readings = series()
    found = estimate_loss(readings, **REFERENCE, threshold="200 kPa")
    assert found.days_earliest is not None
    assert found.days_latest is not None
    with pressure_history(readings, **REFERENCE, levels=LEVELS, ahead="300 d")._drawn() as drawn:
        band = next(
            each for each in drawn.axes[0].collections if each.get_label() == "where the line may run"
        )
        (path,) = band.get_paths()
        points = path.vertices
    last = (readings[-1].when - readings[0].when).days
    crossings = sorted(
        one[0] + (200 - one[1]) * (two[0] - one[0]) / (two[1] - one[1])
        for one, two in zip(points, points[1:], strict=False)
        if one[0] != two[0] and (one[1] - 200) * (two[1] - 200) < 0
    )
    assert crossings == pytest.approx([last + found.days_earliest, last + found.days_latest])


def test_what_rises_is_not_drawn_into_the_future() -> None:
    figure = FIGURES["history, rising"]()
    assert re.search(r"Fitted: rise 0\.\d+ kPa a day \(0\.\d+ to 0\.\d+\)", figure.description)
    assert "Minimum 180 kPa: not reached on this line." in figure.description
    with figure._drawn() as drawn:
        assert "forecast" not in drawn.axes[0].get_legend_handles_labels()[1]
        assert drawn.axes[0].get_xlim()[1] == pytest.approx(70 * 1.03)


def test_a_reading_that_cannot_be_used_is_named_and_still_drawn() -> None:
    lone = PressureReading(when=date(2026, 2, 7), pressure="231 kPa", ambient="1013 hPa")
    figure = pressure_history([*series(), lone], **REFERENCE)
    assert figure.missing == ("temperature of the reading of 2026-02-07",)
    assert "2026-02-07 231 kPa" in figure.description


def test_a_history_without_pressure_is_refused() -> None:
    with pytest.raises(RecordError, match="hold no pressure"):
        pressure_history([PressureReading(when=date(2026, 1, 1), pressure=None)])


def test_load_over_pressure_tells_the_table_and_the_job() -> None:
    figure = FIGURES["load"]()
    table = FAMILIES["etrto_standard"]
    printed = table.printed_load(220.0, 615.0).value
    assert f"At 220 kPa the tables print {printed:.0f} kg." in figure.description
    assert f"{printed - 520:.0f} kg inside" in figure.description
    assert "overloaded by 260 lb" in FIGURES["load, over, American"]().description


def test_what_a_load_figure_lacks_is_named_and_beyond_the_table_is_not_guessed() -> None:
    assert FIGURES["load, no pressure"]().missing == ("cold pressure set",)
    assert "A load of 700 kg lies outside the table." in FIGURES["load, no pressure"]().description
    told = FIGURES["load, no load"]()
    assert told.missing == ("load on the tyre",)
    assert "300 kPa lies outside the table: the load there cannot be told." in told.description
    with pytest.raises(RecordError, match="etrto_standard"):
        load_over_pressure("etrto_standart", rated_load="615 kg")
    with pytest.raises(RecordError, match="is needed for TRA light truck"):
        load_over_pressure("tra_lt", rated_load="3042 lb")


def test_sensor_life_tells_where_the_battery_stands() -> None:
    figure = FIGURES["sensor"]()
    assert "6 years old, within the quoted range" in figure.description
    assert "72\u00a0000 km, before the quoted range" in figure.description
    assert "9 years old (within) and have run 112\u00a0000 km (within)" in figure.description
    assert "no model" in figure.description
    assert len(FIGURES["sensor, unknown"]().missing) == 2


@pytest.mark.parametrize(
    "make",
    [
        lambda: pressure_over_temperature(240, cold_temperature="20 degC", ambient="1013 hPa"),
        lambda: pressure_over_temperature("240 kPa", cold_temperature="20 mm", ambient="1013 hPa"),
        lambda: pressure_history(series(), at_temperature="20 degC", at_ambient=1013),
        lambda: load_over_pressure("jatma", rated_load="615 kg", load=500),
        lambda: sensor_life(Sensor(), next_tyres=("3 years", 40000)),
        lambda: sensor_life(Sensor(), next_tyres=("-3 years", "40000 km")),
        lambda: wheel_section(snap_in(), cover_depth=44),
    ],
)
def test_bare_numbers_and_wrong_units_are_refused_by_name(make: Any) -> None:
    with pytest.raises(RecordError):
        make()


def test_save_writes_whole_files_by_suffix(tmp_path: Path) -> None:
    figure = FIGURES["sensor"]()
    figure.save(tmp_path / "a.svg")
    figure.save(str(tmp_path / "a.PNG"))
    assert (tmp_path / "a.svg").read_text("utf-8").endswith(figure.svg())
    assert (tmp_path / "a.PNG").read_bytes() == figure.png()
    with pytest.raises(RecordError, match=r"end it in \.svg or \.png"):
        figure.save(tmp_path / "a.pdf")
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.PNG", "a.svg"]


def test_a_failed_save_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "a.svg"
    target.write_text("old")

    def fails(self: Path, content: bytes) -> int:
        with self.open("wb") as out:
            out.write(content[:10])
        raise OSError("disk full")

    monkeypatch.setattr(Path, "write_bytes", fails)
    with pytest.raises(OSError, match="disk full"):
        FIGURES["sensor"]().save(target)
    assert target.read_text() == "old"
    assert [each.name for each in tmp_path.iterdir()] == ["a.svg"]


def test_settings_of_the_process_neither_change_nor_matter() -> None:
    plain = FIGURES["load"]().svg()
    with matplotlib.rc_context({"font.size": 30, "lines.linewidth": 9, "svg.fonttype": "none"}):
        before = dict(matplotlib.rcParams)
        assert FIGURES["load"]().svg() == plain
        assert dict(matplotlib.rcParams) == before


def test_it_draws_without_a_display_and_without_pyplot() -> None:
    code = (
        "from stemlore.figures import sensor_life\nfrom stemlore.model import Sensor\nimport sys\n"
        "figure = sensor_life(Sensor(battery_age='6 years'))\n"
        "print(len(figure.png()) > 10000, len(figure.svg()) > 10000, 'matplotlib.pyplot' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PATH": "/usr/bin:/bin"},
    )
    assert done.stdout.split() == ["True", "True", "False"]


def test_without_matplotlib_the_error_names_the_extra() -> None:
    code = (
        "import sys\nsys.modules['matplotlib'] = None\nfrom stemlore.errors import MissingExtraError\n"
        "try:\n    import stemlore.figures\nexcept MissingExtraError as error:\n    print(error)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert str(MissingExtraError("drawing figures", extra="figures")) in done.stdout
