"""Stay, and do again whenever what it was done from has changed, until Ctrl-C."""

import time
from collections.abc import Callable, Hashable
from contextlib import suppress
from typing import Final

import click

from .asking import say

LOOKS_EVERY: Final = 0.2  # seconds; a look asks git one question, some milliseconds


def stay(state: Callable[[], Hashable], do: Callable[[], None], words: str) -> None:
    """Do it now, and again whenever the state is another.

    What keeps the first from being done ends it; what keeps a later one is said, and it stays. A state is looked at
    before it is acted on, so that what changes meanwhile is done next.
    """
    seen = state()
    do()
    say(words)
    with suppress(KeyboardInterrupt):
        while True:
            time.sleep(LOOKS_EVERY)
            now = state()
            if now != seen:
                seen = now
                _tried(do)


def _tried(do: Callable[[], None]) -> None:
    try:
        do()
    except click.ClickException as trouble:
        click.echo(f"Left as it was: {trouble.format_message()}", err=True)
