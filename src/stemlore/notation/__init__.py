"""The trade's designations as frozen values, each with ``parse`` and ``str``.

Here belongs what is marked on a tyre, rim or valve, and how it is read and
written; what a designation means in figures belongs to the tables.

May import errors, units, provenance and attrs.
"""

from __future__ import annotations

from stemlore.notation.date_span import DateSpan
from stemlore.notation.identification_number import TyreIdentificationNumber
from stemlore.notation.rim_size import RimSize
from stemlore.notation.service_description import ServiceDescription
from stemlore.notation.tyre_size import TyreSize
from stemlore.notation.valve_code import ValveCode

__all__ = [
    "DateSpan",
    "RimSize",
    "ServiceDescription",
    "TyreIdentificationNumber",
    "TyreSize",
    "ValveCode",
]
