"""Page data into HTML: each struct has its one template, and its fields are all that the template knows.

In: page data. Out: HTML to be set into the frame of a site generator, or into none. Everything that is not `Markup`
is escaped.
"""

from functools import cache
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from msgspec import Struct

from engine_pages.pages.cache import Cache
from engine_pages.pages.chamber_page import ChamberPage
from engine_pages.pages.engine_page import EnginePage
from engine_pages.pages.front_page import FrontPage
from engine_pages.pages.kept_templates import KeptTemplates
from engine_pages.pages.kind_page import KindPage
from engine_pages.pages.line_breaks import with_line_breaks
from engine_pages.pages.list_pages import ListPage
from engine_pages.pages.marks import hatchings_for
from engine_pages.pages.methods_page import MethodsPage
from engine_pages.pages.part_page import PartPage
from engine_pages.pages.sale_page import SalePage
from engine_pages.pages.sheet_page import SheetPage
from engine_pages.pages.tag_page import TagPage
from engine_pages.pages.tight import one_line
from engine_pages.shipped import shipped

PageData = (
    FrontPage | EnginePage | PartPage | SheetPage | ListPage | ChamberPage | KindPage | MethodsPage | TagPage | SalePage
)

TEMPLATES: Final[dict[type[Any], str]] = {
    FrontPage: "front.html.jinja",
    EnginePage: "engine.html.jinja",
    PartPage: "part.html.jinja",
    SheetPage: "sheet.html.jinja",
    ListPage: "list.html.jinja",
    ChamberPage: "chambers.html.jinja",
    KindPage: "kind.html.jinja",
    MethodsPage: "methods.html.jinja",
    TagPage: "tag.html.jinja",
    SalePage: "sale.html.jinja",
}

BEGIN: Final = '<div class="ep">'  # of every page


@cache
def environment() -> Environment:
    """The templates; what a template names and does not get is an error, not a blank."""
    return Environment(
        loader=FileSystemLoader([shipped("site_template") / room for room in ("pages", "plain")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        keep_trailing_newline=False,
        bytecode_cache=KeptTemplates(Cache()),
    )


def render(page: PageData) -> str:
    """The page's HTML, with the hatchings that its marks point to."""
    html = with_line_breaks(one_line(filled(TEMPLATES[type(page)], page)))
    return html.replace(BEGIN, f"{BEGIN}{hatchings_for(html)}", 1)


def filled(template: str, data: Struct, **more: object) -> str:
    """A template with the fields of its struct, and what else it is given by name."""
    values = {name: getattr(data, name) for name in data.__struct_fields__}
    return environment().get_template(template).render(values, **more)
