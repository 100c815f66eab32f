"""Section through rim, hole and valve, to scale where it was measured."""

from __future__ import annotations

from functools import partial

from stemlore.errors import OutOfRangeError
from stemlore.figures._figure import Figure
from stemlore.figures._section import Measure, Section, draw_compact, draw_section
from stemlore.figures._style import listed, quantities, told
from stemlore.formulas.fitment import valve_clearance
from stemlore.model import Assembly, Valve, Wheel, specs_of

__all__ = ["wheel_section"]

_KINDS = {
    "snap_in": "snap-in valve",
    "high_pressure_snap_in": "snap-in valve for high pressure",
    "clamp_in": "clamp-in valve",
    "truck_clamp_in": "clamp-in truck valve",
    "tube_stem": "valve of a tube",
}
_CAPS = {"none": "no cap", "dust": "dust cap", "sealing": "sealing cap"}
# lengths that stand in for what was not measured, only so that there is something to dash
_SKETCHED = {"hole": 12.0, "thickness": 4.0, "length": 32.0, "cap": 6.0}
_MEASURES = {
    "hole": (Wheel, "valve_hole", "valve hole, diameter"),
    "thickness": (Wheel, "thickness_at_hole", "rim thickness at the hole"),
    "length": (Valve, "effective_length", "effective length"),
    "with_cap": (Valve, "length_with_cap", "length with cap"),
    "edge": (Wheel, "valve_seat_depth", "seat to the wheel's edge"),
}


def wheel_section(assembly: Assembly, *, cover_depth: object = None, compact: bool = False) -> Figure:
    """Draw the section through rim, valve hole and valve of one assembly.

    What was measured is drawn to scale and carries its figure; the shapes of
    rim, valve and cap between these are a sketch. What was not measured is
    dashed and named.

    Parameters
    ----------
    assembly : Assembly
        With what is known of its wheel, valve and sensor.
    cover_depth : str or quantity, optional
        From the valve's seat out to the wheel's cover, along the valve; no cover is drawn without it.
    compact : bool
        Draw it 62 mm wide for a corner of a sheet, in millimetres, with a question mark for what was not
        measured; the words stay with the page that holds it.

    Raises
    ------
    RecordError
        If the depth of the cover cannot be read.
    """
    read = quantities("figure of a wheel's section", cover_depth=(cover_depth, "mm"))
    wheel, valve = assembly.wheel, assembly.valve
    known: dict[str, float | None] = {
        "hole": wheel.valve_hole,
        "thickness": wheel.thickness_at_hole,
        "length": valve.effective_length,
        "with_cap": valve.length_with_cap,
        "edge": wheel.valve_seat_depth,
        "cover": read["cover_depth"],
    }
    title = f"Section through rim, hole and valve: {assembly.position}"
    missing = tuple(
        specs_of(record)[field].meaning
        for name, (record, field, _) in _MEASURES.items()
        if known[name] is None
    )
    if valve.kind is None:
        missing += (specs_of(Valve)["kind"].meaning,)
    if cover_depth is not None and known["cover"] is None:
        missing += ("depth of the seat below the wheel's cover",)
    section = Section(
        title=title,
        subtitle=_subtitle(assembly),
        kind=valve.kind,
        cap=valve.cap,
        sensor=bool(assembly.sensor.fitted) and assembly.sensor.mount in ("snap_in", "clamp_in"),
        measures=_rows(known),
        sizes=_sizes(known),
        known=frozenset(name for name, value in known.items() if value is not None),
        notes=_notes(missing, known),
    )
    said = [f"{each.text}." for each in section.measures if each.text and not each.is_missing]
    return Figure(
        name="wheel_section",
        title=title,
        description=" ".join([f"{title}.", f"{section.subtitle}.", *said, *section.notes]),
        missing=missing,
        draw=partial(draw_compact if compact else draw_section, section),
    )


def _subtitle(assembly: Assembly) -> str:
    valve, wheel = assembly.valve, assembly.wheel
    kind = _KINDS.get(valve.kind or "", "valve, kind not known")
    parts = [f"{kind} {valve.table_code or valve.code or ''}".strip()]
    parts.append(_CAPS[valve.cap] if valve.cap else "cap not known")
    parts.append(f"{wheel.material} wheel" if wheel.material else "material of the wheel not known")
    if wheel.rim is not None:
        parts.append(f"rim {wheel.rim}")
    text = ", ".join(parts)
    return text[0].upper() + text[1:]


def _rows(known: dict[str, float | None]) -> tuple[Measure, ...]:
    """Return the rows of measures from the top: what each reads and from where to where it runs."""
    rows = []
    for name, (_, _, words) in _MEASURES.items():
        value = known[name]
        text = f"{words} {told(value, 'mm')}" if value is not None else f"{words}: not measured"
        rows.append(Measure(name, f"{text[0].upper()}{text[1:]}", value is None))
    if (cover := known["cover"]) is not None:
        rows.append(Measure("cover", f"Seat to the cover {told(cover, 'mm')}"))
    for name, what in (("edge", "the wheel's edge"), ("cover", "the cover")):
        room = _room(known[name], known["with_cap"])
        if room is not None:
            where = f"inside {what} by" if room >= 0 else f"stands out of {what} by"
            rows.append(Measure(f"room_{name}", f"Cap {where} {told(abs(room), 'mm')}"))
        elif name == "edge":
            rows.append(Measure("room_edge", f"Cap to {what}: cannot be told", is_missing=True))
    return tuple(rows)


def _room(depth: float | None, reach: float | None) -> float | None:
    if depth is None or reach is None:
        return None
    try:
        return valve_clearance(depth, reach)
    except OutOfRangeError:
        return None


def _sizes(known: dict[str, float | None]) -> dict[str, float]:
    """Return every size to draw: as measured, else one that is only sketched."""
    hole = known["hole"] or _SKETCHED["hole"]
    length = known["length"]
    with_cap = known["with_cap"]
    if length is None:
        # a sketched stem still ends inside the cap
        length = max(with_cap - _SKETCHED["cap"], 0.7 * with_cap) if with_cap else _SKETCHED["length"]
    return {
        "hole": hole,
        "thickness": known["thickness"] or _SKETCHED["thickness"],
        "length": length,
        "with_cap": with_cap if with_cap is not None else length + _SKETCHED["cap"],
        **{name: value for name in ("edge", "cover") if (value := known[name]) is not None},
    }


def _notes(missing: tuple[str, ...], known: dict[str, float | None]) -> tuple[str, ...]:
    notes = ["What carries a figure is to scale; the shapes between are a sketch."]
    if missing:
        notes.append(f"Not known, so dashed or left out: {listed(missing)}.")
    if known["cover"] is None:
        notes.append("No cover is drawn: its depth is not told.")
    return tuple(notes)
