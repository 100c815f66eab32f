"""Drawings for the job sheet, the docs and whoever asks: one call, one figure.

Belongs here: how findings, readings and measures look on paper. Does not:
what they are worth (rules), how they are computed (formulas), pages that hold
them (pages).

Every figure is given as SVG and PNG, reads in grey and on A4, says in words
what it shows, and names what was not measured instead of assuming it. Needs
Matplotlib (extra ``figures``), whose global state is left as it was.

Examples
--------
>>> from stemlore.figures import sensor_life
>>> figure = sensor_life(Sensor(battery_age="6 years"))
>>> figure.missing
("distance driven with the sensor's battery",)
>>> figure.svg()[:4], figure.png()[1:4]
('<svg', b'PNG')
"""

from __future__ import annotations

from stemlore.errors import MissingExtraError

try:
    import matplotlib as _matplotlib  # noqa: F401 - only whether it is there
except ImportError as error:
    raise MissingExtraError("drawing figures", extra="figures") from error

from stemlore.figures._figure import Figure
from stemlore.figures.audit_charts import margins, outcomes_by_rule
from stemlore.figures.history import pressure_history
from stemlore.figures.load import load_over_pressure
from stemlore.figures.sensor import sensor_life
from stemlore.figures.temperature import pressure_over_temperature
from stemlore.figures.wheel import wheel_section

__all__ = [
    "Figure",
    "load_over_pressure",
    "margins",
    "outcomes_by_rule",
    "pressure_history",
    "pressure_over_temperature",
    "sensor_life",
    "wheel_section",
]
