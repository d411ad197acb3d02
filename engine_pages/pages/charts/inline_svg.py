"""What lies on a sheet becomes an inline SVG that lives in a page.

In: shapes in px, in the order in which they lie on each other. Out: SVG as Markup, with text as text, colours as the
page's own variables, so that light, dark and print follow the page, and a title and a description to be read out.
Every look is written as attributes, for makers of PDF read no style sheet here; every id is prefixed, so that several
charts live on one page. A chart takes about a millisecond; a general plotting library's writer took 25 of them.
"""

import hashlib
from collections.abc import Iterable, Mapping
from typing import Final
from xml.etree import ElementTree

from markupsafe import Markup

from engine_pages.pages.charts.paints import PRINTED, SECOND_INK, SHELF, WIDE, Spoken, one_line
from engine_pages.pages.charts.paths import path_of, short
from engine_pages.pages.charts.shapes import LETTERS, Area, Box, Dot, Laid, Letters, Line

_PAINTS: Final = frozenset({*PRINTED, SHELF})
_PLAIN: Final = {"stroke-width": "1", "text-anchor": "start", "opacity": "1"}  # what SVG takes where nothing is said
_TEXT_FILL: Final = SECOND_INK  # what the whole drawing is filled with, unless a shape says otherwise: most letters

Look = dict[str, str]


def inline_svg(width: float, height: float, shapes: Iterable[Laid], spoken: Spoken, key: str) -> Markup:
    """The chart. `key` tells it from any other on the page: the same key, the same ids.

    All letters are 13 px high, in the page's own face.
    Raises ValueError for a colour that is not one of the paints, and for a point that lies nowhere.
    """
    prefix = "c" + hashlib.sha256(key.encode()).hexdigest()[:8]
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": f"chart {'wide' if width >= WIDE else 'narrow'}",
            "viewBox": f"0 0 {short(width)} {short(height)}",
            "role": "img",
            "aria-labelledby": f"{prefix}-t {prefix}-d",
            "fill": _TEXT_FILL,
            "stroke-linejoin": "round",
            "font-size": str(LETTERS),
            "data-search-exclude": "",  # the figures of an axis are nothing to search for
        },
    )
    ElementTree.SubElement(root, "title", {"id": f"{prefix}-t"}).text = one_line(spoken.title)
    ElementTree.SubElement(root, "desc", {"id": f"{prefix}-d"}).text = one_line(spoken.description)
    _Drawing(root, prefix).draw(shapes)
    return Markup(ElementTree.tostring(root, encoding="unicode").replace(" />", "/>"))


class _Drawing:
    """The elements of one drawing, and the boxes that some of them are kept inside."""

    def __init__(self, root: ElementTree.Element, prefix: str) -> None:
        self._root, self._prefix = root, prefix
        self._boxes: dict[Box, str] = {}
        self._last: Look | None = None  # of the element before, where another stroke may go on in it

    def draw(self, shapes: Iterable[Laid]) -> None:
        for laid in shapes:
            self._put(laid.shape, {} if laid.clip is None else {"clip-path": f"url(#{self._inside(laid.clip)})"})
        if self._boxes:
            defined = ElementTree.Element("defs")
            for box, name in self._boxes.items():
                clip = ElementTree.SubElement(defined, "clipPath", {"id": name})
                across, down = box.right - box.left, box.bottom - box.top
                place = {"x": box.left, "y": box.top, "width": across, "height": down}
                ElementTree.SubElement(clip, "rect", {side: short(px) for side, px in place.items()})
            self._root.insert(2, defined)

    def _inside(self, box: Box) -> str:
        return self._boxes.setdefault(box, f"{self._prefix}-{len(self._boxes) + 1}")

    def _put(self, shape: Line | Area | Dot | Letters, clip: Look) -> None:
        match shape:
            case Line():
                self._line(shape, clip)
            case Area():
                look = {**clip, **_filled(shape.paint, shape.edge, shape.width), "opacity": f"{shape.opacity:g}"}
                self._add("path", {"d": path_of(shape.points, closed=True), **look})
            case Dot():
                place = {"cx": short(shape.at[0]), "cy": short(shape.at[1]), "r": short(shape.radius)}
                self._add("circle", {**place, **clip, **_filled(shape.paint, shape.edge, shape.width)})
            case Letters():
                self._letters(shape, clip)

    def _line(self, shape: Line, clip: Look) -> None:
        """A stroke; one that follows another of the same look is drawn in one go with it.

        Not where something shines through, for it would be seen once where the strokes cross, and not twice.
        """
        dash = {} if shape.dash is None else {"stroke-dasharray": ",".join(short(part) for part in shape.dash)}
        look = {**clip, "fill": "none", "stroke": _paint(shape.paint), "stroke-width": short(shape.width), **dash}
        path = path_of(shape.points)
        if look == self._last and shape.opacity == 1:
            self._root[-1].set("d", self._root[-1].attrib["d"] + path)
            return
        self._add("path", {"d": path, **look, "opacity": f"{shape.opacity:g}"})
        self._last = look if shape.opacity == 1 else None

    def _letters(self, shape: Letters, clip: Look) -> None:
        fill = {} if shape.paint == _TEXT_FILL else {"fill": _paint(shape.paint)}
        bold, halo = {"font-weight": "700"} if shape.bold else {}, {"class": "halo"} if shape.halo else {}
        place = {"x": short(shape.at[0]), "y": short(shape.at[1])}
        self._add("text", {**place, **clip, "text-anchor": shape.anchor, **fill, **bold, **halo})
        self._root[-1].text = one_line(shape.words)

    def _add(self, tag: str, look: Mapping[str, str]) -> None:
        said = {name: value for name, value in look.items() if _PLAIN.get(name) != value}
        ElementTree.SubElement(self._root, tag, said)
        self._last = None


def _filled(paint: str, edge: str, width: float) -> Look:
    around = {} if edge == "none" else {"stroke": _paint(edge), "stroke-width": short(width)}
    return {"fill": _paint(paint), **around}


def _paint(name: str) -> str:
    if name not in _PAINTS:
        raise ValueError(f"colour {name} is not one of the paints")
    return name
