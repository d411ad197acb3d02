"""Processes that help one that publishes, and end with it; what all of them do to be done sooner.

A pool's processes wait for work for ever where the one that gave it was killed, and write on at what they had begun.
These watch over it: where it is gone they are gone too, at once.
"""

import os
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from multiprocessing import active_children, get_context, parent_process
from multiprocessing.connection import Connection, wait
from typing import Any, Final, TypeVar

from engine_pages.garbage import collect_seldom
from engine_pages.history.hands import Tasks, one_hand

T = TypeVar("T")
MOST_TASKS: Final = 256  # shared between two processes: their numbers are bytes


@contextmanager
def workers() -> Iterator[ProcessPoolExecutor]:
    """As many processes as there are cores. Where their work is broken off, as by Ctrl-C, they end with it: nobody
    waits for what they are at."""
    pool = ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("spawn"), initializer=_begin)
    try:
        yield pool
    except BaseException:
        try:
            _kill_helpers()
        except KeyboardInterrupt:  # Ctrl-C once more
            _kill_helpers()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _kill_helpers() -> None:
    for helper in active_children():
        helper.kill()


def two_hands(tasks: Tasks) -> list[Any]:
    """The answers of tasks in order; a copy of this process takes its share of them, one after the other as it comes.

    What the copy does not answer, this process does itself.
    """
    if not 1 < len(tasks) <= MOST_TASKS:
        return one_hand(tasks)
    heap, pile = os.pipe()  # a byte for each task; who reads it does the task
    os.write(pile, bytes(range(len(tasks))))
    os.close(pile)
    try:
        with _in_a_copy(partial(_share, heap, tasks)) as others:
            answers = _share(heap, tasks)
            answers |= others()
    finally:
        os.close(heap)
    return [answers[nth] if nth in answers else task() for nth, task in enumerate(tasks)]


@contextmanager
def _in_a_copy(task: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """A copy of this process does a task; meanwhile this one goes on, and calls what it is given for the answer.

    The copy has everything at hand that this one has, and ends with its answer. Where it comes to nothing, and where
    there is no core for it or no such copy can be made, the task is done here when its answer is called for.
    """
    spare = (os.cpu_count() or 1) > 1 and threading.active_count() == 1
    if sys.platform != "linux" or not spare:
        yield task
        return
    ours, theirs = get_context("fork").Pipe(duplex=False)
    copy = get_context("fork").Process(target=_send, args=(ours, theirs, task))
    copy.start()
    theirs.close()

    def answer() -> T:
        try:
            told: T = ours.recv()
        except (EOFError, OSError):  # it failed or was killed, maybe while it answered
            return task()  # what is wrong with it shows here
        return told

    try:
        yield answer
    finally:
        ours.close()
        copy.kill()  # it has sent its answer, or nobody waits for it any more
        copy.join()


def _share(heap: int, tasks: Tasks) -> dict[int, Any]:
    """The answers by number of as many tasks as are left for this process."""
    return {number[0]: tasks[number[0]]() for number in iter(lambda: os.read(heap, 1), b"")}


def _send(back: Connection, to: Connection, task: Callable[[], Any]) -> None:
    """The copy's work. Where the task fails it ends without a word: who made it does the task again, and says why."""
    back.close()
    _begin()  # a copy that outlived a killed one would hold its locks
    try:
        to.send(task())
    except BaseException:
        os._exit(1)


def _begin() -> None:
    collect_seldom()
    threading.Thread(target=_watch, daemon=True).start()


def _watch() -> None:
    first = parent_process()
    if first is not None:
        wait([first.sentinel])
        os._exit(1)  # nobody is left to be told anything
