"""Processes that help one that publishes, and end with it.

A pool's processes wait for work for ever where the one that gave it was killed, and write on at what they had begun.
These watch over it: where it is gone they are gone too, at once.
"""

import os
import threading
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context, parent_process
from multiprocessing.connection import wait


def workers() -> ProcessPoolExecutor:
    """As many processes as there are cores."""
    return ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("spawn"), initializer=_end_with_the_first)


def _end_with_the_first() -> None:
    threading.Thread(target=_watch, daemon=True).start()


def _watch() -> None:
    first = parent_process()
    if first is not None:
        wait([first.sentinel])
        os._exit(1)  # nobody is left to be told anything
