"""Does it last: the chance of staying inside every limit, after each event of the plan.

In: a Season. Out: inline SVG, 700 or 358 units wide. The wanted chance is a dotted line; events below it are open dots;
where the engine should be opened stands an upright with its words.
"""

from collections.abc import Callable, Sequence
from math import ceil, floor

from msgspec import Struct

from engine_pages.pages.charts.labels import Label, Spot, boxes_along, place, width_of, write
from engine_pages.pages.charts.paints import BAND, HAIRLINE, INK, PAPER, SECOND_INK, STEEL, WARM, WIDE, Spoken
from engine_pages.pages.charts.scales import Scale
from engine_pages.pages.charts.shapes import XY, Box
from engine_pages.pages.charts.sheet import Sheet, joined

TOP, FLOOR = 36, 194  # px: a chance of 100 per cent, and the axis


class SeasonEvent(Struct, frozen=True):
    """An event and the chance (0 to 1) after it, with the ends of its range; date and hours as they are to be shown."""

    name: str
    date: str
    hours: str
    chance: float
    low: float
    high: float


class Season(Struct, frozen=True):
    """The plan's events in order, the chance that is wanted, and how many events to run before the engine is opened."""

    events: tuple[SeasonEvent, ...]
    wanted: float
    open_after: int | None = None


def draw_season(data: Season, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError when the plan has no event."""
    if not data.events:
        raise ValueError("a season needs an event")
    sheet = Sheet(width, 246)
    lowest = min([data.wanted, *(event.low for event in data.events)])
    bottom = max(0.0, min(80.0, floor(lowest * 10 - 0.001) * 10.0))
    up = Scale(bottom, 100.0, FLOOR, TOP)
    left, right = 38.0, width - 8.0
    pitch = (right - left) / len(data.events)
    xs = [left + pitch * (index + 0.5) for index in range(len(data.events))]
    sheet.text((0, 14), "chance of staying inside every limit, %", INK)
    _grid(sheet, up, left, right)
    _wanted(sheet, up, data.wanted, left, right)
    middle = [(x, up.px(event.chance * 100)) for x, event in zip(xs, data.events, strict=True)]
    _range(sheet, data.events, xs, up)
    opened = _opening(sheet, data, left, pitch)
    sheet.line(middle, STEEL, 2)
    for at, event in zip(middle, data.events, strict=True):
        below = event.chance < data.wanted
        sheet.dot(at, 4.5, PAPER if below else INK, edge=WARM if below else PAPER, width=2 if below else 1.5)
    _letters(sheet, data, middle, up, opened, left)
    _events(sheet, data.events, xs, pitch)
    return sheet.svg(_spoken(data), f"season {width} {data!r}")


def _grid(sheet: Sheet, up: Scale, left: float, right: float) -> None:
    step = 10 if up.high - up.low <= 50 else 20
    for value in range(round(up.low), 101, step):
        y = up.px(value)
        sheet.line([(left, y), (right, y)], INK if y == FLOOR else HAIRLINE)
        sheet.text((left - 7, y + 4.5), str(value), anchor="end")


def _wanted(sheet: Sheet, up: Scale, wanted: float, left: float, right: float) -> None:
    y = up.px(wanted * 100)
    sheet.line([(left, y), (right, y)], INK, 1.3, dash=(2, 3))


def _range(sheet: Sheet, events: Sequence[SeasonEvent], xs: Sequence[float], up: Scale) -> None:
    low = [(x, up.px(event.low * 100)) for x, event in zip(xs, events, strict=True)]
    high = [(x, up.px(event.high * 100)) for x, event in zip(xs, events, strict=True)]
    if len(events) > 1:
        sheet.area([*low, *reversed(high)], BAND, opacity=0.8)
    else:
        sheet.line([low[0], high[0]], INK, 1.5)


def _opening(sheet: Sheet, data: Season, left: float, pitch: float) -> float | None:
    """The upright between two events where the engine should be opened; returns where it stands."""
    if data.open_after is None or not 0 <= data.open_after <= len(data.events):
        return None
    x = left + pitch * data.open_after
    sheet.line([(x, TOP + 2), (x, FLOOR)], WARM, 2)
    return x


def _letters(sheet: Sheet, data: Season, middle: Sequence[XY], up: Scale, opened: float | None, left: float) -> None:
    labels = []
    if opened is not None:
        beside = tuple(Spot((opened + 6, y)) for y in (TOP + 14, FLOOR - 8))
        before = tuple(Spot((opened - 6, y), "end") for y in (TOP + 14, FLOOR - 8))
        labels.append(Label("open it here", (*beside, *before), WARM, bold=True, must=True))
    for (x, y), event in reversed(list(zip(middle, data.events, strict=True))):
        paint = WARM if event.chance < data.wanted else INK
        spots = (Spot((x, y - 11), "middle"), Spot((x + 2, y - 11)), Spot((x + 9, y + 4)), Spot((x, y + 21), "middle"))
        labels.append(Label(f"{event.chance * 100:.0f}", spots, paint, bold=True))
    wanted_y = up.px(data.wanted * 100)
    at_left = tuple(Spot((left + 6, wanted_y + lift)) for lift in (15, -5))
    labels.append(
        Label(f"wanted: {data.wanted * 100:.0f}", (*at_left, Spot((sheet.width - 10, wanted_y - 5), "end")), INK)
    )
    taken = boxes_along(middle) + [Box(x - 6, y - 6, x + 6, y + 6) for x, y in middle]
    taken += [Box(opened - 1, TOP, opened + 1, FLOOR)] if opened is not None else []
    write(sheet, place(labels, taken, Box(left, 18, sheet.width, FLOOR - 1)))


def _events(sheet: Sheet, events: Sequence[SeasonEvent], xs: Sequence[float], pitch: float) -> None:
    """Names, dates and, where there is width, hours under the axis; every second or third where they would touch."""
    rows: list[tuple[float, Callable[[SeasonEvent], str], bool]] = [
        (FLOOR + 17, lambda event: event.name, True),
        (FLOOR + 32, lambda event: event.date, False),
    ]
    if sheet.width >= WIDE:
        rows.append((FLOOR + 47, lambda event: event.hours, False))
    for y, words_of, bold in rows:
        widest = max(width_of(words_of(event), bold=bold) for event in events)
        every = ceil((widest + 1.5) / pitch)
        for x, event in list(zip(xs, events, strict=True))[::every]:
            x = min(x, sheet.width - width_of(words_of(event), bold=bold) / 2)
            sheet.text((x, y), words_of(event), INK if bold else SECOND_INK, anchor="middle", bold=bold)


def _spoken(data: Season) -> Spoken:
    clauses = [
        f"{event.name} {event.chance * 100:.0f} ({event.low * 100:.0f} to {event.high * 100:.0f})"
        for event in data.events
    ]
    if data.open_after is not None:
        clauses.append(f"open it after {data.open_after} of {len(data.events)} events")
    return Spoken(
        "Chance of staying inside every limit after each event, per cent",
        joined([*clauses, f"wanted {data.wanted * 100:.0f}"]),
    )
