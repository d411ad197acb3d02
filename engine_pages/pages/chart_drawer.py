"""Charts drawn once: each for a wide and for a narrow column, kept in the cache by what it shows.

In: a chart's data and the function that draws it. Out: inline SVG for both columns. The key holds the data, the width
and the source of everything that draws, so that a chart is drawn anew whenever anything of it changes.
"""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Final, TypeVar

from markupsafe import Markup

from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.pieces import Chart, Figures, KeyLine

WIDE: Final = 700  # units of the drawing: the column of a page on a desk
NARROW: Final = 358  # and on a phone 390 px wide
_KIND: Final = "chart"
_SHARED: Final = ("bar_strokes.py", "chart_signs.py", "words.py")  # what charts draw with beside their own code

Data = TypeVar("Data")


class ChartDrawer:
    """Draws charts through a cache."""

    def __init__(self, cache: Cache) -> None:
        self._cache = cache

    def draw(
        self,
        data: Data,
        drawing: Callable[[Data, int], str],
        title: str,
        keys: tuple[KeyLine, ...] = (),
        note: str = "",
        figures: Figures | None = None,
    ) -> Chart:
        """The chart in both widths, with its key."""
        told = repr(data)
        wide, narrow = (self._drawn(data, told, drawing, width) for width in (WIDE, NARROW))
        return Chart(title, Markup(wide), Markup(narrow), keys, note, figures)

    def _drawn(self, data: Data, told: str, drawing: Callable[[Data, int], str], width: int) -> str:
        key = key_of(_recipe(), drawing.__name__, told, str(width))
        kept = self._cache.get(_KIND, key)
        if kept is not None:
            return kept.decode("utf-8")
        svg = str(drawing(data, width))
        self._cache.put(_KIND, key, svg.encode("utf-8"))
        return svg


@cache
def _recipe() -> str:
    """What every chart depends on beside its data: the drawing code itself."""
    pages = Path(__file__).parent
    sources = [*sorted((pages / "charts").glob("*.py")), *(pages / name for name in _SHARED)]
    return key_of(*(source.read_bytes() for source in sources))
