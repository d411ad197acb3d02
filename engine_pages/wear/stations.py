"""Readings at several stations of one dimension: which one counts, and what their differences say.

Stations come in as a map from name to value. A name such as `top-thrust` says depth and axis, split at its last hyphen.
Out of round and taper are **two-point and diametral**: differences of diameters. For an oval they are twice the
radial roundness of ISO 12181, and a form of three lobes does not show in them at all.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

from engine_pages.wear.measured import Measured, mean, minus

Judge = Literal["largest", "smallest", "mean"]


class Difference(Struct, frozen=True):
    """One station less another, in the unit of the stations; no name for the other where it is a mean of several."""

    value: Measured
    minuend: str
    subtrahend: str | None


def judged(stations: Mapping[str, Measured], judge: Judge) -> tuple[str | None, Measured]:
    """The station that meets the limit and its value; the mean has no station of its own.

    Of equal stations the first named. The uncertainty is that one station's: that it was picked out of several is not
    reckoned. ValueError with no station.

    >>> judged({"top-pin": Measured(86.008), "top-thrust": Measured(86.012)}, "largest")[0]
    'top-thrust'
    """
    if not stations:
        raise ValueError("stations to judge are needed")
    if judge == "mean":
        return None, mean(list(stations.values()))
    pick = max if judge == "largest" else min
    name = pick(stations, key=lambda station: stations[station].value)
    return name, stations[name]


def split_station(name: str) -> tuple[str, str] | None:
    """Depth and axis of a station's name, split at the last hyphen; None where it does not say both.

    >>> split_station("below-ring-travel-thrust"), split_station("centre")
    (('below-ring-travel', 'thrust'), None)
    """
    depth, _, axis = name.rpartition("-")
    return (depth, axis) if depth and axis else None


def out_of_round(stations: Mapping[str, Measured]) -> Difference | None:
    """The largest difference of the axes at one depth; None where no depth was read on two axes.

    >>> out_of_round({"top-pin": Measured(86.0), "top-thrust": Measured(86.25)}).minuend
    'top-thrust'
    """
    return _largest_within(stations, shared_half=0)


def taper(stations: Mapping[str, Measured]) -> Difference | None:
    """The largest difference of the depths on one axis; None where no axis was read at two depths.

    >>> taper({"top-pin": Measured(86.25), "low-pin": Measured(86.0)}).value.value
    0.25
    """
    return _largest_within(stations, shared_half=1)


def difference(
    minuend: str, subtrahends: Sequence[str], stations: Mapping[str, Measured], judge: Judge = "smallest"
) -> Difference | None:
    """One station less the smallest, the largest or the mean of others, such as the loss of a width.

    None where a named station was not read: the smallest of those that happened to be read is not the smallest.

    >>> widths = {"plug-point": Measured(80.0), "b": Measured(79.75), "c": Measured(79.5)}
    >>> difference("plug-point", ["b", "c"], widths)
    Difference(value=Measured(value=0.5, independent=0.0, shared={}), minuend='plug-point', subtrahend='c')
    """
    if not subtrahends or any(name not in stations for name in (minuend, *subtrahends)):
        return None
    name, value = judged({other: stations[other] for other in subtrahends}, judge)
    return Difference(minus(stations[minuend], value), minuend, name)


def _largest_within(stations: Mapping[str, Measured], shared_half: Literal[0, 1]) -> Difference | None:
    """The largest difference among stations that agree in one half of their name (0 the depth, 1 the axis)."""
    groups: dict[str, dict[str, Measured]] = {}
    for name, value in stations.items():
        halves = split_station(name)
        if halves is not None:
            groups.setdefault(halves[shared_half], {})[name] = value
    found = [_spread(group) for group in groups.values() if len(group) > 1]
    return max(found, key=lambda spread: spread.value.value, default=None)


def _spread(group: Mapping[str, Measured]) -> Difference:
    """Largest less smallest of two or more stations."""
    names = sorted(group, key=lambda name: group[name].value)
    return Difference(minus(group[names[-1]], group[names[0]]), names[-1], names[0])
