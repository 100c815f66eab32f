"""The trade's units as a small table, and the one door to pint.

Values inside stemlore are plain floats in the declared unit of their field.
This module is where text ("2.5 bar", "4/32 in") and pint quantities become
such floats. pint itself is imported only for a pint quantity or for a unit
that the table does not hold.

Every value passes :func:`settle` once, whatever its way in, so that a reading
in psi and a limit in kPa that mean the same figure compare equal.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import lru_cache
from typing import Any, Protocol, runtime_checkable

import attrs

from stemlore.errors import BareNumberError, MissingExtraError, UnitError, near_misses

__all__ = [
    "DIMENSIONLESS",
    "RESOLUTION",
    "Dimension",
    "HasUnits",
    "Unit",
    "convert",
    "factor_between",
    "measure",
    "read_quantity",
    "settle",
    "show",
    "unit",
    "unit_symbols",
]

RESOLUTION = 1e-6
"""Values are held to this part of their unit."""

_SCALE = 1e6
# Above this a double holds fewer than six decimals, and rounding would not be stable.
_ROUGH = 1e9


@runtime_checkable
class HasUnits(Protocol):
    """What is used of a pint quantity."""

    @property
    def magnitude(self) -> Any:
        """The number."""

    @property
    def units(self) -> Any:
        """The unit."""

    def to(self, other: Any) -> Any:
        """Convert to another unit."""


@attrs.frozen(cache_hash=True)
class Dimension:
    """Exponents of the base dimensions.

    Angle and calendar time stand apart from plain numbers and seconds: a
    year is not a fixed number of seconds. ``difference`` marks a difference
    of temperatures, which is not a temperature.
    """

    length: int = 0
    mass: int = 0
    time: int = 0
    temperature: int = 0
    calendar: int = 0
    angle: int = 0
    difference: bool = False

    def _exponents(self) -> tuple[int, ...]:
        return (self.length, self.mass, self.time, self.temperature, self.calendar, self.angle)

    def __mul__(self, other: Dimension) -> Dimension:
        return _dimension([a + b for a, b in zip(self._exponents(), other._exponents(), strict=True)])

    def __pow__(self, power: int) -> Dimension:
        return _dimension([a * power for a in self._exponents()])

    def __truediv__(self, other: Dimension) -> Dimension:
        return self * other**-1

    def __str__(self) -> str:
        return _DIMENSION_NAMES.get(self) or "·".join(
            name if power == 1 else f"{name}^{power}"
            for name, power in zip(
                ("length", "mass", "time", "temperature", "calendar", "angle"), self._exponents(), strict=True
            )
            if power
        )


def _dimension(exponents: list[int]) -> Dimension:
    length, mass, time, temperature, calendar, angle = exponents
    return Dimension(length, mass, time, temperature, calendar, angle)


@attrs.frozen(cache_hash=True)
class Unit:
    """A unit: symbol, dimension, factor to SI and offset (temperatures only).

    ``si = (value + offset) * factor``.
    """

    symbol: str
    dimension: Dimension
    factor: float
    offset: float = 0.0

    def __str__(self) -> str:
        return self.symbol

    def __mul__(self, other: Unit) -> Unit:
        if self is DIMENSIONLESS:
            return other
        if other is DIMENSIONLESS:
            return self
        return Unit(f"{self}·{other}", self.dimension * other.dimension, self.factor * other.factor)

    def __truediv__(self, other: Unit) -> Unit:
        if other is DIMENSIONLESS:
            return self
        dimension = self.dimension / other.dimension
        factor = self.factor / other.factor
        if dimension == DIMENSIONLESS.dimension and factor == 1.0:
            return DIMENSIONLESS
        return Unit(f"{self}/({other})" if "·" in other.symbol else f"{self}/{other}", dimension, factor)


_NONE = Dimension()
_LENGTH = Dimension(length=1)
_MASS = Dimension(mass=1)
_TIME = Dimension(time=1)
_PRESSURE = Dimension(length=-1, mass=1, time=-2)
_SPEED = Dimension(length=1, time=-1)
_TORQUE = Dimension(length=2, mass=1, time=-2)
_FORCE = Dimension(length=1, mass=1, time=-2)
_TEMPERATURE = Dimension(temperature=1)
_DIFFERENCE = Dimension(temperature=1, difference=True)
_CALENDAR = Dimension(calendar=1)
_ANGLE = Dimension(angle=1)
_FREQUENCY = Dimension(time=-1)
_VOLUME = Dimension(length=3)

_DIMENSION_NAMES = {
    _NONE: "number",
    _LENGTH: "length",
    _MASS: "mass",
    _TIME: "time",
    _PRESSURE: "pressure",
    _SPEED: "speed",
    _TORQUE: "torque",
    _FORCE: "force",
    _TEMPERATURE: "temperature",
    _DIFFERENCE: "difference of temperatures",
    _CALENDAR: "calendar time",
    _ANGLE: "angle",
    _FREQUENCY: "frequency",
    _VOLUME: "volume",
}

DIMENSIONLESS = Unit("1", _NONE, 1.0)
"""The unit of plain numbers."""

_INCH = 0.0254
_POUND = 0.45359237
_GRAVITY = 9.80665
_PSI = _POUND * _GRAVITY / _INCH**2
_DEGREE = math.pi / 180

# symbol, dimension, factor to SI, offset, other spellings (after _plain())
# fmt: off
_ROWS: tuple[tuple[str, Dimension, float, float, str], ...] = (
    ("%", _NONE, 0.01, 0, "percent"),
    ("mm", _LENGTH, 1e-3, 0, "millimetre millimeter"),
    ("cm", _LENGTH, 1e-2, 0, ""),
    ("m", _LENGTH, 1.0, 0, "metre meter"),
    ("km", _LENGTH, 1e3, 0, "kilometre kilometer"),
    ("in", _LENGTH, _INCH, 0, 'inch inches " ″'),
    ("ft", _LENGTH, 0.3048, 0, "foot feet"),
    ("mi", _LENGTH, 1609.344, 0, "mile miles"),
    ("g", _MASS, 1e-3, 0, "gram"),
    ("kg", _MASS, 1.0, 0, "kilogram"),
    ("t", _MASS, 1e3, 0, "tonne"),
    ("lb", _MASS, _POUND, 0, "lbs pound pounds"),
    ("oz", _MASS, _POUND / 16, 0, "ounce"),
    ("s", _TIME, 1.0, 0, "second seconds"),
    ("min", _TIME, 60.0, 0, "minute minutes"),
    ("h", _TIME, 3600.0, 0, "hour hours"),
    ("d", _TIME, 86400.0, 0, "day days"),
    ("year", _CALENDAR, 12.0, 0, "years a yr"),
    ("month", _CALENDAR, 1.0, 0, "months"),
    ("Pa", _PRESSURE, 1.0, 0, "pascal"),
    ("hPa", _PRESSURE, 1e2, 0, ""),
    ("kPa", _PRESSURE, 1e3, 0, "kilopascal"),
    ("MPa", _PRESSURE, 1e6, 0, "megapascal"),
    ("mbar", _PRESSURE, 1e2, 0, ""),
    ("bar", _PRESSURE, 1e5, 0, "bars"),
    ("psi", _PRESSURE, _PSI, 0, "lbf/in2 lbf/in^2"),
    ("kgf/cm2", _PRESSURE, _GRAVITY * 1e4, 0, "kgf/cm^2 kgf/cm²"),
    ("km/h", _SPEED, 1 / 3.6, 0, "kmh kph"),
    ("m/s", _SPEED, 1.0, 0, ""),
    ("mph", _SPEED, 1609.344 / 3600, 0, "mi/h"),
    ("N", _FORCE, 1.0, 0, "newton"),
    ("N.m", _TORQUE, 1.0, 0, "nm n·m n*m n-m"),
    ("N.cm", _TORQUE, 1e-2, 0, "ncm n·cm"),
    ("lbf.in", _TORQUE, _POUND * _GRAVITY * _INCH, 0, "in.lb in-lb in·lb lb.in lb-in lbf·in in-lbf in.lbf"),
    ("lbf.ft", _TORQUE, _POUND * _GRAVITY * 0.3048, 0, "ft.lb ft-lb ft·lb lb.ft lb-ft lbf·ft ft-lbf ft.lbf"),
    ("kgf.cm", _TORQUE, _GRAVITY * 1e-2, 0, "kgf·cm kgf-cm"),
    ("K", _TEMPERATURE, 1.0, 0, "kelvin"),
    ("degC", _TEMPERATURE, 1.0, 273.15, "°c c celsius"),
    ("degF", _TEMPERATURE, 5 / 9, 459.67, "°f f fahrenheit"),
    ("delta_degC", _DIFFERENCE, 1.0, 0, "delta_k"),
    ("delta_degF", _DIFFERENCE, 5 / 9, 0, ""),
    ("deg", _ANGLE, _DEGREE, 0, "° degree degrees"),
    ("rad", _ANGLE, 1.0, 0, ""),
    ("Hz", _FREQUENCY, 1.0, 0, ""),
    ("kHz", _FREQUENCY, 1e3, 0, ""),
    ("MHz", _FREQUENCY, 1e6, 0, ""),
    ("GHz", _FREQUENCY, 1e9, 0, ""),
    ("L", _VOLUME, 1e-3, 0, "l litre liter"),
)
# fmt: on


# Gauge or absolute is a matter of the field, never of the unit.
_REFUSED = {
    "atü": "a technical atmosphere above ambient; give bar or kPa",
    "ata": "a technical atmosphere, absolute; give bar or kPa",
    "at": "a technical atmosphere, gauge or absolute is not told; give bar or kPa",
    "barg": "whether a pressure is gauge or absolute is told by its field; write bar",
    "bara": "whether a pressure is gauge or absolute is told by its field; write bar",
    "psig": "whether a pressure is gauge or absolute is told by its field; write psi",
    "psia": "whether a pressure is gauge or absolute is told by its field; write psi",
}


def _plain(symbol: str) -> str:
    return unicodedata.normalize("NFKC", symbol).replace(" ", "").replace("⋅", "·").replace("∙", "·")


@lru_cache(maxsize=1)
def _table() -> dict[str, Unit]:
    table: dict[str, Unit] = {"1": DIMENSIONLESS, "": DIMENSIONLESS}
    loose: dict[str, Unit] = {}
    for symbol, dimension, factor, offset, others in _ROWS:
        made = Unit(symbol, dimension, factor, float(offset))
        table[symbol] = made
        for word in (symbol, *others.split()):
            key = _plain(word)
            table.setdefault(key, made)
            loose.setdefault(key.lower(), made)
    # exact spelling first: mPa and MPa, K and k are not the same
    for key, made in loose.items():
        if key not in ("mpa", "mhz", "k", "mm", "m", "pa"):
            table.setdefault(key, made)
            table.setdefault(key.upper(), made)
    return table


def unit_symbols() -> tuple[str, ...]:
    """Return the symbols of the table, without other spellings."""
    return ("1", *(row[0] for row in _ROWS))


@lru_cache(maxsize=512)
def unit(symbol: str) -> Unit:
    """Return the unit of this symbol.

    Parameters
    ----------
    symbol : str
        Such as ``kPa``, ``N.m`` or ``km/h``; other spellings of the trade are
        read too. A unit beyond the table is looked up in pint.

    Raises
    ------
    UnitError
        If neither the table nor pint knows it.
    """
    table = _table()
    found = table.get(symbol) or table.get(_plain(symbol)) or table.get(_plain(symbol).lower())
    if found is not None:
        return found
    if (why := _REFUSED.get(_plain(symbol).lower())) is not None:
        raise UnitError(f"unit {symbol!r} is not used here", advice=why)
    return _unit_from_pint(symbol)


def _unit_from_pint(symbol: str) -> Unit:
    near = near_misses(_plain(symbol), _table())
    advice = f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(unit_symbols()[1:])}"
    try:
        import pint
    except ImportError as error:  # pint is a core dependency; a broken install must say so
        raise MissingExtraError(f"unit {symbol!r}", extra="pint") from error
    try:
        registry: Any = pint.get_application_registry()  # type: ignore[no-untyped-call]
        one = registry.parse_units(symbol)
        powers = {str(name): power for name, power in one.dimensionality.items()}
        factor = float(registry.Quantity(1, one).to_base_units().magnitude)
    except Exception as error:
        raise UnitError(f"unknown unit {symbol!r}", advice=advice) from error
    known = {"[length]": "length", "[mass]": "mass", "[time]": "time", "[temperature]": "temperature"}
    if set(powers) - set(known) or any(power != int(power) for power in powers.values()):
        raise UnitError(
            f"unit {symbol!r} measures {one.dimensionality}, which nothing here has", advice=advice
        )
    dimension = _dimension([int(powers.get(name, 0)) for name in (*known, "", "")])
    if dimension.temperature:
        raise UnitError(f"temperature unit {symbol!r} is not read", advice="give degC, degF or K")
    # pint's base units for these dimensions are metre, gram in older registries: factor is to SI
    if "[mass]" in powers:
        kilogram = float(registry.Quantity(1, "kilogram").to_base_units().magnitude)
        factor /= kilogram ** powers["[mass]"]
    return Unit(symbol, dimension, factor)


def settle(value: float) -> float:
    """Round to the resolution that every value is held to, 1e-6 of its unit.

    Half goes up. The same arithmetic stands in generated and in columnar
    code, so that both give the same double. Values beyond 1e9 stay as they
    are: a double has no six decimals there.
    """
    if -_ROUGH < value < _ROUGH:
        return math.floor(value * _SCALE + 0.5) / _SCALE
    return value


@lru_cache(maxsize=4096)
def factor_between(given: Unit, wanted: Unit) -> float:
    """Return the number that turns a value in ``given`` into ``wanted``."""
    if given.dimension != wanted.dimension:
        raise UnitError(
            f"{given} measures {given.dimension}, {wanted} measures {wanted.dimension}",
            advice=f"give a unit of {wanted.dimension}, such as {wanted}",
        )
    return given.factor / wanted.factor


def convert(value: float, given: Unit, wanted: Unit) -> float:
    """Convert and settle a plain number.

    Raises
    ------
    UnitError
        If the dimensions differ.
    """
    if given is wanted:
        return settle(value)
    factor = factor_between(given, wanted)
    if given.offset or wanted.offset:
        return settle((value + given.offset) * factor - wanted.offset)
    return settle(value * factor)


_RAISED = re.compile("[0-9][\u00b2\u00b3\u00b9\u2070-\u2079\u2080-\u2089]")
_NUMBER = re.compile(
    r"([+-]?)(?:(\d{1,9}) (\d{1,6})/(\d{1,6})"  # 1 1/4
    r"|(\d{1,9})/(\d{1,6})"  # 4/32
    r"|(\d{0,30})[.,](\d{1,30})(?![.,\d])"  # 2.5 or 2,5, but not 1.000,5
    r"|(\d{1,30})(?![.,]))"
    r"(?:[eE]([+-]?\d{1,3}))?"
)


# what most readings look like; whatever it does not take is read, or refused, in full
_simple = re.compile(r"([+-]?\d{1,15}(?:\.\d{1,15})?) ?([A-Za-z][A-Za-z/.]*)", re.ASCII).fullmatch


@lru_cache(maxsize=8192)
def read_quantity(text: str) -> tuple[float, Unit]:
    """Read a number and its unit from text.

    Parameters
    ----------
    text : str
        ``2.5 bar``, ``2,5 bar``, ``4/32 in``, ``1 1/4 in``, ``-10 °C``.

    Returns
    -------
    tuple of float and Unit
        The number as given and the unit it is in.

    Raises
    ------
    UnitError
        If the text is not a number with a known unit.
    BareNumberError
        If it is a number alone.
    """
    if _RAISED.search(text):  # folded, 2² would read as 22
        raise UnitError(f"{text[:60]!r} has a raised digit behind its number", advice="write it plainly")
    clean = unicodedata.normalize("NFKC", text).replace("⁄", "/").replace("−", "-").strip()
    match = _NUMBER.match(clean)
    if match is None or len(clean) > 120:
        raise UnitError(
            f"{text[:60]!r} is not a quantity", advice="write a number and a unit, such as '2.5 bar'"
        )
    sign, whole, upper, lower, top, bottom, integer, decimals, plain, exponent = match.groups()
    if lower or bottom:
        under = int(lower or bottom)
        if not under:
            raise UnitError(f"{text[:60]!r} divides by zero", advice="write a number and a unit")
        number = int(whole or 0) + int(upper or top) / under
    else:
        number = float(plain) if plain else float(f"{integer or 0}.{decimals}")
    if exponent:
        number *= 10.0 ** int(exponent) if int(exponent) <= 300 else math.inf
    if sign == "-":
        number = -number
    symbol = clean[match.end() :].strip()
    if not symbol:
        raise BareNumberError(f"{text[:60]!r} has no unit", advice="write the unit too, such as '2.5 bar'")
    if not math.isfinite(number):
        raise UnitError(f"{text[:60]!r} is too great a number", advice="check the exponent")
    return number, unit(symbol)


@lru_cache(maxsize=16384)
def _measure_text(text: str, wanted: Unit) -> float:
    simple = _simple(text)
    if simple is None:
        number, given = read_quantity(text)
    else:
        number, given = float(simple[1]), unit(simple[2])
    return settle(number) if given is wanted else convert(number, given, wanted)


def measure(value: object, wanted: Unit) -> float | None:
    """Turn text with a unit or a pint quantity into a float in ``wanted``.

    Parameters
    ----------
    value : str or pint.Quantity
        The reading; a bare number is refused.
    wanted : Unit
        The unit to hold it in.

    Returns
    -------
    float or None
        Settled value; None where the quantity is not a finite number, for
        that is a missing reading.

    Raises
    ------
    BareNumberError, UnitError
        If there is no unit, an unknown one, or one of another dimension.
    """
    if type(value) is str:
        return _measure_text(value, wanted)
    if isinstance(value, str):
        return _measure_text(str(value), wanted)
    if isinstance(value, HasUnits) and not isinstance(value, (int, float, complex)):
        return _measure_quantity(value, wanted)
    if isinstance(value, (int, float)):
        raise BareNumberError(
            f"{value!r} has no unit", advice=f"write it with its unit, such as '{value} {wanted}'"
        )
    raise UnitError(
        f"a {type(value).__name__} is not a quantity", advice=f"write text with a unit, such as '1 {wanted}'"
    )


def _measure_quantity(value: HasUnits, wanted: Unit) -> float | None:
    try:
        given = unit(f"{value.units:~}" if f"{value.units:~}" else "1")
    except UnitError:
        given = unit(str(value.units))
    number = float(value.magnitude)
    if not math.isfinite(number):
        return None
    return convert(number, given, wanted)


def show(value: float, given: Unit, *, wanted: Unit | None = None, digits: int = 6) -> str:
    """Write a value with its unit for people, at most ``digits`` significant figures."""
    number = value if wanted is None else convert(value, given, wanted)
    shown = wanted or given
    text = f"{number:.{digits}g}"
    if "e" in text:
        text = repr(number)
    symbol = {"degC": "°C", "degF": "°F", "N.m": "N·m", "deg": "°", "year": "years"}.get(
        shown.symbol, shown.symbol
    )
    if shown is DIMENSIONLESS or shown.symbol == "1":
        return text
    if shown.symbol == "year" and number == 1:
        symbol = "year"
    return f"{text}{'' if symbol in ('%', '°') else ' '}{symbol}"
