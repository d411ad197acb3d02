"""A site's pages and files as bytes that can be kept: what was made once is framed again without being told again.

In: a site. Out: a zip of it, and the site from that zip. Photos are not in it, only which photo a file is made from.
What a site was made from, and so when it holds no longer, is its keeper's to know.
"""

import json
import zipfile
from collections.abc import Callable
from functools import partial
from io import BytesIO
from typing import Any, Final

from engine_pages.pages.every_page import Page
from engine_pages.pages.photo_shelf import PhotoFile, PhotoShelf
from engine_pages.pages.site import NavItem, Site

_PAGES: Final = "pages.json"
_FILES: Final = "files/"
_LEVEL: Final = 1  # of deflate: a fifth of the size at a tenth of a page's cost; more saves little


def site_to_bytes(site: Site) -> bytes:
    """A site as bytes, but for the doubts about its photos, which were told when it was made."""
    photos = {path: made for path, made in site.files.items() if isinstance(made, PhotoFile)}
    told = {
        "pages": [[page.path, page.title, page.html, page.headings, page.in_nav] for page in site.pages],
        "nav": site.nav,
        "name": site.name,
        "files": list(site.files),
        "photos": {path: [file.photo, file.side] for path, file in photos.items()},
    }
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=_LEVEL) as kept:
        kept.writestr(_PAGES, json.dumps(told, ensure_ascii=False, separators=(",", ":")))
        for path, made in site.files.items():
            if path not in photos:
                kept.writestr(_FILES + path, made())
    return out.getvalue()


def site_from_bytes(data: bytes, shelf: PhotoShelf) -> Site:
    """The site again; its photos are made by the shelf when they are asked for."""
    kept = zipfile.ZipFile(BytesIO(data))
    told: dict[str, Any] = json.loads(kept.read(_PAGES))
    files: dict[str, Callable[[], bytes]] = {}
    for path in told["files"]:
        photo = told["photos"].get(path)
        files[path] = partial(kept.read, _FILES + path) if photo is None else PhotoFile(shelf, *photo)
    pages = (
        Page(path, title, html, tuple((level, id, words) for level, id, words in headings), in_nav)
        for path, title, html, headings, in_nav in told["pages"]
    )
    return Site(tuple(pages), files, _nav(told["nav"]), (), told["name"])


def _nav(items: list[Any]) -> tuple[NavItem, ...]:
    return tuple((title, inside if isinstance(inside, str) else _nav(inside)) for title, inside in items)
