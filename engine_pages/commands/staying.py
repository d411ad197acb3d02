"""Stay, and do again whenever what it was done from has changed, until Ctrl-C."""

import math
import time
from collections.abc import Callable, Hashable
from contextlib import suppress
from typing import Final

import click

from .asking import say

ENDED: Final = "Ended. What was done stands."
CUT_OFF: Final = "Ended in the middle of its work. What is not done yet is done the next time."
LOOKS_EVERY: Final = 0.1  # seconds; a look asks git one question, some milliseconds
TRIES_AGAIN_AFTER: Final = 5.0  # seconds


class Passing(click.ClickException):
    """What keeps it from being done now, and may not do so later: another hand at work, a full disk."""


def stay(state: Callable[[], Hashable], do: Callable[[], None], words: str) -> None:
    """Do it now, and again whenever the state is another.

    What keeps the first from being done ends it; what keeps a later one is said, and it stays: where that may pass, it
    is tried again. A state is looked at before it is acted on, so that what changes meanwhile is done next.
    """
    seen = state()
    do()
    say(words)
    due = math.inf  # when what was kept from being done is tried again
    is_idle = True
    with suppress(KeyboardInterrupt):
        while True:
            time.sleep(LOOKS_EVERY)
            now = state()
            if now != seen or time.monotonic() >= due:
                seen, is_idle = now, False
                due = time.monotonic() + TRIES_AGAIN_AFTER if _passes(do) else math.inf
                is_idle = True
    say(ENDED if is_idle else CUT_OFF)


def _passes(do: Callable[[], None]) -> bool:
    """Whether it was kept from being done by what may pass."""
    try:
        do()
    except click.ClickException as trouble:
        click.echo(f"Left as it was: {trouble.format_message()}", err=True)
        return isinstance(trouble, Passing)
    return False
