"""The tyre at one position, as marked and as measured."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from functools import lru_cache
from typing import Any, ClassVar

import attrs

from stemlore.errors import Fault
from stemlore.model._converters import (
    to_date,
    to_deg_c,
    to_identification_number,
    to_kpa,
    to_mm,
    to_tyre_size,
)
from stemlore.model._derive import follow
from stemlore.model._record import meaning, record
from stemlore.notation import SPEED_SYMBOLS, DateSpan, TyreIdentificationNumber, TyreSize

__all__ = ["CONSTRUCTIONS", "TREAD_PATTERNS", "Tyre"]

CONSTRUCTIONS = ("radial", "diagonal", "bias_belted")
"""How the plies of a tyre run."""
TREAD_PATTERNS = ("symmetric", "directional", "asymmetric")
"""Whether a tread has a direction of rotation or an outer side."""

_ABSOLUTE_ZERO = -273.15  # degC
# The week of manufacture may count from the first full week of the year, 49 CFR 574.5.
WEEK_MAY_DIFFER = timedelta(days=7)


@lru_cache(maxsize=4096)
def _made(number: TyreIdentificationNumber) -> DateSpan | None:
    return number.made


@record("tyre", level="position")
@attrs.frozen(kw_only=True, slots=False)
class Tyre:
    """One tyre: what its sidewall says and what was measured on it.

    Load indices, speed symbol and construction follow from the size where they
    are not given, and the date of manufacture from the identification number.
    """

    size: TyreSize | None = attrs.field(
        default=None,
        converter=to_tyre_size,
        metadata=meaning(
            "size of the tyre",
            kind="notation",
            walk=30,
            holds=TyreSize,
            how="Read it from the sidewall, with the service description after it.",
        ),
    )
    load_index: int | None = attrs.field(
        default=None,
        metadata=meaning(
            "load index in single fitment",
            kind="integer",
            walk=30,
            how="Read the first number of the service description on the sidewall.",
        ),
    )
    load_index_dual: int | None = attrs.field(
        default=None,
        metadata=meaning(
            "load index in dual fitment",
            kind="integer",
            walk=30,
            how="Read the number after the stroke in the service description.",
        ),
    )
    speed_symbol: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "speed symbol",
            kind="word",
            walk=30,
            words=SPEED_SYMBOLS,
            how="Read the letter after the load index on the sidewall.",
        ),
    )
    size_designation: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "size of the tyre without its service description",
            kind="text",
            walk=30,
            how="Follows from the size; read the size on the sidewall.",
        ),
    )
    construction: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "construction of the tyre",
            kind="word",
            walk=30,
            words=CONSTRUCTIONS,
            how="Read it from the size: R is radial, D or a hyphen diagonal, B bias-belted.",
        ),
    )
    mud_snow: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre bears the mud and snow marking",
            kind="flag",
            walk=30,
            how="Look for M and S on the sidewall, such as M+S.",
        ),
    )
    snowflake: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre bears the three-peak mountain with snowflake",
            kind="flag",
            walk=30,
            how="Look for the symbol on the sidewall.",
        ),
    )
    studded: bool | None = attrs.field(
        default=None,
        metadata=meaning("whether the tyre is studded", kind="flag", walk=30, how="Look at the whole tread."),
    )
    retread: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre is retreaded", kind="flag", walk=30, how="Look for RETREAD on both sidewalls."
        ),
    )
    run_flat: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre can run flat",
            kind="flag",
            walk=30,
            how="Look for the run-flat marking on the sidewall.",
        ),
    )
    tread_pattern: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "kind of tread pattern",
            kind="word",
            walk=30,
            words=TREAD_PATTERNS,
            how="Look for an arrow, or for the words outside and inside, on the sidewall.",
        ),
    )
    identification_number: TyreIdentificationNumber | None = attrs.field(
        default=None,
        converter=to_identification_number,
        metadata=meaning(
            "tyre identification number",
            kind="notation",
            walk=30,
            holds=TyreIdentificationNumber,
            how="Read it after the letters DOT; the date stands on one sidewall only.",
        ),
    )
    manufactured: DateSpan | None = attrs.field(
        default=None,
        converter=to_date,
        metadata=meaning(
            "date of manufacture of the tyre",
            kind="date",
            walk=30,
            how="Read week and year at the end of the identification number.",
        ),
    )
    tread_depth_main_grooves: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "tread depth in the main grooves",
            unit="mm",
            walk=30,
            how="Measure the shallowest place of the main grooves, not on a wear bar.",
        ),
    )
    tread_depth_whole_tread: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "tread depth over the whole tread",
            unit="mm",
            walk=30,
            how="Measure the shallowest place of all grooves across the whole tread and all round.",
        ),
    )
    tread_depth_two_adjacent_grooves: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "tread depth in two adjacent grooves",
            unit="mm",
            walk=30,
            how="Measure neighbours at three places round the tyre; keep the deeper of the shallowest pair.",
        ),
    )
    tread_depth_at_wear_bar: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "tread depth at the wear bar",
            unit="mm",
            walk=30,
            how="Measure from the tread surface down to the top of the wear bar.",
        ),
    )
    make: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "make of the tyre",
            kind="text",
            walk=30,
            how="Read it from the sidewall; it is only compared.",
        ),
    )
    pattern_name: str | None = attrs.field(
        default=None,
        metadata=meaning(
            "name of the tread pattern",
            kind="text",
            walk=30,
            how="Read it from the sidewall; it is only compared.",
        ),
    )
    approval_mark: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre bears an approval mark",
            kind="flag",
            walk=30,
            how="Look for E or e in a circle or box, with a number, on the sidewall.",
        ),
    )
    date_code_legible: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the date code of the tyre is legible",
            kind="flag",
            walk=30,
            how="Read the four digits after the letters DOT, on the inner sidewall too.",
        ),
    )
    highway_barred: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre is marked as not for highways or for farm use only",
            kind="flag",
            walk=30,
            how="Read both sidewalls.",
        ),
    )
    temporary_use: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre is for temporary use only",
            kind="flag",
            walk=30,
            how="Look for the letter T before the size, or for the words temporary use only.",
        ),
    )
    professional_off_road: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre bears the mark of professional off-road tyres",
            kind="flag",
            walk=30,
            how="Look for POR on the sidewall.",
        ),
    )
    regrooved: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre has been regrooved",
            kind="flag",
            walk=30,
            how="Look for grooves cut below the moulded pattern.",
        ),
    )
    regroovable: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre is marked as regroovable",
            kind="flag",
            walk=30,
            how="Look for REGROOVABLE or its symbol on the sidewall.",
        ),
    )
    part_worn_mark: bool | None = attrs.field(
        default=None,
        metadata=meaning(
            "whether the tyre is marked as part-worn",
            kind="flag",
            walk=30,
            how="Look for PART-WORN beside each approval mark.",
        ),
    )
    stud_count: int | None = attrs.field(
        default=None,
        metadata=meaning(
            "number of studs in the tyre",
            kind="integer",
            walk=30,
            how="Count them, or read the maker's number.",
        ),
    )
    stud_protrusion: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "greatest height of a stud above the tread",
            unit="mm",
            walk=30,
            how="Measure from the rubber beside the stud to its tip.",
        ),
    )
    outer_diameter: float | None = attrs.field(
        default=None,
        converter=to_mm,
        metadata=meaning(
            "outer diameter of the tyre",
            unit="mm",
            walk=30,
            how="Measure the inflated tyre's girth and divide by pi.",
        ),
    )
    sidewall_pressure: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "greatest inflation pressure marked on the tyre",
            unit="kPa",
            walk=30,
            how="Read it from the sidewall.",
        ),
    )
    pressure: float | None = attrs.field(
        default=None,
        converter=to_kpa,
        metadata=meaning(
            "inflation pressure (gauge)",
            unit="kPa",
            walk=40,
            how="Take it with a checked gauge at the valve.",
        ),
    )
    tyre_temperature: float | None = attrs.field(
        default=None,
        converter=to_deg_c,
        metadata=meaning(
            "temperature of the tyre",
            unit="degC",
            walk=40,
            least=_ABSOLUTE_ZERO,
            how="Read it from the sensor, or point a thermometer at the tread.",
        ),
    )
    ambient_temperature: float | None = attrs.field(
        default=None,
        converter=to_deg_c,
        metadata=meaning(
            "ambient temperature",
            unit="degC",
            walk=40,
            least=_ABSOLUTE_ZERO,
            how="Read a thermometer in the shade beside the vehicle.",
        ),
    )

    _derived: ClassVar[Mapping[str, tuple[str, ...]]] = {
        "size": ("size_designation", "load_index", "load_index_dual", "speed_symbol", "construction"),
        "identification_number": ("manufactured",),
    }

    @staticmethod
    def _derive(inside: dict[str, Any]) -> list[Fault]:
        faults: list[Fault] = []
        size: TyreSize | None = inside["size"]
        if size is not None:
            faults += follow(inside, "size_designation", size.designation, "the size")
            faults += follow(inside, "construction", size.construction, "the size")
            service = size.service
            if service is not None:
                faults += follow(inside, "load_index", service.load_index, "the size")
                faults += follow(inside, "load_index_dual", service.load_index_dual, "the size")
                faults += follow(inside, "speed_symbol", service.speed_symbol, "the size")
        number: TyreIdentificationNumber | None = inside["identification_number"]
        made = None if number is None else _made(number)
        if made is not None:
            given: DateSpan | None = inside["manufactured"]
            apart = (
                given is None
                or given.latest < made.earliest
                or given.earliest > made.latest + WEEK_MAY_DIFFER
            )
            if apart:
                faults += follow(inside, "manufactured", made, "the identification number")
        return faults
