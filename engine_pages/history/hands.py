"""Tasks that need nothing of each other, and who does them: one after the other, or at once who has cores to spare."""

from collections.abc import Callable, Sequence
from typing import Any

Tasks = Sequence[Callable[[], Any]]
Hands = Callable[[Tasks], list[Any]]  # the answers of tasks, in their order


def one_hand(tasks: Tasks) -> list[Any]:
    """Each task after the one before it."""
    return [task() for task in tasks]
