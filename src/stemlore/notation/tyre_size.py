"""The size designation of a tyre, with its marks and service description."""

from __future__ import annotations

import re
from typing import Any, Final, Literal, Self, cast

import attrs

from stemlore.notation._checks import Ordered, as_code, maker_of, refuse, short
from stemlore.notation._text import Scanner, read_designation
from stemlore.notation._tyre_forms import LETTERS, WIDTHS, form_faults
from stemlore.notation._tyre_reader import near_sizes, read_size
from stemlore.notation.rim_size import RimSize
from stemlore.notation.service_description import COMMON_SERVICE, ServiceDescription, common_service
from stemlore.units import settle

__all__ = ["TyreSize"]

_WHAT: Final = "tyre size"
_INCH: Final = 25.4
_TRUCK_RIMS: Final = (17.5, 19.5, 22.5, 24.5)
# Farm tyres are marked with one decimal where trucks and motorcycles have two.
_ONE_DECIMAL: Final = (7.2, 8.3)
_LEAST_ONE_DECIMAL: Final = 9


@attrs.frozen(kw_only=True)
class TyreSize(Ordered):
    """A tyre size as marked: ``205/55 R16 91V``, ``31x10.50 R15 LT``, ``6.00-16``, ``H78-15``.

    Attributes
    ----------
    rim_diameter_code : float
        Nominal rim diameter as marked: 16, 16.5, 22.5, 15.3.
    width : float or None
        Nominal section width as marked: millimetres in the metric system, else
        inches; none where a letter stands for it.
    construction : str
        ``radial``, ``diagonal`` or ``bias_belted``.
    aspect_ratio : float or None
        Nominal, in per cent; none where the size does not print it (``195 R14 C``).
    prefix : str
        ``P``, ``LT``, ``ST``, ``S`` and ``T`` (temporary spare), ``IF``, ``VF``
        (farm, high flexion) or empty.
    suffix : str
        ``C``, ``CP``, ``LT``, ``ST``, ``M/C`` (motorcycle), ``MH``, ``NHS``,
        ``IMP``, ``CFO``, ``CHO``, ``NRO`` or empty.
    speed_mark : str
        ``Z``, ``V``, ``H``, ``S`` inside the size, or empty.
    load_version : str
        ``XL`` (extra load, reinforced), ``HL`` (high load), ``SL``, ``LL``
        (standard, light load), ``RF`` as marked after the size (reinforced to
        some, run-flat to others) or empty.
    service : ServiceDescription or None
        Load index and speed symbol, where given.
    system : str
        How the size is written: ``metric``, ``numeric`` (``6.00-16``, ``11 R22.5``),
        ``flotation`` (``31x10.50 R15``) or ``alpha_numeric`` (``H78-15``, ``MT90-16``).
    overall_diameter_code : float or None
        Nominal overall diameter in inches; flotation only.
    size_letter : str
        What stands for the width in the alpha-numeric system: ``H``, ``MT``.
    low_section : bool
        ``17.5L-24``: the L behind a numeric width.
    whole_width : bool
        Whether a numeric width is written without decimals: 7-16 is not 7.00-16.
    run_flat : bool
        ``RF16``, ``ZRF18``: the F inside the size.
    second_service : ServiceDescription or None
        The one beside the first for another speed: ``152/148M (154/150L)``.
    load_range : str
        ``E`` in ``LT245/75 R16 LR E``, or empty.
    ply_rating : int or None
        10 in ``8.25-20 10PR``.
    tube : str
        ``TL`` (tubeless), ``TT`` (with tube) or empty.
    mud_snow : bool
        Whether M+S is written with the size.
    """

    rim_diameter_code: float = attrs.field(converter=as_code)
    width: float | None = attrs.field(default=None, converter=attrs.converters.optional(as_code))
    construction: str = "radial"
    aspect_ratio: float | None = attrs.field(default=None, converter=attrs.converters.optional(as_code))
    prefix: str = ""
    suffix: str = ""
    speed_mark: str = ""
    load_version: str = ""
    service: ServiceDescription | None = None
    system: str = "metric"
    overall_diameter_code: float | None = attrs.field(
        default=None, converter=attrs.converters.optional(as_code)
    )
    size_letter: str = ""
    low_section: bool = False
    whole_width: bool = False
    run_flat: bool = False
    second_service: ServiceDescription | None = None
    load_range: str = ""
    ply_rating: int | None = None
    tube: str = ""
    mud_snow: bool = False

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, form_faults(self))

    @property
    def width_mm(self) -> float | None:
        """Nominal section width in millimetres, inches taken as 25.4; none where a letter stands for it."""
        if self.width is None or self.system == "metric":
            return self.width
        return settle(self.width * _INCH)

    @property
    def overall_diameter_mm(self) -> float | None:
        """Nominal overall diameter in millimetres where the size prints it; none elsewhere."""
        overall = self.overall_diameter_code
        return None if overall is None else settle(overall * _INCH)

    @property
    def zr(self) -> bool:
        """Whether ZR stands in the size."""
        return self.speed_mark == "Z"

    @property
    def is_motorcycle(self) -> bool:
        """Whether the size itself says motorcycle: M/C, or a letter such as MT."""
        return self.suffix == "M/C" or self.size_letter.startswith("M")

    @property
    def is_temporary(self) -> bool:
        """Whether the size itself says temporary spare: T or S before it."""
        return self.prefix in ("T", "S")

    @property
    def designation(self) -> str:
        """The size itself: prefix, width, ratio, construction, rim and suffix.

        Tyres of one designation are of one size. Load version (XL), the Z of
        ZR and the F of RF tell what a tyre bears, not its size (common practice).
        """
        plain = attrs.evolve(self, load_version="", speed_mark="", run_flat=False)
        return " ".join(part for part in (plain._size(), self.suffix) if part)

    def rim_match(self, rim: RimSize) -> Literal["same", "half_inch_apart", "different"]:
        """Tell whether the diameter codes of tyre and rim are the same.

        Half an inch apart is the trap: 16 and 16.5, 17 and 17.5 look alike, and
        a tyre forced over such a rim can burst while it is inflated.
        """
        apart = abs(self.rim_diameter_code - rim.diameter_code)
        if apart == 0:
            return "same"
        return "half_inch_apart" if apart <= 0.5 else "different"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a size with or without service description and marks.

        Raises
        ------
        NotationError
            With the character where reading stopped, and the nearest form.
        """
        if cls is TyreSize and type(text) is str and (common := _common(text)) is not None:
            return cast("Self", common)
        return read_designation(_WHAT, text, cls._read, near_sizes)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        return cls(**read_size(scanner))

    def _sort_key(self) -> tuple[Any, ...]:
        figures = (self.overall_diameter_code, self.width, self.aspect_ratio)
        return self.rim_diameter_code, self.system, *(figure or 0.0 for figure in figures), str(self)

    def __str__(self) -> str:
        parts = (
            self._size(),
            self.suffix,
            "" if self.service is None else str(self.service),
            "" if self.second_service is None else f"({self.second_service})",
            "" if self.load_version == "HL" else self.load_version,
            f"LR {self.load_range}" if self.load_range else "",
            "" if self.ply_rating is None else f"{self.ply_rating}PR",
            self.tube,
            "M+S" if self.mud_snow else "",
        )
        return " ".join(part for part in parts if part)

    def _size(self) -> str:
        prefix = "HL" if self.load_version == "HL" else self.prefix
        ratio = "" if self.aspect_ratio is None else f"/{short(self.aspect_ratio)}"
        if self.system == "alpha_numeric":
            # the R of HR78-15 stands behind the letter; a motorcycle's before the rim
            inside = "R" if self.construction == "radial" and self._plain_joint("R") else ""
            head = f"{self.size_letter}{inside}{ratio[1:]}"
            if inside:
                return f"{head}-{short(self.rim_diameter_code)}"
        elif self.overall_diameter_code is not None:
            head = f"{prefix}{short(self.overall_diameter_code)}x{_two_decimals(self.width)}"
        elif self.system == "numeric":
            head = f"{prefix}{self._inches()}{'L' if self.low_section else ''}{ratio}"
        else:
            head = f"{prefix}{short(self.width or 0.0)}{ratio}"
        return f"{head}{self._joint()}{short(self.rim_diameter_code)}"

    def _plain_joint(self, letter: str) -> bool:
        plain = not self.speed_mark and not self.run_flat
        return plain and LETTERS[self.construction] == letter and not self.size_letter.startswith("M")

    def _joint(self) -> str:
        if self.construction == "diagonal":
            if self.speed_mark:
                return f" {self.speed_mark}"
            return " D" if self.system == "metric" and self.suffix != "M/C" else "-"
        return f" {self.speed_mark}{LETTERS[self.construction]}{'F' if self.run_flat else ''}"

    def _inches(self) -> str:
        width = self.width or 0.0
        if self.whole_width:
            return short(width)
        one = self.low_section or self.aspect_ratio is not None or self.rim_diameter_code in _TRUCK_RIMS
        one = one or width in _ONE_DECIMAL or (width > _LEAST_ONE_DECIMAL and not width.is_integer())
        return f"{width:.1f}" if one and round(width, 1) == width else f"{width:.2f}"


def _two_decimals(width: float | None) -> str:
    value = width or 0.0
    return short(value) if value.is_integer() else f"{value:.2f}"


# How most sizes are written. What these do not take is read, or refused, in full.
_SERVICE: Final = rf"(?: {COMMON_SERVICE}| \({COMMON_SERVICE}\))?"
_METRIC: Final = re.compile(
    r"(P|LT)?([1-9]\d\d)/(1[5-9]|[2-9]\d) ?(Z)?R(F)? ?([12]\d(?:\.5)?)(?: ?(C|M/C))?"
    rf"{_SERVICE}(?: (XL))?",
    re.ASCII,
).fullmatch
_NUMERIC: Final = re.compile(
    rf"([1-9]\d?(?:\.\d\d?)?)(-| ?R) ?([1-5]\d(?:\.5)?){_SERVICE}", re.ASCII
).fullmatch
_made = maker_of(TyreSize)


def _common(text: str) -> TyreSize | None:
    """Return the size if it is written in a common way, else none."""
    if (found := _METRIC(text)) is not None:
        prefix, width, ratio, z, flat, rim, suffix, *described, version = found.groups()
        if suffix and prefix:
            return None
        service = _described(described)
        if service is _NO_SERVICE:
            return None
        return _made(
            *(float(rim), float(width), "radial", float(ratio), prefix or "", suffix or "", z or ""),
            *(version or "", service, "metric", None, "", False, False, flat is not None),
            *_LACKING,
        )
    if (found := _NUMERIC(text)) is not None:
        width, joint, rim, *described = found.groups()
        wide, service = float(width), _described(described)
        if wide <= WIDTHS["numeric"][1] and service is not _NO_SERVICE:
            construction = "diagonal" if joint == "-" else "radial"
            return _made(
                *(float(rim), wide, construction, None, "", "", "", "", service),
                *("numeric", None, "", False, "." not in width, False),
                *_LACKING,
            )
    return None


_LACKING: Final = (None, "", None, "", False)
_NO_SERVICE: Final = ServiceDescription(0, None, "A1")  # stands for one that cannot be


def _described(groups: list[str | None]) -> ServiceDescription | None:
    single, dual, symbol, inner, inner_dual, above = groups
    if single is not None:
        return common_service(single, dual, symbol or "")
    if inner is None:
        return None
    return _NO_SERVICE if inner_dual or above not in ("W", "Y") else common_service(inner, None, above, True)
