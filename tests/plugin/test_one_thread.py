"""A process of ours counts with one thread, whichever way it was begun, unless somebody set another number."""

import os
import subprocess
import sys

import pytest

COMMAND = "from engine_pages.cli import main; main.get_command(None, 'publish')"
GENERATOR = "from importlib.metadata import entry_points; entry_points(group='mkdocs.plugins')['engine-pages'].load()"
HOW_MANY = "import os, numpy, scipy.linalg; print(len(os.listdir('/proc/self/task')))"  # proc(5): one for each thread


def threads(begun: str, wanted: str | None) -> int:
    env = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    env |= {"OPENBLAS_NUM_THREADS": wanted} if wanted else {}
    asked = [sys.executable, "-c", f"{begun}\n{HOW_MANY}"]
    return int(subprocess.run(asked, env=env, check=True, capture_output=True, text=True).stdout)


@pytest.mark.skipif(sys.platform != "linux", reason="threads are counted where Linux names them")
@pytest.mark.parametrize("begun", [COMMAND, GENERATOR], ids=["a command", "the site generator"])
def test_a_process_counts_with_one_thread_or_as_many_as_were_set(begun: str) -> None:
    assert threads(begun, None) == 1
    assert (threads(begun, "2") > 1) == (len(os.sched_getaffinity(0)) > 1)  # it begins no more than there are cores
