"""What happened to an engine: sheets, hours, incidents and fluids on one axis of dates.

In: a Timeline. Out: inline SVG, 700 or 358 units wide. Sheets are signs in a row, hours a stepped area under them,
incidents diamonds on its edge, fluids lettered lanes; the letters lead to the key under the chart.
"""

from bisect import bisect_right
from datetime import date
from typing import Literal

from msgspec import Struct

from engine_pages.pages.charts.labels import Label, Placed, Spot, boxes_along, place, shortened, width_of, write
from engine_pages.pages.charts.paints import BAND, INK, OPEN_LINE, SECOND_INK, STEEL, SUNK, WARM, WIDE, Spoken
from engine_pages.pages.charts.scales import Scale, date_ticks
from engine_pages.pages.charts.shapes import XY, Box
from engine_pages.pages.charts.sheet import Sheet, joined
from engine_pages.pages.charts.wear_strokes import spread
from engine_pages.pages.words import count_words, day_words, figure_words, month_words, unit_words

SheetKind = Literal["build", "teardown", "inspection"]

SIGNS_Y = 34  # px: middle of the row of signs
FLOOR = 150  # px: the axis of dates
CEILING = 68  # px: the most hours
LANES_TOP, LANE, LANE_STEP = 180, 18, 24  # px
_FIRST: tuple[SheetKind, ...] = ("teardown", "inspection", "build")  # whose label stands when they are too close


class FluidLane(Struct, frozen=True):
    """One fluid's lane: its name, and (start, end, letter) of each kind in turn."""

    name: str
    spans: tuple[tuple[date, date, str], ...]


class Timeline(Struct, frozen=True):
    """An engine's time from `start` to `end`.

    `hours` are (date, hours in all after that day), in order; `sheets` (date, kind, label); `incidents` (date, words).
    """

    start: date
    end: date
    hours: tuple[tuple[date, float], ...]
    sheets: tuple[tuple[date, SheetKind, str], ...]
    incidents: tuple[tuple[date, str], ...] = ()
    fluids: tuple[FluidLane, ...] = ()


def draw_timeline(data: Timeline, width: int) -> str:
    """The timeline as inline SVG, `width` units wide; its height grows with the lanes."""
    lanes = LANES_TOP + len(data.fluids) * LANE_STEP if data.fluids else FLOOR + 24
    sheet = Sheet(width, lanes)
    names = ["sheets", "hours", *(lane.name for lane in data.fluids)]
    left = min(max(width_of(name) for name in names) + 12, 0.28 * width)
    days = Scale(data.start.toordinal(), max(data.end, data.start).toordinal() + 1, left + 8, width - 8)
    for name, y in (("sheets", SIGNS_Y + 4), ("hours", (FLOOR + CEILING) / 2 + 4)):
        sheet.text((0, y), name, INK)
    top = max([hours for _, hours in data.hours], default=0.0) or 1.0
    up = Scale(0.0, top, FLOOR, CEILING)
    _hours(sheet, data, days, up)
    _axis(sheet, data, days, left, 95 if width >= WIDE else 72)
    labels = _signs(sheet, data, days)
    for day, _ in data.incidents:
        sheet.sign("incident", (days.px(day.toordinal()), up.px(hours_on(data, day))))
    write(sheet, labels + _figures(data, days, up, Box(left, 40, width, FLOOR - 2)))
    for index, lane in enumerate(data.fluids):
        _lane(sheet, lane, days, LANES_TOP + index * LANE_STEP, left)
    return sheet.svg(_spoken(data), f"timeline {width} {data!r}")


def hours_on(data: Timeline, day: date) -> float:
    """Hours in all at the end of a day."""
    place_in = bisect_right([known for known, _ in data.hours], day)
    return data.hours[place_in - 1][1] if place_in else 0.0


def _edge(data: Timeline, days: Scale, up: Scale) -> list[XY]:
    """The stepped edge of the hours, from the first day to the last."""
    points, level = [(days.px(data.start.toordinal()), up.px(0.0))], 0.0
    for day, hours in data.hours:
        x = days.px(day.toordinal())
        points += [(x, up.px(level)), (x, up.px(hours))]
        level = hours
    return [*points, (days.px(data.end.toordinal()), up.px(level))]


def _hours(sheet: Sheet, data: Timeline, days: Scale, up: Scale) -> None:
    edge = _edge(data, days, up)
    sheet.area([*edge, (edge[-1][0], FLOOR), (edge[0][0], FLOOR)], BAND)
    sheet.line(edge, STEEL, 2)


def _axis(sheet: Sheet, data: Timeline, days: Scale, left: float, apart: float) -> None:
    sheet.line([(left, FLOOR), (sheet.width - 4, FLOOR)], INK)
    turns = date_ticks(data.start, data.end, days.end - days.start, apart)
    first = month_words(data.start)
    if not turns or days.px(turns[0][0].toordinal()) - days.start > width_of(first) + 10:
        turns.insert(0, (data.start, first))
    for day, words in turns:
        x = days.px(day.toordinal())
        sheet.line([(x, FLOOR), (x, FLOOR + 5)], INK)
        if x + 2 + width_of(words) <= sheet.width:
            sheet.text((x + 2, FLOOR + 17), words)


def _signs(sheet: Sheet, data: Timeline, days: Scale) -> list[Placed]:
    """The row of signs, each over its day; returns the labels that found a place over them."""
    shown = sorted(data.sheets, key=lambda one: one[0])
    stands = spread([days.px(day.toordinal()) for day, _, _ in shown], 13.0, days.start, days.end)
    for (day, _, _), x in zip(shown, stands, strict=True):
        true_x = days.px(day.toordinal())
        sheet.line([(x, SIGNS_Y), (true_x, SIGNS_Y + 12), (true_x, FLOOR)], OPEN_LINE, 1, dash=(1, 3))
    labels: list[tuple[tuple[int, int], Label]] = []
    for (day, kind, label), x in zip(shown, stands, strict=True):
        sheet.sign(kind, (x, SIGNS_Y))
        spots = (Spot((x, 19), "middle"), Spot((x + 6, 19), "end"), Spot((x - 6, 19)))
        rank = (_FIRST.index(kind), -day.toordinal())
        labels.append((rank, Label(label, spots, INK, bold=kind == "teardown")))
    ordered = [label for _, label in sorted(labels, key=lambda one: one[0])]
    return place(ordered, [], Box(0, 0, sheet.width, 26))


def _figures(data: Timeline, days: Scale, up: Scale, within: Box) -> list[Placed]:
    """The hours at the end and at each teardown, and the words of incidents, clear of the edge and of each other."""
    taken = boxes_along(_edge(data, days, up), reach=1.5)
    labels = []
    for day, words in data.incidents:
        x, y = days.px(day.toordinal()), up.px(hours_on(data, day))
        taken.append(Box(x - 6, y - 6.5, x + 6, y + 6.5))
        spots = (Spot((x - 10, y - 3), "end"), Spot((x - 8, y - 10), "end"), Spot((x, y - 13), "middle"))
        labels.append(Label(words, (*spots, Spot((x + 10, y + 15)), Spot((x + 4, y + 20), "middle")), WARM, bold=True))
    ends = [(data.end, True)] if data.hours else []
    ends += [(day, False) for day, kind, _ in reversed(data.sheets) if kind == "teardown"]
    hours: dict[str, Label] = {}  # each figure once, where it stands last
    for day, must in ends:
        if hours_on(data, day) > 0:
            hours.setdefault(figure_words(hours_on(data, day), 1), _hours_label(data, day, days, up, must=must))
    first, *others = hours.values() or [_no_hours_label(days)]
    return place([first, *labels, *others], taken, within)


def _no_hours_label(days: Scale) -> Label:
    return Label("no hours written", (Spot((days.start + 8, FLOOR - 10)),), SECOND_INK)


def _hours_label(data: Timeline, day: date, days: Scale, up: Scale, *, must: bool) -> Label:
    x, hours = days.px(day.toordinal()), hours_on(data, day)
    y = up.px(hours)
    spots = (
        Spot((x - 6, y - 7), "end"),
        Spot((x + 6, y - 7), "end"),
        Spot((x - 6, y + 16), "end"),
        Spot((x + 6, y + 16)),
    )
    return Label(figure_words(hours, 1), spots, INK, bold=True, must=must)


def _lane(sheet: Sheet, lane: FluidLane, days: Scale, top: float, left: float) -> None:
    """One fluid: boxes in turn pale and paler, each with its letter where it fits."""
    sheet.text((0, top + 13), shortened(lane.name, left - 4), INK)
    for index, (start, end, letter) in enumerate(lane.spans):
        first, last = (max(days.px(day.toordinal()), days.start) for day in (start, end))
        box = Box(first, top, min(max(last, first + 2), days.end), top + LANE)
        sheet.rectangle(box, SUNK if index % 2 else BAND, edge=INK)
        if box.right - box.left >= width_of(letter, bold=True) + 4:
            wide = box.right - box.left > 24
            x = box.left + 6 if wide else (box.left + box.right) / 2
            sheet.text((x, top + 13.5), letter, INK, anchor="start" if wide else "middle", bold=True)


def _spoken(data: Timeline) -> Spoken:
    hours = unit_words(figure_words(hours_on(data, data.end), 1), "h") if data.hours else "hours unknown"
    sheets = (f"{label or kind} {day_words(day)}" for day, kind, label in data.sheets)
    incidents = (f"{words} {day_words(day)}" for day, words in data.incidents)
    fluids = (f"{lane.name} {', '.join(letter for _, _, letter in lane.spans)}" for lane in data.fluids)
    return Spoken(
        f"What happened from {day_words(data.start)} to {day_words(data.end)}",
        joined([f"{hours}, {count_words(len(data.sheets), 'sheet')}", *sheets, *incidents, *fluids]),
    )
