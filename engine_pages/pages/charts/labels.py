"""Letters that do not run into each other: where a label may stand, which give way.

In: labels in order of importance, each with the places that suit it, best first, and what is already taken. Out: the
places they get. A lesser label with no free place is dropped; one that must be seen takes the one where it hides least.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from msgspec import Struct

from engine_pages.pages.charts.paints import SECOND_INK
from engine_pages.pages.charts.shapes import LETTERS, XY, Anchor, Box
from engine_pages.pages.charts.sheet import Sheet

# Widths of letters in thousandths of their height: Adobe's Helvetica (the AFM file that matplotlib carries), the widest
# of the faces that a chart may be shown in. Letters not named here count as wide as a capital.
_WIDTHS: Mapping[int, str] = {
    222: "ijl'",
    278: " .,:;/!|Ift[]\u00a0\u202f",
    333: "()-r`",
    400: '°"',
    500: "cksvxyzJ",
    556: "0123456789abdeghnopquL?$_–µ",
    584: "+<=>~−±×",
    611: "FTZ",
    667: "ABEKPSVXY&",
    722: "CDHNRUw",
    778: "GOQ",
    833: "mM",
    889: "%",
    944: "W",
    1000: "→…@",
}
_WIDTH_OF = {letter: width for width, letters in _WIDTHS.items() for letter in letters}
_BOLD = 1.08  # a bold face is wider by less than this


def width_of(words: str, *, bold: bool = False) -> float:
    """Width in px that words may take on a chart.

    >>> width_of("60.105")
    39.754
    """
    thousandths = sum(_WIDTH_OF.get(letter, 722) for letter in words)
    return thousandths * LETTERS / 1000 * (_BOLD if bold else 1)


def shortened(words: str, room: float, *, bold: bool = False) -> str:
    """The words, cut with an ellipsis where they would be wider than `room` px; empty where not even that fits."""
    if width_of(words, bold=bold) <= room:
        return words
    kept = words
    while kept and width_of(kept.rstrip() + "…", bold=bold) > room:
        kept = kept[:-1]
    return f"{kept.rstrip()}…" if kept else ""


def letters_box(at: XY, words: str, anchor: Anchor = "start", *, bold: bool = False) -> Box:
    """The rectangle that words take, standing on the baseline at `at`."""
    width = width_of(words, bold=bold)
    left = at[0] - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return Box(left, at[1] - 0.78 * LETTERS, left + width, at[1] + 0.22 * LETTERS)


class Spot(Struct, frozen=True):
    """A place for a label: the point on the baseline, and which end of the words lies there."""

    at: XY
    anchor: Anchor = "start"


class Label(Struct, frozen=True):
    """Words that want a place. Shorter words may be given, for when the full ones find none."""

    words: str
    spots: tuple[Spot, ...]
    paint: str = SECOND_INK
    bold: bool = False
    must: bool = False
    shorter: str = ""


class Placed(Struct, frozen=True):
    """A label in its place."""

    label: Label
    words: str
    spot: Spot

    @property
    def box(self) -> Box:
        return letters_box(self.spot.at, self.words, self.spot.anchor, bold=self.label.bold)


def place(labels: Sequence[Label], taken: Sequence[Box], within: Box) -> list[Placed]:
    """Places for the labels, the most important first; `taken` is what none of them may cover."""
    covered, placed = list(taken), []
    for label in labels:
        found = _free(label, covered, within)
        if found is None and label.must:
            found = _least_hidden(label, covered, within)
        if found is not None:
            placed.append(found)
            covered.append(found.box)
    return placed


def write(sheet: Sheet, placed: Sequence[Placed]) -> None:
    """The placed labels, each freed from what lies beneath it."""
    for one in placed:
        label = one.label
        sheet.text(one.spot.at, one.words, label.paint, anchor=one.spot.anchor, bold=label.bold, halo=True)


def spots_around(x: float, y: float, gap: float = 9.0) -> tuple[Spot, ...]:
    """Places around a point, best first: right and below, right and above, left, straight above and below."""
    right, left = x + gap, x - gap
    low, high = y + gap + LETTERS * 0.7, y - gap
    return (
        Spot((right, low)),
        Spot((right, high)),
        Spot((left, high), "end"),
        Spot((left, low), "end"),
        Spot((x, high - 4), "middle"),
        Spot((x, low + 4), "middle"),
        Spot((right + 4, y + 4.5)),
        Spot((left - 4, y + 4.5), "end"),
    )


def boxes_along(points: Sequence[XY], reach: float = 2.0, step: float = 6.0) -> list[Box]:
    """Small boxes along a polyline, so that labels keep off it."""
    boxes = []
    for (x1, y1), (x2, y2) in pairwise(points):
        pieces = max(1, round(max(abs(x2 - x1), abs(y2 - y1)) / step))
        for piece in range(pieces + 1):
            x, y = x1 + (x2 - x1) * piece / pieces, y1 + (y2 - y1) * piece / pieces
            boxes.append(Box(x - reach, y - reach, x + reach, y + reach))
    return boxes


def _candidates(label: Label) -> list[Placed]:
    wordings = [label.words, label.shorter] if label.shorter else [label.words]
    return [Placed(label, words, spot) for words in wordings for spot in label.spots]


def _free(label: Label, covered: Sequence[Box], within: Box) -> Placed | None:
    for candidate in _candidates(label):
        box = candidate.box
        if within.holds(box) and not any(map(box.meets, covered)):
            return candidate
    return None


def _least_hidden(label: Label, covered: Sequence[Box], within: Box) -> Placed:
    """The place, moved sideways into the sheet where it must be, that covers least of what is there."""
    moved = [Placed(one.label, one.words, _moved_inside(one, within)) for one in _candidates(label)]
    return min(moved, key=lambda one: sum(one.box.overlap(other) for other in covered))


def _moved_inside(one: Placed, within: Box) -> Spot:
    box, (x, y) = one.box, one.spot.at
    x += max(0.0, within.left - box.left) - max(0.0, box.right - within.right)
    y += max(0.0, within.top - box.top) - max(0.0, box.bottom - within.bottom)
    return Spot((x, y), one.spot.anchor)
