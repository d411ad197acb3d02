"""Units that a builder writes, and how they convert.

In: the spelling of a unit as written, and decimal numbers. Out: its one canonical spelling, what it measures, an
exactly converted number, the nearest spelling that is known. Nothing here reads records or rounds a reading.

Factors are exact by definition: SI Brochure, 9th edition (prefixes; minute, hour, litre, degree Celsius), and NIST
Special Publication 811 (2008), Appendix B (inch, mile, pound, pound-force, bar, kilogram-force, degree Fahrenheit).
"""

from __future__ import annotations

import difflib
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final, Literal

from msgspec import Struct

Dimension = Literal[
    "length",
    "distance",
    "temperature",
    "angle",
    "pressure",
    "time",
    "force",
    "torque",
    "mass",
    "volume",
    "share",
    "speed of rotation",
    "Brinell hardness",
    "Rockwell C hardness",
    "Vickers hardness",
    "count",
    "grade",
]
"""What a unit measures. A distance driven is kept apart from a length measured: no bore is a mile wide. Mass and
force are kept apart too: `92 lb` on a valve spring has to say `lbf`. Hardness scales do not convert."""


class UnitError(ValueError):
    """A unit that is not known, two units that do not convert, or a number that is not finite."""


class Unit(Struct, frozen=True):
    """One unit: its canonical spelling, what it measures, and `base value = (value + offset) × scale`.

    The base is the first unit of its dimension in the table. `offset` is zero but for degrees Fahrenheit.
    """

    name: str
    dimension: Dimension
    scale: Fraction
    offset: Fraction = Fraction(0)
    also: tuple[str, ...] = ()


_INCH: Final = Fraction("25.4")  # mm, exact: NIST SP 811 B.8 (international inch of 1959)
_FOOT: Final = Fraction("0.3048")  # m, exact: NIST SP 811 B.8
_MILE: Final = Fraction("1.609344")  # km, exact: NIST SP 811 B.8
_POUND: Final = Fraction("453.59237")  # g, exact: NIST SP 811 B.8, footnote 22
_GRAVITY: Final = Fraction("9.80665")  # m/s², standard acceleration of free fall, exact: SI Brochure, 3rd CGPM 1901
_POUND_FORCE: Final = _POUND / 1000 * _GRAVITY  # N, 4.4482216152605 exactly: NIST SP 811 B.8, footnote 23
_PSI: Final = _POUND_FORCE / _INCH**2 * 1000  # kPa: one pound-force on a square inch; N/mm² = 1000 kPa
_ONE: Final = Fraction(1)

# The order within a dimension is the order in which a message names what is allowed.
UNITS: Final[tuple[Unit, ...]] = (
    Unit("mm", "length", _ONE),
    Unit("µm", "length", Fraction(1, 1000), also=("um", "\u03bcm")),  # µ is U+00B5 here, the Greek letter is U+03BC
    Unit("in", "length", _INCH, also=('"', "\u2033")),
    Unit("thou", "length", _INCH / 1000),
    Unit("km", "distance", _ONE),
    Unit("mi", "distance", _MILE),
    Unit("°C", "temperature", _ONE, also=("ºC", "˚C", "\u2103")),
    Unit("°F", "temperature", Fraction(5, 9), Fraction(-32), also=("ºF", "˚F", "\u2109")),  # NIST SP 811 B.9
    Unit("°", "angle", _ONE, also=("º", "˚", "deg")),
    Unit("kPa", "pressure", _ONE),
    Unit("bar", "pressure", Fraction(100)),
    Unit("psi", "pressure", _PSI),
    Unit("MPa", "pressure", Fraction(1000)),
    Unit("kgf/cm²", "pressure", _GRAVITY * 10, also=("kgf/cm2", "kg/cm²", "kg/cm2")),  # as older manuals print it
    Unit("h", "time", _ONE),
    Unit("min", "time", Fraction(1, 60)),
    Unit("s", "time", Fraction(1, 3600)),
    Unit("N", "force", _ONE),
    Unit("lbf", "force", _POUND_FORCE),
    Unit("kgf", "force", _GRAVITY),
    Unit("Nm", "torque", _ONE, also=("N·m",)),
    Unit("lb-ft", "torque", _POUND_FORCE * _FOOT, also=("lbf-ft", "lbf·ft", "lb·ft", "ft-lb", "ft-lbf", "ft·lbf")),
    Unit("kgf·m", "torque", _GRAVITY, also=("kgf-m", "kg-m", "kg·m")),
    Unit("g", "mass", _ONE),
    Unit("kg", "mass", Fraction(1000)),
    Unit("lb", "mass", _POUND),
    Unit("oz", "mass", _POUND / 16),  # avoirdupois
    Unit("ml", "volume", _ONE, also=("mL", "cc", "cm³")),
    Unit("l", "volume", Fraction(1000), also=("L",)),
    Unit("%", "share", _ONE),
    Unit("rpm", "speed of rotation", _ONE),
    Unit("HB", "Brinell hardness", _ONE, also=("HBW",)),
    Unit("HRC", "Rockwell C hardness", _ONE),
    Unit("HV", "Vickers hardness", _ONE),
    Unit("count", "count", _ONE),
    Unit("grade", "grade", _ONE),
)

_BY_SPELLING: Final[dict[str, Unit]] = {spelling: unit for unit in UNITS for spelling in (unit.name, *unit.also)}

# Written instead of a unit often enough to be answered by name; none of them is accepted.
_MEANT: Final[dict[str, str]] = {
    **dict.fromkeys(("micron", "microns", "mu", "u", "µ", "\u03bc"), "µm"),
    "mn": "mm",  # the key beside it
    **dict.fromkeys(("inch", "inches", "ins"), "in"),
    **dict.fromkeys(("thous", "thousandth", "thousandths"), "thou"),
    **dict.fromkeys(("mile", "miles"), "mi"),
    **dict.fromkeys(("kms", "kilometre", "kilometres", "kilometer", "kilometers"), "km"),
    **dict.fromkeys(("c", "degc", "deg c", "° c", "celsius"), "°C"),
    **dict.fromkeys(("f", "degf", "deg f", "° f", "fahrenheit"), "°F"),
    **dict.fromkeys(("degree", "degrees", "degs"), "°"),
    **dict.fromkeys(("hr", "hrs", "hour", "hours"), "h"),
    **dict.fromkeys(("mins", "minute", "minutes"), "min"),
    **dict.fromkeys(("sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("n m", "n-m", "newton metres"), "Nm"),
    **dict.fromkeys(("lb ft", "ft lb", "ft lbs", "ft-lbs", "lbs-ft", "lbft", "ftlb", "ftlbs", "foot pounds"), "lb-ft"),
    **dict.fromkeys(("gram", "grams", "gr", "gm", "gms"), "g"),
    **dict.fromkeys(("kilo", "kilos", "kgs"), "kg"),
    **dict.fromkeys(("litre", "litres", "liter", "liters", "ltr"), "l"),
    **dict.fromkeys(("percent", "per cent", "pct"), "%"),
    **dict.fromkeys(("revs", "rev/min", "r/min", "1/min", "min-1"), "rpm"),
}

# Trade words that two builders read as two things: no nearest spelling is offered, both are named.
_TWO_MEANINGS: Final[dict[str, tuple[str, str]]] = {
    **dict.fromkeys(("mil", "mils"), ("thou", "mm")),
    **dict.fromkeys(("tenth", "tenths"), ("in", "mm")),
    "m": ("mm", "min"),
}

# 50 significant digits hold every finite result of a 30-digit reading but those that psi and thirds make endless.
_EXACT: Final = Context(prec=50)
_LONGEST_GUESSED: Final = 20  # characters; beyond this a text is a remark, not a misspelt unit
_NEAR: Final = 0.7  # difflib ratio: `psig` is near psi and `minn` near min, but `hp` is no h and `cm` no mm (tried)


def canonical(spelling: str) -> str | None:
    """Give the one spelling under which a unit is kept, or None where it is not known. Case counts: N is no n.

    >>> canonical("um"), canonical("ºC"), canonical("PSI")
    ('µm', '°C', None)
    """
    unit = _BY_SPELLING.get(spelling)
    return unit.name if unit else None


def dimension_of(unit: str) -> Dimension:
    """What a unit measures. Raises UnitError for a unit that is not known.

    >>> dimension_of("thou"), dimension_of("mi")
    ('length', 'distance')
    """
    return _known(unit).dimension


def units_of(dimension: Dimension) -> tuple[str, ...]:
    """Canonical spellings of a dimension, in the order of the table.

    >>> units_of("length")
    ('mm', 'µm', 'in', 'thou')
    """
    return tuple(unit.name for unit in UNITS if unit.dimension == dimension)


def convert(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    """Convert a number between two units of one dimension.

    Reckoned in fractions and turned into a decimal once: exact where the result has at most 50 significant digits,
    else rounded half to even at the 50th. Between spellings of one unit the number comes back as it was given,
    trailing noughts and all. Raises UnitError: unknown unit, different dimensions, nan or infinity.
    Factors: see the head of the module.

    >>> convert(Decimal("1.5"), "thou", "mm"), convert(Decimal("75.2"), "°F", "°C")
    (Decimal('0.0381'), Decimal('24'))
    """
    source, target = _known(from_unit), _known(to_unit)
    if source.dimension != target.dimension:
        raise UnitError(f"{source.name} measures {source.dimension}, {target.name} {target.dimension}")
    if not value.is_finite():
        raise UnitError(f"{value} is not a finite number")
    if source is target:
        return value
    exact = (Fraction(value) + source.offset) * source.scale / target.scale - target.offset
    return _EXACT.divide(Decimal(exact.numerator), Decimal(exact.denominator))


def nearest_unit(text: str) -> str | None:
    """The known unit that a misspelt one most likely was, or None where nothing is near or two things are meant.

    >>> nearest_unit("kpa"), nearest_unit("inches"), nearest_unit("mil"), nearest_unit("cold")
    ('kPa', 'in', None, None)
    """
    folded = text.strip().casefold()
    if not folded or len(folded) > _LONGEST_GUESSED or folded in _TWO_MEANINGS:
        return None
    if folded in _MEANT:
        return _MEANT[folded]
    by_folded = {spelling.casefold(): unit.name for spelling, unit in reversed(_BY_SPELLING.items())}
    if folded in by_folded:
        return by_folded[folded]
    # Canonical spellings only: `cm` is near `cm³` in letters and nowhere else.
    close = difflib.get_close_matches(folded, [unit.name.casefold() for unit in UNITS], n=1, cutoff=_NEAR)
    return by_folded[close[0]] if close else None


def two_meanings(text: str) -> tuple[str, str] | None:
    """The two units that a trade word stands for, depending on who reads it, or None.

    >>> two_meanings("mil")
    ('thou', 'mm')
    """
    return _TWO_MEANINGS.get(text.strip().casefold())


def _known(spelling: str) -> Unit:
    unit = _BY_SPELLING.get(spelling)
    if unit is None:
        near = nearest_unit(spelling)
        raise UnitError(f"{spelling!r} is no known unit" + (f"; nearest: {near}" if near else ""))
    return unit
