"""Processes that help one that publishes do not outlive it."""

import signal
import subprocess
import sys
import time

import pytest

IN_TIME = 60.0  # seconds, of which they need a few thousandths
GIVES_WORK = """
import os, time
from engine_pages.plugins.workers import workers
with workers() as pool:
    pool.submit(os.getpid).result()
    work = pool.submit(time.sleep, 600)
    print("at work", flush=True)
    work.result()
"""


def test_they_end_where_the_one_that_gave_the_work_is_killed() -> None:
    first = subprocess.Popen([sys.executable, "-c", GIVES_WORK], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    assert first.stdout is not None
    assert first.stdout.readline() == b"at work\n"
    first.kill()
    first.communicate(timeout=IN_TIME)  # ends when nobody holds the output open any more, helpers too


@pytest.mark.parametrize("pause", [0.0, 0.05, 0.3])
def test_they_end_where_it_is_broken_off_even_twice(pause: float) -> None:
    first = subprocess.Popen([sys.executable, "-c", GIVES_WORK], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    assert first.stdout is not None
    assert first.stdout.readline() == b"at work\n"
    first.send_signal(signal.SIGINT)
    time.sleep(pause)
    first.send_signal(signal.SIGINT)
    first.communicate(timeout=IN_TIME)
    assert first.returncode != 0
