"""A locked history as one file: an engine's dossier and its photos in, a page out that asks for the key.

The page that is seen without the key names nothing: titles, styles and the names of files are inside. Once open the
dossier stands in the page itself, so that it prints and its links work; its styles are set by script, since a checksum
of them in the policy would let anybody try which engine it is.
"""

import base64
import json
import re
import secrets
from collections.abc import Callable, Mapping
from html import unescape
from pathlib import Path
from typing import Any, Final

from msgspec import Struct

from engine_pages.editions.locked import ROUNDS, Box, Locked, Random, lock
from engine_pages.editions.words import word_list
from engine_pages.pages.dossier import DOSSIER, LEADS_OUT
from engine_pages.pages.photos import LARGE_SIDE, SMALL_SIDE
from engine_pages.pages.policy import checksum, policy
from engine_pages.shipped import shipped

_HEAD: Final = re.compile(
    r'<html lang="en" class="(?P<class>[^"]*)">.*?<title>(?P<title>.*?)</title>\s*<style>(?P<style>.*?)</style>\s*'
    r"</head>\s*<body>(?P<body>.*)</body>",
    re.DOTALL,
)
_PHOTO: Final = re.compile(r'\s(?:src|href)="([^"#]+\.jpg)"')
_STYLED: Final = re.compile(r'(<[^>]*\s)style="')
_BEGINS: Final = b"<!doctype html>"
_TITLE: Final = b"<title>A locked history</title>"
_HEAD_BYTES: Final = 4_000  # of a locked page, its title among them


class LockedFile(Struct, frozen=True):
    """The file, what opens it, and how many photos are in it."""

    content: bytes
    key: str
    words: str
    photos: int


def locked_file(
    files: Mapping[str, Callable[[], bytes]], small_photos: bool = False, random: Random = secrets.token_bytes
) -> LockedFile:
    """Lock the dossier among a site's files, with the photos that it shows.

    small_photos: take the photos as pages show them, and not as large as they are published. KeyError for a site
    without a dossier.
    """
    page, photos = _apart(files[DOSSIER]().decode("utf-8"), files, small_photos)
    locked = lock([json.dumps(page, ensure_ascii=False).encode("utf-8"), *(files[path]() for path in photos)], random)
    return LockedFile(_page_of(locked), locked.key, locked.words, len(photos))


def is_locked_file(path: Path) -> bool:
    """Whether a file is a locked history, of this edition of the program or another. OSError."""
    with path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    return head.startswith(_BEGINS) and _TITLE in head


def _apart(html: str, files: Mapping[str, Any], small_photos: bool) -> tuple[dict[str, str], list[str]]:
    """The dossier as the page puts it together again, and its photos, which it names by their place among the parts."""
    found = _HEAD.search(html)
    assert found is not None  # a dossier is written by one template
    photos: dict[str, int] = {}

    def photo(named: re.Match[str]) -> str:
        path = _sized(named[1], SMALL_SIDE if small_photos else LARGE_SIDE, files)
        return f' data-photo="{photos.setdefault(path, len(photos) + 1)}"'

    body = _PHOTO.sub(photo, found["body"].replace(' loading="lazy"', ""))  # none is fetched, and paper wants all
    body = _STYLED.sub(r'\1data-style="', LEADS_OUT.sub(r"\1", body))
    return {**found.groupdict(), "title": unescape(found["title"]), "body": body}, list(photos)


def _sized(path: str, side: int, files: Mapping[str, Any]) -> str:
    """The same photo in another size, where it is there."""
    other = re.sub(rf"-(?:{LARGE_SIDE}|{SMALL_SIDE})\.jpg$", f"-{side}.jpg", path)
    return other if other in files else path


def _page_of(locked: Locked) -> bytes:
    inside = {
        "id": locked.id,
        "rounds": ROUNDS,
        "salt": _base64(locked.salt),
        "wrapped": _boxed(locked.wrapped),
        "parts": [_boxed(part) for part in locked.parts],
        "words": " ".join(word_list()),
    }
    style, script = f"\n{_read('page.css')}", f"\n{_read('open.js')}"
    allowed = {"script-src": checksum(script), "style-src": checksum(style), "img-src": "blob: data:"}
    page = _read("page.html").replace("{{CSP}}", policy(allowed)).replace("/*CSS*/", style)
    return page.replace("/*JS*/", script).replace("/*LOCKED*/", json.dumps(inside)).encode("utf-8")


def _boxed(box: Box) -> dict[str, str]:
    return {"iv": _base64(box.iv), "sealed": _base64(box.sealed)}


def _base64(content: bytes) -> str:
    return base64.b64encode(content).decode("ascii")


def _read(name: str) -> str:
    return (shipped("site_template") / "locked" / name).read_text(encoding="utf-8")
