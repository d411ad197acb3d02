"""Processes that help one that publishes do not outlive it."""

import subprocess
import sys

IN_TIME = 60.0  # seconds, of which they need a few thousandths
GIVES_WORK = """
import os, time
from engine_pages.plugins.workers import workers
pool = workers()
pool.submit(os.getpid).result()
pool.submit(time.sleep, 600)
print("at work", flush=True)
time.sleep(600)
"""


def test_they_end_where_the_one_that_gave_the_work_is_killed() -> None:
    first = subprocess.Popen([sys.executable, "-c", GIVES_WORK], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    assert first.stdout is not None
    assert first.stdout.readline() == b"at work\n"
    first.kill()
    first.communicate(timeout=IN_TIME)  # ends when nobody holds the output open any more, helpers too
