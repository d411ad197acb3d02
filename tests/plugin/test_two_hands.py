"""Tasks shared between a process and its copy: the same answers, whatever becomes of the copy."""

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="copies of a process are made on Linux alone")

DEMO = Path(__file__).parents[2] / "records"
BEGIN = """
import os, signal, time
from engine_pages.plugins.workers import two_hands
signal.signal(signal.SIGINT, signal.default_int_handler)  # who was begun in the background is deaf to it
os.cpu_count = lambda: 2
first = os.getpid()
"""


def printed(program: str, *given: str) -> str:
    """What a process of its own prints: beside the test's own threads no copy is made."""
    command = [sys.executable, "-c", BEGIN + program, *given]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return done.stdout.strip() + done.stderr.strip()[-200:]


def test_answers_come_in_order_from_two_processes() -> None:
    program = """
def task(n):
    time.sleep(0.05)
    return n, os.getpid()
found = two_hands([lambda n=n: task(n) for n in range(12)])
print([n for n, _ in found] == list(range(12)), len({pid for _, pid in found}))
"""
    assert printed(program) == "True 2"


def test_where_the_copy_is_killed_all_is_done_here() -> None:
    program = """
def task(n):
    if os.getpid() != first:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.02)
    return n, os.getpid()
found = two_hands([lambda n=n: task(n) for n in range(12)])
print(found == [(n, first) for n in range(12)])
"""
    assert printed(program) == "True"


def test_where_the_copy_is_killed_while_it_answers_all_is_done_here() -> None:
    program = """
import threading
begun, begin = os.pipe()
def task(n):
    if os.getpid() != first:
        os.read(begun, 1)  # the other has taken one
        threading.Timer(0.4, lambda: os.kill(os.getpid(), signal.SIGKILL)).start()  # the pipe is full by then
    else:
        os.write(begin, b"xxxx")
        time.sleep(2)
    return b"x" * 1_000_000, os.getpid()
found = two_hands([lambda n=n: task(n) for n in range(4)])
print({pid for _, pid in found} == {first}, len(found))
"""
    assert printed(program) == "True 4"


def test_the_copy_ends_with_the_process_that_made_it() -> None:
    program = """
def task():
    os.write(1, f"{os.getpid()}\\n".encode())  # at once: both write to the same end
    time.sleep(60)
two_hands([task, task])
"""
    with subprocess.Popen([sys.executable, "-c", BEGIN + program], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        pids = {int(process.stdout.readline()) for _ in range(2)}
        assert len(pids) == 2
        process.kill()
        assert process.stdout.read() == ""  # comes to its end once nobody holds it: the copy held it too


def test_what_is_wrong_with_a_task_shows_as_without_a_copy() -> None:
    program = """
def task():
    time.sleep(0.02)
    raise ValueError("no such part")
two_hands([task, task, task])
"""
    assert printed(program).endswith("ValueError: no such part")


def test_one_core_and_one_task_take_no_copy() -> None:
    assert printed("print(two_hands([os.getpid]) == [first])") == "True"
    assert printed("os.cpu_count = lambda: 1\nprint(two_hands([os.getpid] * 5) == [first] * 5)") == "True"


def test_an_engine_told_by_two_hands_is_the_engine_told_by_one() -> None:
    program = """
import sys
from datetime import date
from engine_pages.history.figures import figures_json
from engine_pages.history.tell import tell_one
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

copies = []
os.register_at_fork(before=lambda: copies.append(1))
checked = read_checked(Folder(sys.argv[1]), date(2026, 11, 15))
(one, of_one), (two, of_two) = tell_one(checked, "K-07"), tell_one(checked, "K-07", hands=two_hands)
digests = [[(key, pool.digest) for key, pool in pools.all().items()] for pools in (of_one, of_two)]
print(len(copies), figures_json(one) == figures_json(two), digests[0] == digests[1])
"""
    assert printed(program, str(DEMO)) == "1 True True"


def test_nothing_is_done_twice_while_a_site_is_made(tmp_path: Path) -> None:
    """A copy whose answers cannot be sent comes to nothing, and no word is lost on it: then all is merely slower."""
    program = """
import sys
from datetime import date
from pathlib import Path
from engine_pages.editions.sealed import NOTHING_SEALED
from engine_pages.history.rest import NO_REST
from engine_pages.pages.cache import Cache
from engine_pages.pages.one_edition import Around, site_of
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

done = Path(sys.argv[2]) / "done"
def noted(call, nth, task):
    with done.open("a") as file:
        file.write(f"{call}.{nth} ")
    return task()
calls = []
def hands(tasks):
    calls.append(len(tasks))
    return two_hands([lambda nth=nth, task=task: noted(len(calls), nth, task) for nth, task in enumerate(tasks)])

cache = Cache(Path(sys.argv[2]) / "cache")
with cache.putting_off():
    cache.keep("survey", "0" * 64, {}, lambda _: b"")  # as a publishing does: it has much to write when all stands
    checked = read_checked(Folder(sys.argv[1]), date(2026, 11, 15))
    site_of(checked, "K-07", "owner", cache, Around(NOTHING_SEALED, NO_REST, {}, cache, hands))
all_done = done.read_text().split()
print(len(calls), len(all_done) == sum(calls), len(set(all_done)) == sum(calls))
"""
    assert printed(program, str(DEMO), str(tmp_path)) == "2 True True"


@pytest.mark.parametrize("wrong", ["raise RuntimeError('boom')", "signal.raise_signal(signal.SIGINT)"])
def test_where_this_process_is_stopped_the_copy_is_too_and_nothing_waits(wrong: str) -> None:
    program = f"""
def task():
    if os.getpid() == first:
        time.sleep(0.1)
        {wrong}
    time.sleep(0.3)
    return b"x" * 5_000_000
two_hands([task] * 6)
"""
    command = [sys.executable, "-c", BEGIN + program]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode != 0
    assert "ForkProcess" not in done.stderr
