"""The trade's designations as frozen values, each with ``parse`` and ``str``.

Here belongs what is marked on a tyre, rim or valve, and how it is read and
written; what a designation means in figures belongs to the tables.

May import errors, units, provenance and attrs.
"""

from __future__ import annotations

from stemlore.notation.date_span import DateSpan
from stemlore.notation.identification_number import TyreIdentificationNumber
from stemlore.notation.pressure_text import parse_pressure
from stemlore.notation.rim_size import RimSize
from stemlore.notation.service_description import SPEED_SYMBOLS, ServiceDescription
from stemlore.notation.tyre_size import TyreSize
from stemlore.notation.valve_code import ValveCode
from stemlore.notation.valve_designation import ValveDesignation, parse_valve
from stemlore.notation.valve_parts import CoreChamber, Grommet, ThreadName

__all__ = [
    "SPEED_SYMBOLS",
    "CoreChamber",
    "DateSpan",
    "Grommet",
    "RimSize",
    "ServiceDescription",
    "ThreadName",
    "TyreIdentificationNumber",
    "TyreSize",
    "ValveCode",
    "ValveDesignation",
    "parse_pressure",
    "parse_valve",
]
