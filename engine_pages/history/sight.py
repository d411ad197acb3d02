"""Whose readings a reader of one engine may lean on: like parts in, those that may stand behind a figure out.

A rate that leans on one other engine tells how that engine wears. It is told only where enough others stand behind it.
"""

from collections.abc import Callable, Collection, Iterable
from typing import Final, TypeVar

from msgspec import Struct

T = TypeVar("T")
FEWEST_OTHERS: Final = 3  # engines beside the reader's own that must stand behind a joint figure


class Sight(Struct, frozen=True):
    """What is seen from one engine; `engine` None sees the whole shop."""

    engine: str | None = None

    def seen(
        self, things: Iterable[T], engines_of: Callable[[T], Collection[str]], counts: Callable[[T], bool]
    ) -> list[T]:
        """All things where those that count come from enough other engines, else those of the engine itself.

        >>> Sight("A").seen(["A1", "B1"], lambda one: {one[0]}, lambda one: True)
        ['A1']
        >>> Sight("A").seen(["A1", "B1", "C1", "D1"], lambda one: {one[0]}, lambda one: True)
        ['A1', 'B1', 'C1', 'D1']
        """
        all_of_them = list(things)
        if self.engine is None:
            return all_of_them
        others = {engine for one in all_of_them if counts(one) for engine in engines_of(one)} - {self.engine}
        if len(others) >= FEWEST_OTHERS:
            return all_of_them
        return [one for one in all_of_them if self.engine in engines_of(one)]


WHOLE_SHOP: Final = Sight()
