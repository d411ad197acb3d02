"""One shared site: an engine's edition made from records at a commit, framed, with its digest.

In: a link and what its engine's story follows from. Out: a folder that can be put in its place, or the digest of one
that stands already (`standing`). It runs in a process of its own where there are several.
"""

import hashlib
import json
from collections.abc import Collection, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Final

from msgspec import Struct

from engine_pages.editions.links import Link
from engine_pages.editions.sealed import Sealed
from engine_pages.editions.whole_shop import WholeShop
from engine_pages.history.hands import Hands, one_hand
from engine_pages.pages.bench_form import SHEET_KINDS
from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.kept_site import site_from_bytes, site_to_bytes
from engine_pages.pages.one_edition import Around, site_of
from engine_pages.pages.photo_shelf import PhotoShelf
from engine_pages.pages.reckoning import MADE_WITH
from engine_pages.pages.site import Site
from engine_pages.records.git import Touch
from engine_pages.records.names import Names

from .framing import frame_site
from .shared_theme import SharedTheme
from .standing import sign
from .survey import At, Group, Survey, outline_at, records_of, survey_of

KIND: Final = "made-site"  # of the cache's entries: from all that a site follows from, but names, to the site


class Job(Struct, frozen=True):
    """A link to be made: its group, git's word on the group's files, what it kept for the crew, and a key of it all."""

    link: Link
    group: Group
    touches: Mapping[str, Touch]
    sealed: Sealed
    key: str


class Made(Struct, frozen=True):
    """What came out: the site's digest, and the words that were looked up among the names that stay in the shop."""

    digest: str
    asked: frozenset[str]


@lru_cache(maxsize=1)
def surveyed(at: At) -> Survey:
    """The survey of a commit: once in each process."""
    return survey_of(at, Cache())


def make_share(
    at: At, theme: str, job: Job, standing: frozenset[str], to: Path, survey: Survey | None = None,
    hands: Hands = one_hand, cache: Cache | None = None,
) -> Made:  # fmt: skip
    """Make the site of a link in the folder `to`, and return its digest; nothing is made where one such stands already.

    `survey`: that of the commit, where this process has it already; `hands`: where cores are idle; `cache`: one that
    puts off what can wait, where there is such.
    Raises mkdocs.exceptions.ConfigurationError, OSError.
    """
    cache, shop = cache or Cache(), (survey or surveyed(at)).shop
    kept = _kept(cache, job, shop)
    if kept is not None and kept[0].digest in standing:
        return kept[0]
    if kept is not None:
        made, site = kept[0], site_from_bytes(kept[1], PhotoShelf(outline_at(at.folder, at.commit).whole.read, cache))
    else:
        made, site = _told(at, theme, job, shop, cache, hands)
    if made.digest not in standing:
        _write(site, to, theme, made.digest, hands)
    return made


def is_kept(cache: Cache, job: Job) -> bool:
    """Whether the site lies in the cache, as far as its name says: names of the shop may have changed since."""
    return cache.holds(KIND, job.key)


def _told(at: At, theme: str, job: Job, shop: WholeShop, cache: Cache, hands: Hands) -> tuple[Made, Site]:
    """The site from the records; it is kept with the names that it depends on."""
    name = job.group.kin.name
    checked = records_of(at, job.group.kin, dict(job.touches), shop.beyond(name))
    around = Around(job.sealed, shop.rest(name), {kind: shop.numbers(kind) for kind in SHEET_KINDS}, cache, hands)
    site, asked = site_of(checked, job.link.engine, job.link.edition, cache, around)
    made = Made(_digest(site, theme), asked)

    def written() -> bytes:
        names = relevant_names(shop, Names(job.sealed.names), asked)
        head = json.dumps({"digest": made.digest, "asked": sorted(asked), "names": names})
        return head.encode("ascii") + b"\n" + site_to_bytes(site)

    cache.put_later(KIND, job.key, written)
    return made, site


def _kept(cache: Cache, job: Job, shop: WholeShop) -> tuple[Made, bytes] | None:
    """What came out when the site was made before, and the site as it was kept, where the shop's names are the same."""
    head, _, site = (cache.get(KIND, job.key) or b"null").partition(b"\n")
    told = json.loads(head)
    if told is None or relevant_names(shop, Names(job.sealed.names), told["asked"]) != told["names"]:
        return None
    return Made(told["digest"], frozenset(told["asked"])), site


def relevant_names(shop: WholeShop, once: Names, asked: Collection[str]) -> str:
    """A digest of the shop's names, and of those that were written once, that begin with one of these words."""
    return key_of(shop.relevant(asked), once.relevant(asked))


def _digest(site: Site, theme: str) -> str:
    """Of all that goes into a shared site: its pages, its files, the frame around them with the name over it."""
    total = hashlib.sha256(key_of(MADE_WITH, theme, site.name, repr(site.nav)).encode())
    for page in site.pages:
        total.update(key_of(page.path, page.title, page.html).encode())
    for path, made in sorted(site.files.items()):
        total.update(key_of(path, made()).encode())
    return total.hexdigest()


def _write(site: Site, to: Path, theme: str, digest: str, hands: Hands) -> None:
    to.mkdir(parents=True)
    if site.pages:
        frame_site(site, to, site.name, SharedTheme(f"../../{theme}"), hands)
    for path, made in site.files.items() if not site.pages else ():
        (to / path).parent.mkdir(parents=True, exist_ok=True)
        (to / path).write_bytes(made())
    sign(to, digest)
