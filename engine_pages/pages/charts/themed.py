"""A matplotlib figure becomes an inline SVG that lives in a page.

In: a figure painted only with the colours of PAINTS, in which one unit is one px (72 dots an inch). Out: SVG as Markup
with text as text, colours as the page's own variables, so that light, dark and print follow the page, and with a title
and a description to be read out. What matplotlib adds for a file of its own (metadata, style sheet, sizes, empty
groups) is left out, and every id is prefixed, so that several charts live on one page.
"""

import hashlib
import io
import re
import warnings
from collections.abc import Iterable, Iterator, Mapping
from xml.etree import ElementTree

import matplotlib
from markupsafe import Markup
from matplotlib.figure import Figure

from engine_pages.pages.charts.paints import CLASS_PREFIX, PAINTS, WIDE, Spoken, one_line
from engine_pages.pages.charts.short_paths import circle, short_path

_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_NOTATION = re.compile(r"\s*([MLCQZz])\s*")
_DECIMAL = re.compile(r"-?\d+\.\d+")
_KEPT = (
    "fill",
    "stroke",
    "stroke-width",
    "stroke-dasharray",
    "stroke-linecap",
    "opacity",
    "fill-opacity",
    "stroke-opacity",
    "text-anchor",
)
_UNSEEN = {"fill-opacity": "1", "opacity": "1", "stroke-linecap": "butt", "text-anchor": "start", "stroke-width": "1"}


def themed_svg(figure: Figure, spoken: Spoken, key: str) -> Markup:
    """The figure as inline SVG. `key` tells this chart from any other on the page: the same key, the same ids.

    All letters come out 13 px high, in the page's own face; a bold one stays bold.
    Raises ValueError for a colour that is not one of PAINTS.
    """
    drawn = ElementTree.fromstring(_saved(figure))
    prefix = "c" + hashlib.sha256(key.encode()).hexdigest()[:8]
    names = _ids(drawn, prefix)
    width, height = (_short(float(part)) for part in drawn.attrib["viewBox"].split()[2:])
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": f"chart {'wide' if float(width) >= WIDE else 'narrow'}",
            "viewBox": f"0 0 {width} {height}",
            "role": "img",
            "aria-labelledby": f"{prefix}-t {prefix}-d",
            "stroke-linejoin": "round",
            "font-size": "13",
            "data-search-exclude": "",  # the figures of an axis are nothing to search for
        },
    )
    ElementTree.SubElement(root, "title", {"id": f"{prefix}-t"}).text = one_line(spoken.title)
    ElementTree.SubElement(root, "desc", {"id": f"{prefix}-d"}).text = one_line(spoken.description)
    defined = ElementTree.SubElement(root, "defs")
    defined.extend(list(_definitions(drawn, names)))
    if not len(defined):
        root.remove(defined)
    root.extend(_joined(_shapes(drawn, names, {})))
    return Markup(ElementTree.tostring(root, encoding="unicode").replace(" />", "/>"))


def _saved(figure: Figure) -> bytes:
    """The figure as matplotlib writes it, the same bytes every time."""
    target = io.BytesIO()
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "engine-pages"}), warnings.catch_warnings():
        # The reader's browser has its own fonts: that matplotlib's lacks a glyph does not matter to text kept as text.
        warnings.filterwarnings("ignore", message="Glyph .* missing from", category=UserWarning)
        figure.savefig(target, format="svg", metadata={"Date": None, "Creator": None}, transparent=True)
    return target.getvalue()


def _ids(drawn: ElementTree.Element, prefix: str) -> dict[str, str]:
    """New ids, in order of appearance, for what may be pointed at: clip paths and the shapes of markers."""
    old = [
        element.attrib["id"]
        for element in drawn.iter()
        if "id" in element.attrib and element.tag in (f"{_SVG}clipPath", f"{_SVG}path")
    ]
    return {name: f"{prefix}-{count}" for count, name in enumerate(dict.fromkeys(old), 1)}


def _definitions(drawn: ElementTree.Element, names: Mapping[str, str]) -> Iterator[ElementTree.Element]:
    for defs in drawn.iter(f"{_SVG}defs"):
        for element in defs:
            if element.tag == f"{_SVG}path":
                shape = _plain(element)
                shape.set("id", names[element.attrib["id"]])
                yield shape
            elif element.tag == f"{_SVG}clipPath":
                clip = ElementTree.Element("clipPath", {"id": names[element.attrib["id"]]})
                clip.extend([_plain(shape) for shape in element])
                yield clip


def _shapes(
    group: ElementTree.Element, names: Mapping[str, str], inherited: Mapping[str, str]
) -> Iterator[ElementTree.Element]:
    """Every drawn element, out of its groups; what a group says of its content is written on the content."""
    for element in group:
        if element.tag == f"{_SVG}g":
            passed = dict(inherited)
            if "clip-path" in element.attrib:
                passed["clip-path"] = element.attrib["clip-path"]
            if element.attrib.get("id", "").startswith(CLASS_PREFIX):
                passed["class"] = element.attrib["id"].removeprefix(CLASS_PREFIX)
            yield from _shapes(element, names, passed)
        elif element.tag in (f"{_SVG}path", f"{_SVG}text", f"{_SVG}use"):
            shape = _plain(element)
            for name, value in inherited.items():
                shape.attrib.setdefault(name, value)
            if "clip-path" in shape.attrib:
                shape.set("clip-path", f"url(#{names[shape.attrib['clip-path'][5:-1]]})")
            if _HREF in element.attrib:
                shape.set("href", f"#{names[element.attrib[_HREF][1:]]}")
            if shape.get("fill") != "none" or "stroke" in shape.attrib:  # the figure's own empty background is left out
                yield shape


def _joined(shapes: Iterable[ElementTree.Element]) -> list[ElementTree.Element]:
    """Lines that follow each other in one ink, drawn in one go."""
    joined: list[ElementTree.Element] = []
    for shape in shapes:
        look = _but_path(shape)
        if joined and look is not None and look == _but_path(joined[-1]):
            joined[-1].set("d", joined[-1].attrib["d"] + shape.attrib["d"])
        else:
            joined.append(shape)
    return joined


def _but_path(shape: ElementTree.Element) -> dict[str, str] | None:
    """What a line looks like; None for what is none, or through which something is seen twice where it crosses."""
    filled = shape.get("fill") != "none"
    if filled or "d" not in shape.attrib or any(name.endswith("opacity") for name in shape.attrib):
        return None
    return {name: value for name, value in shape.attrib.items() if name != "d"}


def _plain(element: ElementTree.Element) -> ElementTree.Element:
    """The element with its style as attributes, its colours as the page's, its numbers short."""
    plain = ElementTree.Element(element.tag.removeprefix(_SVG))
    plain.text = element.text if plain.tag == "text" else None
    for name in ("x", "y", "width", "height"):
        if name in element.attrib:
            plain.set(name, _short(float(element.attrib[name])))
    if "d" in element.attrib:
        _set_path(plain, _NOTATION.sub(r"\1", _rounded(element.attrib["d"])).strip())
    if "clip-path" in element.attrib:
        plain.set("clip-path", element.attrib["clip-path"])
    turn = element.attrib.get("transform", "")
    if turn and not turn.startswith(("rotate(-0 ", "rotate(0 ")):
        plain.set("transform", _rounded(turn))
    for name, value in _declarations(element.attrib.get("style", "")):
        plain.set(name, value)
    return plain


def _set_path(shape: ElementTree.Element, data: str) -> None:
    """The path, or the circle that it is."""
    round_one = circle(data)
    if round_one is None:
        shape.set("d", short_path(data))
    else:
        shape.tag = "circle"
        shape.attrib.update(zip(("cx", "cy", "r"), round_one, strict=True))


def _declarations(style: str) -> Iterator[tuple[str, str]]:
    """The declarations worth keeping, of a style attribute; the family of letters is the page's business."""
    for declaration in filter(None, (part.strip() for part in style.split(";"))):
        name, value = (part.strip() for part in declaration.split(":", 1))
        if name == "font":  # older matplotlib: "700 13px 'DejaVu Sans', …"
            weight = value.split()[0]
            name, value = "font-weight", weight if weight.isdigit() else "400"
        if name == "font-weight" and value in ("700", "bold"):
            yield "font-weight", "700"
        elif name in _KEPT and _UNSEEN.get(name) != value:
            yield name, _value(name, value)


def _value(name: str, value: str) -> str:
    """A style's value as the page wants it: paints by their names, lengths to a tenth, opacities as they are."""
    if name not in ("fill", "stroke"):
        return value if name.endswith("opacity") else _rounded(value)
    if value != "none" and value not in PAINTS:
        raise ValueError(f"colour {value} is not one of the paints")
    return PAINTS.get(value, value)


def _rounded(text: str) -> str:
    return _DECIMAL.sub(lambda found: _short(float(found.group())), text)


def _short(value: float) -> str:
    """A number to a tenth: finer than a tenth of a px nothing is seen."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text
