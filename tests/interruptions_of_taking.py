"""Kill `take` at random instants, a thousand times, and look at what it leaves.

By hand: `python tests/interruptions_of_taking.py`.
Each time a fresh shop takes in a sheet with three photos in a process of its own, which is killed (SIGKILL) somewhere
between its start and a little after its usual end. Then the shop is before or after: a sheet lies there whole with its
photos or not at all, the last commit holds all or nothing, and the same zip again brings the shop to "after".
"""

import random
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from bench.handed import STRIP, git, photo, shop_in, teardown, zipped  # noqa: E402 - the path comes first

TAKE = """
import sys
from datetime import date
from pathlib import Path
from engine_pages.bench.taking import take
shop, zip = map(Path, sys.argv[1:])
print("ready", flush=True)
sys.stdin.readline()
print(take(shop, zip.read_bytes(), date(2026, 3, 2)).outcome, flush=True)
"""
GIT_SECONDS = 10.0  # in which git, which is not killed with us, ends what it was doing


def files() -> dict[str, bytes]:
    return teardown() | {f"{STRIP}/more-{n}.jpg": photo((900, 700), 60 + n) for n in range(3)}


class Taking:
    """A process that is ready to take in a zip, and begins when it is told."""

    def __init__(self, shop: Path, zip: Path) -> None:
        command = [sys.executable, "-c", TAKE, str(shop), str(zip)]
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
        )

    def begin(self) -> None:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == "ready\n"
        self.process.stdin.write("\n")
        self.process.stdin.flush()

    def killed_after(self, seconds: float) -> bool:
        """Whether it was still at work when it was killed."""
        self.begin()
        time.sleep(seconds)
        still = self.process.poll() is None
        self.process.kill()
        self.process.communicate()
        return still

    def outcome(self) -> str:
        self.begin()
        said, trouble = self.process.communicate()
        return said.strip() or trouble


def what_is_between(shop: Path, wanted: dict[str, bytes]) -> str | None:
    """What is neither before nor after, in words; None where all is well."""
    until = time.monotonic() + GIT_SECONDS
    while (shop / ".git/index.lock").exists() and time.monotonic() < until:
        time.sleep(0.02)
    committed = set(git(shop, "ls-tree", "-r", "--name-only", "HEAD").split()) & set(wanted)
    if committed not in (set(), set(wanted)):
        return f"the commit holds {len(committed)} of {len(wanted)} files"
    lying = {path for path in wanted if (shop / path).exists()}
    if f"{STRIP}/teardown.yml" in lying and lying != set(wanted):
        return f"a sheet lies there with {len(lying) - 1} of {len(wanted) - 1} photos"
    if committed and not lying:
        return "the commit holds a sheet that does not lie in the folder"
    half = [path for path in lying if (shop / path).read_bytes() != wanted[path]]
    return f"{half[0]} is not whole" if half else None


def interrupted(times: int, seed: int) -> tuple[int, list[str]]:
    """How many of so many takings were cut off, and what was found wrong after any of them."""
    draw = random.Random(seed)
    wanted, wrong, cut = files(), [], 0
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        zip = place / "E1.zip"
        zip.write_bytes(zipped(wanted))
        fresh = shop_in(place / "fresh")
        usual = _usual(place, fresh, zip)
        for number in range(times):
            shop = Path(shutil.copytree(fresh, place / "shop"))
            after = draw.uniform(0.0, 1.2 * usual)
            cut += Taking(shop, zip).killed_after(after)
            found = what_is_between(shop, wanted)
            again = Taking(shop, zip).outcome()
            if found is None and again not in ("taken in", "already there"):
                found = f"the same zip again: {again}"
            if found is None and (git(shop, "status", "--porcelain") or not (shop / STRIP).exists()):
                found = "the same zip again did not bring the shop to what it should be"
            if found is not None:
                wrong.append(f"run {number}, killed after {after:.3f} s: {found}")
            shutil.rmtree(shop)
    return cut, wrong


def _usual(place: Path, fresh: Path, zip: Path) -> float:
    """How many seconds a taking takes that nobody kills."""
    shop = Path(shutil.copytree(fresh, place / "usual"))
    taking = Taking(shop, zip)
    taking.begin()
    began = time.perf_counter()
    taking.process.communicate()
    return time.perf_counter() - began


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    cut, wrong = interrupted(times, seed=20261125)
    print(f"{times} takings, {cut} of them cut off while at work; {len(wrong)} left the shop between")
    print("\n".join(wrong))
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
