"""The shapes of a chart, in px from the top left corner of its sheet."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from msgspec import Struct

LETTERS = 13  # px: the height of every letter on a chart
Anchor = Literal["start", "middle", "end"]
XY = tuple[float, float]


class Box(NamedTuple):
    """A rectangle in px, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: "Box") -> float:
        """Area in px² that both cover."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across * down if across > 0 and down > 0 else 0.0

    def meets(self, other: "Box") -> bool:
        """Whether there is anything that both cover."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def holds(self, other: "Box") -> bool:
        """Whether the other lies wholly inside."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )


class Line(Struct, frozen=True):
    """A stroke through points, `width` px wide; `dash` is drawn and left, in px."""

    points: Sequence[XY]
    paint: str
    width: float
    dash: tuple[float, float] | None
    opacity: float


class Area(Struct, frozen=True):
    """A filled outline, with an edge of its own paint, `width` px wide, unless that is "none"."""

    points: Sequence[XY]
    paint: str
    edge: str
    width: float
    opacity: float


class Dot(Struct, frozen=True):
    """A filled circle, `radius` px, with a rim."""

    at: XY
    radius: float
    paint: str
    edge: str
    width: float


class Letters(Struct, frozen=True):
    """Words on a baseline."""

    at: XY
    words: str
    paint: str
    anchor: Anchor
    bold: bool
    halo: bool


class Laid(Struct, frozen=True):
    """A shape as it lies on the sheet: kept inside a box where one is named."""

    shape: Line | Area | Dot | Letters
    clip: Box | None
