"""One shared site: an engine's edition made from records at a commit, framed, with its digest.

In: the checked shop, a link. Out: a folder that can be put in its place, or the digest of one that stands already.
It runs in a process of its own where there are several.
"""

import hashlib
import json
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

import engine_pages
from engine_pages.editions.links import Link
from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.one_edition import site_for
from engine_pages.pages.site import Site
from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit
from engine_pages.shipped import shipped

from .build import frame_site
from .shared_theme import SharedTheme

BUILT: Final = "engine-pages/built.json"
KIND: Final = "shared-site"  # of the cache's entries: from what was asked to the digest of what came out
MADE_WITH: Final = "\0".join(
    f"{name} {version(name)}" for name in ("engine-pages", "mkdocs", "mkdocs-material", "markdown", "jinja2")
)


@dataclass(frozen=True, slots=True)
class Ask:
    """What is to be made: the shop's folder, the commit, the day that counts as today, and the theme's folder."""

    folder: Path
    commit: str
    today: date
    theme: str


@lru_cache(maxsize=1)
def shop_at(folder: Path, commit: str, today: date) -> Checked:
    """The shop at a commit, which never changes: read once in each process."""
    return read_checked(Commit(folder, commit), today, repository_of(folder))


def make_share(ask: Ask, link: Link, standing: frozenset[str], to: Path) -> str:
    """Make the site of a link in the folder `to`, and return its digest; nothing is made where one such stands already.

    Raises mkdocs.exceptions.ConfigurationError, OSError.
    """
    cache = Cache()
    key = key_of(MADE_WITH, ask.commit, ask.today.isoformat(), ask.theme, link.engine, link.edition, _code())
    known = cache.get(KIND, key)
    if known is not None and known.decode("ascii") in standing:
        return known.decode("ascii")
    checked = shop_at(ask.folder, ask.commit, ask.today)
    site = site_for(checked, link.engine, link.edition, cache, ask.commit)
    digest = _digest(site, ask.theme)
    cache.put(KIND, key, digest.encode("ascii"))
    if digest not in standing:
        _write(site, link, to, ask.theme, digest)
    return digest


def digest_at(folder: Path) -> str | None:
    """The digest of the shared site that stands in a folder."""
    try:
        built = json.loads((folder / BUILT).read_bytes())
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return None
    return built.get("digest") if isinstance(built, dict) else None


def _digest(site: Site, theme: str) -> str:
    """Of all that goes into a shared site: its pages, its files, the frame around them."""
    total = hashlib.sha256(key_of(MADE_WITH, theme, repr(site.nav)).encode())
    for page in site.pages:
        total.update(key_of(page.path, page.title, page.html).encode())
    for path, made in sorted(site.files.items()):
        total.update(key_of(path, made()).encode())
    return total.hexdigest()


def _write(site: Site, link: Link, to: Path, theme: str, digest: str) -> None:
    to.mkdir(parents=True)
    if site.pages:
        frame_site(site, to, link.engine, SharedTheme(f"../../{theme}"))
    for path, made in site.files.items() if not site.pages else ():
        (to / path).parent.mkdir(parents=True, exist_ok=True)
        (to / path).write_bytes(made())
    built = to / BUILT
    built.parent.mkdir(exist_ok=True)
    built.write_text(json.dumps({"digest": digest}) + "\n", encoding="ascii")


@lru_cache(maxsize=1)
def _code() -> str:
    """The program's own files: another word in a template makes another page."""
    total = hashlib.sha256()
    for top in (Path(engine_pages.__file__).parent, Path(__file__).parent, shipped("site_template")):
        for path in sorted(top.rglob("*")):
            if path.suffix in (".py", ".jinja", ".css", ".js", ".html") and path.is_file():
                total.update(path.read_bytes())
    return total.hexdigest()
