"""A written reading as a number with its uncertainty, at 20 °C where it can be brought there.

In goes what a sheet says of one dimension of one slot, with the gauge that it was read by; out comes `Read`, in the
dimension's unit. Brackets keep their middle, one-sided readings their bound, "not measurable" nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from ..records.family import Dimension, Kind
from ..records.load import SheetRecord, Shop
from ..records.measurement import Reading
from ..records.quantity import Bracket, NotMeasurable, OneSided, Quantity, in_unit
from ..records.resolve import Taken
from ..records.shop import Instrument
from ..records.source import Source
from ..records.units import dimension_of
from ..wear.limits import Verdict as LimitVerdict
from ..wear.measured import Measured, from_bracket, from_repeats, gauge_model
from ..wear.temperature import EXPANSION_PER_K, to_20c

ReadKind = Literal["gauge", "range", "under", "over", "not measurable"]


@dataclass(frozen=True, slots=True)
class Read:
    """One reading in its dimension's unit. `raw` as read, `at_20` brought to 20 °C (the same where it was not)."""

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
    forced_verdict: LimitVerdict | None = None


@dataclass(frozen=True, slots=True)
class Readable:
    """What a reading is of: its unit, its material, the gauge that the family names for it, its full name."""

    name: str
    unit: str
    instrument: str | None
    expansion: float | None
    material: str | None
    corrected: bool


def readable(kind_id: str, kind: Kind, dimension_id: str, dimension: Dimension) -> Readable:
    """The reading's surroundings from its family. Only lengths are brought to 20 °C, unless the family says no."""
    expansion = float(Decimal(kind.expansion)) if kind.expansion else EXPANSION_PER_K.get(kind.material or "")
    is_length = dimension_of(dimension.unit) == "length"
    return Readable(
        f"{kind_id}.{dimension_id}",
        dimension.unit,
        dimension.instrument,
        expansion,
        kind.material or kind.expansion,
        is_length and dimension.corrected is not False,
    )


def read(shop: Shop, sheet: SheetRecord, taken: Taken, of: Readable) -> Read:
    """One written reading as a number."""
    reading = taken.reading
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
        bound = float(in_unit(first.bound, of.unit, of.unit))
        return replace(base, kind=first.side, bound=bound, decimals=_decimals([first.bound], of.unit))
    if isinstance(first, Bracket):
        low, high = (float(in_unit(q, of.unit, of.unit)) for q in (first.low, first.high))
        m = from_bracket(low, high)
        cold, corrected = _cold(m, temperature, of, gauge)
        decimals = _decimals([first.low, first.high], of.unit)
        return replace(
            base,
            kind="range",
            raw=m,
            at_20=cold,
            ends=(low, high),
            corrected=corrected,
            decimals=decimals,
            assumed=False,
        )
    quantities = [q for q in reading.values if isinstance(q, Quantity)]
    return _by_gauge(base, quantities, sheet, of, gauge, name, temperature)


def _by_gauge(
    base: Read, quantities: list[Quantity], sheet: SheetRecord, of: Readable, gauge: Instrument | None,
    name: str | None, temperature: float | None,
) -> Read:  # fmt: skip
    values = [float(in_unit(q, of.unit, of.unit)) for q in quantities]
    step = max(_last_digit(q, of.unit) for q in quantities)
    amounts = {
        key: float(in_unit(amount, of.unit, of.unit)) if gauge and (amount := getattr(gauge, key)) is not None else None
        for key in ("resolution", "repeat", "zero", "uncertainty")
    }
    model = gauge_model(**amounts, last_digit=step)
    zero_source = ("zero", name or f"no gauge named: {of.name}", sheet.path)
    m = from_repeats(values, model.repeat, model.zero, zero_source)
    cold, corrected = _cold(m, temperature, of, gauge)
    return replace(
        base, raw=m, at_20=cold, corrected=corrected, assumed=model.assumed, decimals=_decimals(quantities, of.unit)
    )


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
    return float(in_unit(amount, "°C", "°C")) if amount is not None else None


def _as_written(reading: Reading) -> str:
    return ", ".join(value.written for value in reading.values)


def _last_digit(quantity: Quantity, unit: str) -> float:
    """The step of the last written digit, in the dimension's unit."""
    one = Quantity(Decimal(1).scaleb(-quantity.decimals), quantity.unit, "", quantity.decimals)
    nothing = Quantity(Decimal(0), quantity.unit, "", 0)
    return abs(float(in_unit(one, unit, unit) - in_unit(nothing, unit, unit)))


def _decimals(quantities: list[Quantity], unit: str) -> int:
    """How many decimals the written digits support in the dimension's unit."""
    step = min(_last_digit(q, unit) for q in quantities)
    decimals = 0
    while step < 0.75 and decimals < 6:
        step *= 10
        decimals += 1
    return decimals
