"""A written reading as a number with its uncertainty, at 20 °C where it can be brought there.

In goes what a sheet says of one dimension of one slot, with the gauge that it was read by; out comes `Read`, in the
dimension's unit. Brackets keep their middle, one-sided readings their bound, "not measurable" nothing.
"""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Dimension, Kind
from ..records.load import SheetRecord, Shop
from ..records.measurement import Reading
from ..records.quantity import Bracket, NotMeasurable, OneSided, Quantity
from ..records.resolve import Taken, quantities_of
from ..records.shop import Instrument
from ..records.source import Source
from ..records.units import canonical, convert, dimension_of
from ..wear.measured import RECTANGLE_WIDTH, Measured, from_bracket, from_repeats, gauge_model
from ..wear.temperature import EXPANSION_PER_K, to_20c
from .amounts import amount_in

ReadKind = Literal["gauge", "range", "under", "over", "not measurable"]


class Read(Struct, frozen=True):
    """One reading in its dimension's unit. `raw` as read, `at_20` brought to 20 °C (the same where it was not).

    `bound` of a one-sided reading and `ends` of a range are as read; `judged_bound` and `judged_ends` meet the limit.
    """

    kind: ReadKind
    written: str
    raw: Measured | None
    at_20: Measured | None
    bound: float | None
    ends: tuple[float, float] | None
    instrument: str | None
    assumed: bool
    temperature: float | None
    corrected: bool
    repeats: int
    decimals: int
    source: Source
    station: str | None = None
    judged_bound: float | None = None
    judged_ends: tuple[float, float] | None = None

    @property
    def figure(self) -> float | None:
        """The number that meets the limit: the value, or of a one-sided reading its bound."""
        return self.at_20.value if self.at_20 is not None else self.judged_bound


class Readable(Struct, frozen=True):
    """What a reading is of: its unit, its material, the gauge that the family names for it, its full name."""

    name: str
    unit: str
    instrument: str | None
    expansion: float | None
    material: str | None
    corrected: bool


def readable(kind_id: str, kind: Kind, dimension_id: str, dimension: Dimension) -> Readable:
    """The reading's surroundings from its family. Only lengths are brought to 20 °C, unless the family says no."""
    expansion = _expansion(kind.expansion) or EXPANSION_PER_K.get(kind.material or "")
    is_length = canonical(dimension.unit) is not None and dimension_of(dimension.unit) == "length"
    return Readable(
        f"{kind_id}.{dimension_id}",
        dimension.unit,
        dimension.instrument,
        expansion,
        kind.expansion or kind.material,
        is_length and dimension.corrected is not False,
    )


def _expansion(written: str | None) -> float | None:
    """An expansion as the family writes it, `11.5e-6`; what is no number is told by the checks."""
    try:
        return float(Decimal(written)) if written else None
    except InvalidOperation:
        return None


def read(shop: Shop, sheet: SheetRecord, taken: Taken, of: Readable) -> Read | None:
    """One written reading as a number; None where its unit is at fault."""
    reading = taken.reading
    if any(amount_in(quantity, of.unit) is None for value in reading.values for quantity in quantities_of(value)):
        return None
    name = _instrument_name(sheet, reading, of)
    instruments = shop.file.it.instruments if shop.file and shop.file.it.instruments else {}
    gauge = instruments.get(name) if name else None
    first = reading.values[0]
    temperature = _temperature(sheet, reading)
    base = Read(
        "gauge", _as_written(reading), None, None, None, None, name, gauge is None, temperature, False,
        len(reading.values), 0, taken.source,
    )  # fmt: skip
    if isinstance(first, NotMeasurable):
        return replace(base, kind="not measurable")
    if isinstance(first, OneSided):
        return _one_sided(base, first, of, gauge, temperature)
    if isinstance(first, Bracket):
        return _range(base, first, of, gauge, temperature)
    quantities = [q for q in reading.values if isinstance(q, Quantity)]
    return _by_gauge(base, quantities, sheet, of, gauge, name, temperature)


def _number(quantity: Quantity, unit: str) -> float:
    number = amount_in(quantity, unit)
    assert number is not None  # `read` has looked
    return number


def _one_sided(
    base: Read, written: OneSided, of: Readable, gauge: Instrument | None, temperature: float | None
) -> Read:
    bound = _number(written.bound, of.unit)
    cold, corrected = _cold(Measured(bound), temperature, of, gauge)
    return replace(
        base,
        kind=written.side,
        bound=bound,
        judged_bound=cold.value,
        corrected=corrected,
        decimals=_decimals([written.bound], of.unit),
        assumed=False,
    )


def _range(base: Read, written: Bracket, of: Readable, gauge: Instrument | None, temperature: float | None) -> Read:
    low, high = (_number(q, of.unit) for q in (written.low, written.high))
    m = from_bracket(low, high)
    cold, corrected = _cold(m, temperature, of, gauge)
    moved = cold.value - m.value  # the same for both ends: a range is short beside its dimension
    return replace(
        base,
        kind="range",
        raw=m,
        at_20=cold,
        ends=(low, high),
        judged_ends=(low + moved, high + moved),
        corrected=corrected,
        decimals=_decimals([written.low, written.high], of.unit),
        assumed=False,
    )


def _by_gauge(
    base: Read, quantities: list[Quantity], sheet: SheetRecord, of: Readable, gauge: Instrument | None,
    name: str | None, temperature: float | None,
) -> Read:  # fmt: skip
    values = [_number(q, of.unit) for q in quantities]
    step = max(_last_digit(q, of.unit) for q in quantities)
    amounts = {key: _of_gauge(gauge, key, of.unit) for key in ("resolution", "repeat", "zero", "uncertainty")}
    model = gauge_model(**amounts, last_digit=step)
    zero_source = ("zero", name or f"no gauge named: {of.name}", sheet.path)
    # a figure written to a coarse last digit is not known better than that digit, whatever the gauge (GUM F.2.2.1)
    repeat = max(model.repeat, step / RECTANGLE_WIDTH)
    m = from_repeats(values, repeat, model.zero, zero_source)
    cold, corrected = _cold(m, temperature, of, gauge)
    return replace(
        base, raw=m, at_20=cold, corrected=corrected, assumed=model.assumed, decimals=_decimals(quantities, of.unit)
    )


def _of_gauge(gauge: Instrument | None, name: str, unit: str) -> float | None:
    """A figure of the gauge; one below zero says nothing, and is told by the checks."""
    amount = amount_in(getattr(gauge, name), unit) if gauge else None
    return amount if amount is not None and amount >= 0.0 else None


def _cold(m: Measured, temperature: float | None, of: Readable, gauge: Instrument | None) -> tuple[Measured, bool]:
    if temperature is None or not of.corrected or of.expansion is None:
        return m, False
    gauge_material = gauge.material if gauge and gauge.material else "steel"
    gauge_expansion = EXPANSION_PER_K.get(gauge_material, EXPANSION_PER_K["steel"])
    sources = ("expansion", of.material), ("expansion", gauge_material)
    return to_20c(m, temperature, of.expansion, gauge_expansion, *sources), True


def _instrument_name(sheet: SheetRecord, reading: Reading, of: Readable) -> str | None:
    named: Mapping[str, str] = sheet.it.instruments or {}
    dimension = of.name.rsplit(".", 1)[1]
    return reading.instrument or named.get(of.name) or named.get(dimension) or of.instrument


def _temperature(sheet: SheetRecord, reading: Reading) -> float | None:
    amount = reading.temperature or sheet.it.temperature
    return amount_in(amount, "°C")


def _as_written(reading: Reading) -> str:
    return ", ".join(value.written for value in reading.values)


def _last_digit(quantity: Quantity, unit: str) -> float:
    """The step of the last written digit, in the dimension's unit."""
    step = quantity.last_digit
    if quantity.unit is None:
        return float(step)
    return float(convert(step, quantity.unit, unit) - convert(Decimal(0), quantity.unit, unit))


def _decimals(quantities: list[Quantity], unit: str) -> int:
    """How many decimals the written digits support in the dimension's unit."""
    step = min(_last_digit(q, unit) for q in quantities)
    decimals = 0
    while step < 0.75 and decimals < 6:
        step *= 10
        decimals += 1
    return decimals
