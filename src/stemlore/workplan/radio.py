"""Whether the vehicle hears a new sensor: what no rule can judge for want of what the vehicle listens to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stemlore.model import Position, Sensor, Vehicle
from stemlore.tables import Row, table
from stemlore.workplan.plan import Gap

__all__ = ["radio_gaps", "same_frequency"]

_REGIONS = {"eu": "Europe", "jp": "Japan"}
"""Regions of the table ``monitoring_radio`` by the pack of the place."""
_ROUNDED = 1.0
"""MHz by which papers round a frequency: the same as the rule's own parameter, ``world.radio.rounding``."""


def same_frequency(one: float | None, other: float | None) -> bool | None:
    """Return whether two frequencies are one, as papers round them; None where one is not known."""
    return None if one is None or other is None else abs(one - other) <= _ROUNDED


def radio_gaps(
    positions: tuple[Position, ...], vehicle: Vehicle, old: Sensor, new: Sensor, packs: Sequence[str]
) -> Iterator[Gap]:
    """Yield where it is not known that the vehicle hears and understands a new sensor.

    Where the vehicle's own frequency or protocol is told, rules judge it
    instead; else the sensor that came off stands for what the vehicle hears.

    Parameters
    ----------
    positions : tuple of Position
        The wheels.
    vehicle : Vehicle
        What its monitoring listens to, where that is told.
    old, new : Sensor
        The sensor that came off, and the new one.
    packs : sequence of str
        Packs in force where the vehicle is registered.
    """
    if not old.fitted or new == old:
        return
    if vehicle.monitoring_frequency is None:
        yield from _unheard(positions, old, new, packs)
    if vehicle.monitoring_protocol is None and None in (old.protocol, new.protocol):
        text = (
            "Whether the vehicle understands the new sensor: the protocol of vehicle, old or new is not known"
        )
        yield Gap(text=text, positions=positions, missing=("sensor.protocol",))
    elif vehicle.monitoring_protocol is None and old.protocol != new.protocol:
        text = f"The new sensor speaks {new.protocol}, the old {old.protocol}: it is not understood"
        yield Gap(text=text, positions=positions)
    for row in _rows(packs, "carrier not allowed in cars"):
        if same_frequency(new.frequency, float(str(row["value"]))):
            text = f"A sensor of {row['printed']} is told not to be allowed in cars of {row['case']}"
            yield Gap(text=f"{text} ({row.citation})", positions=positions)


def _unheard(
    positions: tuple[Position, ...], old: Sensor, new: Sensor, packs: Sequence[str]
) -> Iterator[Gap]:
    same = same_frequency(old.frequency, new.frequency)
    if same is None:
        usual = "".join(
            f"; usual in {row['case']}: {row['printed']} ({row.citation})" for row in _rows(packs, "carrier")
        )
        text = f"Whether the vehicle hears the new sensor: the frequency of old or new is not known{usual}"
        yield Gap(text=text, positions=positions, missing=("sensor.frequency",))
    elif not same:
        text = (
            f"The new sensor sends at {new.frequency:g} MHz, the old at {old.frequency:g} MHz: "
            "the vehicle does not hear it"
        )
        yield Gap(text=text, positions=positions)


def _rows(packs: Sequence[str], item: str) -> list[Row]:
    regions = {_REGIONS[each] for each in packs if each in _REGIONS}
    rows = table("monitoring_radio").rows
    return [row for row in rows if row["item"] == item and row["case"] in regions]
