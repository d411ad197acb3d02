"""What is told when somebody first looks: most questions about a shop never do."""

from collections.abc import Callable, Sequence
from functools import cached_property
from typing import TypeVar, overload

T = TypeVar("T")


class ToldLater(Sequence[T]):
    """Stories of one sort, told at first look and kept.

    >>> kinds = ToldLater(lambda: ("bearing", "seal"))
    >>> len(kinds), kinds[0], kinds == ("bearing", "seal")
    (2, 'bearing', True)
    """

    def __init__(self, telling: Callable[[], tuple[T, ...]]) -> None:
        self._telling = telling

    @cached_property
    def told(self) -> tuple[T, ...]:
        """All of them."""
        return self._telling()

    @overload
    def __getitem__(self, index: int) -> T: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...
    def __getitem__(self, index: int | slice) -> T | tuple[T, ...]:
        return self.told[index]

    def __len__(self) -> int:
        return len(self.told)

    def __eq__(self, other: object) -> bool:
        return self.told == tuple(other) if isinstance(other, Sequence) else NotImplemented
