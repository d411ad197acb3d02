"""What was made last, for who makes it again and again: from the same it is not made anew."""

from collections.abc import Callable
from typing import Any, Generic, TypeVar

T = TypeVar("T")


class LastMade(Generic[T]):
    """Remembers one thing, and what it was made from, which nobody may change meanwhile.

    >>> doubled = LastMade[int]()
    >>> doubled.of(2, lambda: 2 * 2), doubled.of(2, lambda: 1 // 0), doubled.of(3, lambda: 2 * 3)
    (4, 4, 6)
    """

    def __init__(self) -> None:
        self._made: tuple[Any, T] | None = None

    def of(self, sources: Any, make: Callable[[], T]) -> T:
        """What is made from these; they are compared by what they hold, and need no hash."""
        if self._made is None or self._made[0] != sources:
            self._made = sources, make()
        return self._made[1]
