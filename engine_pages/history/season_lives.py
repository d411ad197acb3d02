"""The life that nine of ten parts of a kind reach, over the whole shop: the book in, exposures by kind out."""

from collections.abc import Mapping, Sequence
from typing import Any, Final, Protocol

from ..records.family import Family
from ..records.fitting import PartEntry
from ..records.moments import Moment
from ..wear.lifetimes import Lifetime
from .book import Book
from .kept_fits import NOTHING_KEPT, Store, key_by_value
from .kind_lives import life_of, reached_by
from .sight import WHOLE_SHOP, Sight
from .told_kinds import LifeStory

KIND: Final = "life"  # of what is kept
ToldLife = list[Any]  # part, engines, and [run, good, failed by, entered] where its life can be told: plain JSON


class LivesElsewhere(Protocol):
    """The lives of parts that are not in the book."""

    def lives(self, family: str, kind: str, /) -> Sequence[ToldLife]: ...


class NoLives:
    """The book holds every part."""

    def lives(self, _family: str, _kind: str, /) -> Sequence[ToldLife]:
        return ()


NO_LIVES: Final[LivesElsewhere] = NoLives()


def told_life(book: Book, family: Family, part: PartEntry, until: Moment) -> ToldLife:
    """A part's life as far as its kind wants it."""
    engines = sorted({stay.engine for stay in book.lives.of(part.id).stays})
    life = life_of(book, family, part, until)
    if not isinstance(life, LifeStory):
        return [part.id, engines, None]
    return [part.id, engines, [life.run, life.life.good, life.life.failed_by, life.life.entered]]


class LivesReached:
    """Kinds of which enough parts failed to tell, family by family; each is reckoned once, when it is first asked for.

    As for the pools, what is known of a kind is known by one moment, whatever the day of an engine.
    """

    def __init__(
        self, book: Book, until: Moment, confidence: float, sight: Sight = WHOLE_SHOP,
        elsewhere: LivesElsewhere = NO_LIVES, store: Store = NOTHING_KEPT,
    ) -> None:  # fmt: skip
        self._book = book
        self._sight = sight
        self._until = until
        self._confidence = confidence
        self._elsewhere = elsewhere
        self._store = store
        self._found: dict[str, Mapping[str, float]] = {}

    def of(self, family: Family) -> Mapping[str, float]:
        """By kind, in the family's exposure."""
        if family.family not in self._found:
            kinds = ((kind, self._of_kind(family, kind)) for kind in family.kinds)
            self._found[family.family] = {kind: reached for kind, reached in kinds if reached is not None}
        return self._found[family.family]

    def _of_kind(self, family: Family, kind: str) -> float | None:
        """None for an assembly, which is new at every build, and where too few failed."""
        if family.kinds[kind].whole is True:
            return None
        entries = self._book.checked.fitting.parts.values()
        like = [entry for entry in entries if (entry.family, entry.kind) == (family.family, kind)]
        own = {entry.id: told_life(self._book, family, entry, self._until) for entry in like}
        others = {one[0]: one for one in self._elsewhere.lives(family.family, kind)}
        told = [one for _, one in sorted((others | own).items())]
        seen = self._sight.seen(told, lambda one: one[1], lambda _: True)
        return self._reached([(one[2][0], one[0], Lifetime(*one[2][1:])) for one in seen if one[2] is not None])

    def _reached(self, lives: Sequence[tuple[float, str, Lifetime]]) -> float | None:
        """Reckoned once for the same lives."""
        key = key_by_value((self._confidence, sorted(lives, key=lambda one: one[1])))
        kept = self._store.get(KIND, key)
        if kept is not None:
            return float(kept) if kept else None
        reached = reached_by(lives, self._confidence)
        self._store.put(KIND, key, b"" if reached is None else repr(reached).encode("ascii"))
        return reached
