"""Processes that help one that publishes do not outlive it."""

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

IN_TIME = 60.0  # seconds, of which they need a few thousandths
GIVES_WORK = """
import os, signal, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # who was begun in the background is deaf to it
from engine_pages.plugins.workers import workers
with workers() as pool:
    pool.submit(os.getpid).result()
    work = pool.submit(time.sleep, 600)
    print("at work", flush=True)
    work.result()
"""


def test_they_end_where_the_one_that_gave_the_work_is_killed() -> None:
    with at_work() as first:
        first.kill()
        first.communicate(timeout=IN_TIME)  # ends when nobody holds the output open any more, helpers too


@pytest.mark.parametrize("pause", [0.0, 0.05, 0.3])
def test_they_end_where_it_is_broken_off_even_twice(pause: float) -> None:
    with at_work() as first:
        first.send_signal(signal.SIGINT)
        time.sleep(pause)
        first.send_signal(signal.SIGINT)
        first.communicate(timeout=IN_TIME)
    assert first.returncode != 0


@contextmanager
def at_work() -> Iterator[subprocess.Popen[bytes]]:
    """One that gave work to helpers, who are at it."""
    command = [sys.executable, "-c", GIVES_WORK]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == b"at work\n"
        try:
            yield first
        finally:
            first.kill()
