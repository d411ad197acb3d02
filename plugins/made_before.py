"""What each shared site was made from, so that the next publishing knows which are to be made again, and why.

In: a link and the survey of a commit. Out: `Wanted`, with the first of its ingredients that is another than last time.
A site's ingredients are what is written for all engines, its group's own records and what git says of them, what was
ever crew only, the names that its texts could hold, what its figures take of like parts elsewhere, the program, and
where a record says so the day.
"""

import hashlib
import json
from bisect import bisect_left
from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from engine_pages.editions.links import Link
from engine_pages.editions.once_crew_only import Past
from engine_pages.pages.bench_form import SHEET_KINDS
from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.one_edition import BENCH
from engine_pages.records.kept_history import KeptHistory
from engine_pages.records.kin import Kin
from engine_pages.records.names import Names

from .one_share import Job, Made, relevant_names
from .program import program
from .survey import At, Group, Survey, blobs_of

ELSEWHERE: Final = "like parts elsewhere"
AROUND: Final = "shop.yml"  # the place of what bears on every engine
NAMES: Final = "names"  # the ingredient of which a site says itself which it depends on: see `Made`
CHANGED: Final = "changed"  # where nobody knows any more what it was made from last time
WHY: Final[Mapping[str, str]] = {
    "program": "the program",
    "for all": "what is written for all engines",
    "own": "its own records",
    "kept": "what stays with the crew",
    NAMES: "names of the shop",
    "alike": "numbers of other sheets",
    "like": ELSEWHERE,
    "day": "the day",
}
OF_A_GROUP: Final = "its own records, or those of an engine that it shares parts with"
LATER: Final = frozenset((ELSEWHERE,))  # made after what was filed


class Wanted(Struct, frozen=True):
    """A link to be shown: its ingredients, why it is made again (None: nothing changed), and what came out last."""

    link: Link
    group: Group
    parts: Mapping[str, str]
    why: str | None
    digest: str | None


class MadeBefore:
    """By engine and edition the ingredients of what was made last, the digest that came out, the words looked up."""

    def __init__(self, to: Path, cache: Cache) -> None:
        self._cache, self._key = cache, key_of(str(to))
        found = cache.get("made", self._key)
        self._told: dict[str, Any] = json.loads(found) if found is not None else {}
        self._live: set[str] = set()

    def of(self, link: Link) -> Mapping[str, Any]:
        """What is known of a link; nothing of one that was never made."""
        self._live.add(_name(link))
        found: Mapping[str, Any] = self._told.get(_name(link), {})
        return found

    def add(self, one: Wanted, made: Made, sources: "Sources") -> None:
        """What came of a link."""
        asked = sorted(made.asked)
        parts = dict(one.parts) | {NAMES: sources.relevant(asked)}
        self._told[_name(one.link)] = {"parts": parts, "digest": made.digest, "asked": asked}

    def keep(self) -> None:
        """Keep what is known of the links that were asked for."""
        told = {name: about for name, about in self._told.items() if name in self._live}
        self._cache.put("made", self._key, json.dumps(told, separators=(",", ":")).encode("utf-8"))


def _name(link: Link) -> str:
    return f"{link.edition} {link.engine}"


class Sources:
    """What links are made from: the survey of a commit and git's history, sorted by engine and part.

    `histories`: that of the commit first; of all that are given nothing is shown that was ever crew only.
    """

    def __init__(self, survey: Survey, histories: Sequence[KeptHistory], at: At, theme: str) -> None:
        self._survey, self._history, self._at = survey, histories[0], at
        self._program = key_of(program(), theme)
        self._touched = sorted(self._history.touched)
        self._past = Past(*histories)

    def wanted(self, link: Link, ledger: MadeBefore) -> Wanted:
        """What a link is made from, and whether it has to be made."""
        shop, group, known = self._survey.shop, self._survey.groups[link.engine], ledger.of(link)
        touched = [(path, self._history.commits[self._history.touched[path]][0]) for path in self._paths(group.kin)]
        asked = known.get("asked")
        parts = {
            "program": self._program,
            "for all": self._survey.for_all,
            "own": _digest([group.key, sorted(touched)]),
            "kept": _digest([self._past.of_engine(link.engine), self._of_all, sorted(self._sealed_photos(link))]),
            NAMES: shop.names_digest if asked is None else self.relevant(asked),
            "alike": self._alike(group, link),
            "like": shop.leaned_on(group.kin.name),
            "day": self._at.today.isoformat() if group.is_dated or link.edition == BENCH else "",
        }
        why = _why(known.get("parts"), parts)
        why = OF_A_GROUP if why == WHY["own"] and len(group.kin.engines) > 1 else why
        return Wanted(link, group, parts, why, known.get("digest"))

    def job(self, one: Wanted) -> Job:
        """How it is made."""
        sealed = replace(
            self._past.sealed(one.link.engine),
            blobs=self._sealed_photos(one.link),
            names=self._once.readers,
        )
        paths = set(self._paths(one.group.kin))
        follows = {part: digest for part, digest in one.parts.items() if part != NAMES}
        key = key_of(json.dumps(follows), one.link.engine, one.link.edition)
        return Job(one.link, one.group, self._history.touches(paths), sealed, key)

    def _sealed_photos(self, link: Link) -> frozenset[str]:
        """Of the photos that were ever crew only those that lie in the engine's folder."""
        sealed = self._past.blobs
        return sealed & blobs_of(self._at, link.engine) if sealed else sealed

    @cached_property
    def _of_all(self) -> str:
        return _digest(self._past.of_all)

    def relevant(self, asked: Collection[str]) -> str:
        """A digest of the names, of today or once written, that begin with one of these words."""
        return relevant_names(self._survey.shop, self._once, asked)

    @cached_property
    def _once(self) -> Names:
        """Names that some version of the records held, and none of today's does."""
        today, past = self._survey.shop.names, self._past.names
        others = past.keys() - today.readers.keys()  # few of tens of thousands
        return Names({name: past[name] for name in sorted(others) if not today.spell(name)})

    def _paths(self, kin: Kin) -> list[str]:
        """Every file that is or was of what a group's stories follow from."""
        of_all = [path for path in (AROUND, *self._inside("families")) if path in self._history.touched]
        own = [path for engine in kin.engines for path in self._inside(f"engines/{engine}")]
        parts = (f"parts/{stem}.yml" for stem in kin.stems)
        return [*of_all, *own, *(path for path in parts if path in self._history.touched)]

    def _inside(self, folder: str) -> list[str]:
        """Every file that is or was in a folder."""
        first, end = (bisect_left(self._touched, f"{folder}{sign}") for sign in "/0")  # what comes after a stroke
        return self._touched[first:end]

    def _alike(self, group: Group, link: Link) -> str:
        """What of other sheets' numbers, and of serials, stands beside its own."""
        shop = self._survey.shop
        numbers, serials = shop.alike(group.kin.name)
        told = [sorted((number, str(day), path) for number, (day, path) in numbers.items()), sorted(serials.items())]
        if link.edition == BENCH:
            told += [sorted(shop.numbers(kind)) for kind in SHEET_KINDS]
        return _digest(told)


def _why(before: Mapping[str, str] | None, parts: Mapping[str, str]) -> str | None:
    if before is None:
        return CHANGED
    return next((why for part, why in WHY.items() if before.get(part) != parts[part]), None)


def _digest(told: Any) -> str:
    return hashlib.sha256(json.dumps(told, separators=(",", ":")).encode("ascii")).hexdigest()
