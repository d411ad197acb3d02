"""Tasks that need nothing of each other, and who does them: one after the other, or at once who has cores to spare."""

from collections.abc import Callable, Sequence
from typing import Any

Tasks = Sequence[Callable[[], Any]]
Hands = Callable[[Tasks], list[Any]]  # the answers of tasks, in their order


def one_hand(tasks: Tasks) -> list[Any]:
    """Each task after the one before it."""
    return [task() for task in tasks]


class OneMore:
    """Hands that do one task more beside those that they are given; `answer` is what came of it."""

    answer: Any = None

    def __init__(self, hands: Hands, task: Callable[[], Any]) -> None:
        self._hands, self._task = hands, task

    def __call__(self, tasks: Tasks) -> list[Any]:
        self.answer, *answers = self._hands([self._task, *tasks])
        return answers
