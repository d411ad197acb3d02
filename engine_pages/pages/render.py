"""Page data into HTML: each dataclass has its one template, and its fields are all that the template knows.

In: page data. Out: HTML to be set into the frame of a site generator, or into none. Everything that is not `Markup`
is escaped.
"""

from dataclasses import fields
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from engine_pages.pages.chamber_page import ChamberPage
from engine_pages.pages.engine_page import EnginePage
from engine_pages.pages.front_page import FrontPage
from engine_pages.pages.kind_page import KindPage
from engine_pages.pages.line_breaks import with_line_breaks
from engine_pages.pages.list_pages import ListPage
from engine_pages.pages.methods_page import MethodsPage
from engine_pages.pages.part_page import PartPage
from engine_pages.pages.sheet_page import SheetPage

PageData = FrontPage | EnginePage | PartPage | SheetPage | ListPage | ChamberPage | KindPage | MethodsPage

TEMPLATES: Final[dict[type[Any], str]] = {
    FrontPage: "front.html.jinja",
    EnginePage: "engine.html.jinja",
    PartPage: "part.html.jinja",
    SheetPage: "sheet.html.jinja",
    ListPage: "list.html.jinja",
    ChamberPage: "chambers.html.jinja",
    KindPage: "kind.html.jinja",
    MethodsPage: "methods.html.jinja",
}


def template_folder() -> Path:
    """The folder of templates, styles and scripts: beside this package in the source tree, inside it once installed.

    Raises FileNotFoundError where neither is there.
    """
    package = Path(__file__).parent.parent
    for folder in (package / "site_template", package.parent / "site_template"):
        if (folder / "pages").is_dir():
            return folder
    raise FileNotFoundError("site_template is missing: engine_pages is not installed whole")


@cache
def environment() -> Environment:
    """The templates; what a template names and does not get is an error, not a blank."""
    return Environment(
        loader=FileSystemLoader(template_folder() / "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        keep_trailing_newline=False,
    )


def render(page: PageData) -> str:
    """The page's HTML."""
    template = environment().get_template(TEMPLATES[type(page)])
    return with_line_breaks(template.render({field.name: getattr(page, field.name) for field in fields(page)}))
