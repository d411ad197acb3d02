"""Readings brought to 20 °C, the temperature at which lengths are stated (ISO 1).

A length read at a written temperature and the materials of part and gauge come in; the length at 20 °C goes out, with
what is not known of both materials as sources that other readings may share.
"""

from collections.abc import Hashable

from engine_pages.wear.measured import Measured, plus, scaled

REFERENCE_TEMPERATURE_C = 20.0  # ISO 1

# Linear expansion near 20 °C, per kelvin. Steel as in the GUM's example H.1 (JCGM 100:2008); cast iron and aluminium
# are the middle of public tables, which disagree by 5 to 10 % with alloy and range; titanium from memory, for the
# common alloy with six parts of aluminium and four of vanadium.
EXPANSION_PER_K = {"steel": 11.5e-6, "cast-iron": 11.0e-6, "aluminium": 22.0e-6, "titanium": 8.6e-6}

# Standard uncertainty of any of these as a share of itself: what the tables disagree by, taken generously.
RELATIVE_UNCERTAINTY = 0.10


def to_20c(
    m: Measured,
    temperature_c: float,
    part_expansion: float,
    gauge_expansion: float,
    part_source: Hashable,
    gauge_source: Hashable,
) -> Measured:
    """The length at 20 °C, in the unit of the reading: L · (1 + α_gauge ΔT) / (1 + α_part ΔT).

    Part and gauge are both at `temperature_c` (°C); expansions are per kelvin. A tenth of each expansion is carried as
    the standard uncertainty of the source that the caller names: give part and gauge of one material one name, and what
    is not known of it cancels. The temperature itself is taken as written.

    >>> steel, aluminium = EXPANSION_PER_K["steel"], EXPANSION_PER_K["aluminium"]
    >>> bore = to_20c(Measured(86.0), 30.0, aluminium, steel, ("expansion", "aluminium"), ("expansion", "steel"))
    >>> round(bore.value, 4), round(bore.u, 4)
    (85.991, 0.0021)
    """
    warmth = temperature_c - REFERENCE_TEMPERATURE_C
    part, gauge = 1.0 + part_expansion * warmth, 1.0 + gauge_expansion * warmth
    cold = scaled(m, gauge / part)
    of_gauge = m.value * warmth / part * gauge_expansion * RELATIVE_UNCERTAINTY
    of_part = -cold.value * warmth / part * part_expansion * RELATIVE_UNCERTAINTY
    return plus(plus(cold, _source(gauge_source, of_gauge)), _source(part_source, of_part))


def _source(name: Hashable, part: float) -> Measured:
    """Nothing but one standard deviation of a named source."""
    return Measured(0.0, 0.0, {name: part})
