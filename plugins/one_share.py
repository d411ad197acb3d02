"""One shared site: an engine's edition made from records at a commit, framed, with its digest.

In: a link and what its engine's story follows from. Out: a folder that can be put in its place, or the digest of one
that stands already. It runs in a process of its own where there are several.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from engine_pages.editions.links import Link
from engine_pages.editions.once_crew_only import Sealed
from engine_pages.pages.bench_form import SHEET_KINDS
from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.one_edition import Around, site_of
from engine_pages.pages.site import Site
from engine_pages.records.git import Touch

from .build import frame_site
from .program import MADE_WITH
from .shared_theme import SharedTheme
from .survey import At, Group, Survey, records_of, survey_of

BUILT: Final = "engine-pages/built.json"
KIND: Final = "shared-site"  # of the cache's entries: from what was asked to the digest of what came out


@dataclass(frozen=True, slots=True)
class Job:
    """A link to be made: its group, git's word on the group's files, what it kept for the crew, and a key of it all."""

    link: Link
    group: Group
    touches: Mapping[str, Touch]
    sealed: Sealed
    key: str


@dataclass(frozen=True, slots=True)
class Made:
    """What came out: the site's digest, and the words that were looked up among the names that stay in the shop."""

    digest: str
    asked: frozenset[str] | None


@lru_cache(maxsize=1)
def surveyed(at: At) -> Survey:
    """The survey of a commit: once in each process."""
    return survey_of(at, Cache())


def make_share(at: At, theme: str, job: Job, standing: frozenset[str], to: Path, survey: Survey | None = None) -> Made:
    """Make the site of a link in the folder `to`, and return its digest; nothing is made where one such stands already.

    `survey`: that of the commit, where this process has it already.
    Raises mkdocs.exceptions.ConfigurationError, OSError.
    """
    cache = Cache()
    known = cache.get(KIND, job.key)
    if known is not None and known.decode("ascii") in standing:
        return Made(known.decode("ascii"), None)
    shop, name = (survey or surveyed(at)).shop, job.group.kin.name
    checked = records_of(at, job.group.kin, dict(job.touches), shop.beyond(name))
    around = Around(job.sealed, shop.rest(name), {kind: shop.numbers(kind) for kind in SHEET_KINDS}, cache)
    site, asked = site_of(checked, job.link.engine, job.link.edition, cache, around)
    digest = _digest(site, theme)
    cache.put(KIND, job.key, digest.encode("ascii"))
    if digest not in standing:
        _write(site, job.link, to, theme, digest)
    return Made(digest, asked)


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
