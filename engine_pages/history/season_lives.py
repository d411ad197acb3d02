"""The life that nine of ten parts of a kind reach, over the whole shop: the book in, exposures by kind out."""

from collections.abc import Mapping

from ..records.family import Family
from ..records.fitting import PartEntry
from ..records.moments import Moment
from .book import Book
from .kind_lives import lives_of
from .sight import WHOLE_SHOP, Sight


class LivesReached:
    """Kinds of which enough parts failed to tell, family by family; each is reckoned once, when it is first asked for.

    As for the pools, what is known of a kind is known by one moment, whatever the day of an engine.
    """

    def __init__(self, book: Book, until: Moment, confidence: float, sight: Sight = WHOLE_SHOP) -> None:
        self._book = book
        self._sight = sight
        self._until = until
        self._confidence = confidence
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
        like = (entry for entry in entries if (entry.family, entry.kind) == (family.family, kind))
        parts = sorted(self._sight.seen(like, self._engines_of, lambda _: True), key=lambda entry: entry.id)
        lives = lives_of(self._book, family, parts, self._until, self._confidence)
        return lives.reached.value if lives.reached is not None else None

    def _engines_of(self, part: PartEntry) -> frozenset[str]:
        return frozenset(stay.engine for stay in self._book.lives.of(part.id).stays)
