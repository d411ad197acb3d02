"""Kill `publish` at random instants over a tree that stands, and look at what it leaves.

By hand: `python tests/interruptions_of_publishing.py 100`.
Each time the records have changed since the tree was made, and so has the theme: one site is to change, one to move to
a new address, one to go, one to come. The process that publishes is killed (SIGKILL) somewhere between its start and a
little after its usual end; those that help it are not. Then every site is the old one or the new one, byte for byte,
with its theme whole beside it, and nothing else stands in the tree; the next publishing, which does not wait, makes it
what it should be.
"""

import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from unittest.mock import patch

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from bench.handed import git  # noqa: E402 - the path comes first
from editions.canaries import OTHER, OWN, write_shop  # noqa: E402
from engine_pages.plugins import publish as publishing  # noqa: E402

from engine_pages.editions.registry import end_link, make_link, renew_link  # noqa: E402

TODAY = date(2026, 11, 25)
PUBLISH = f"""
import sys
from datetime import date
from pathlib import Path
from engine_pages.plugins.publish import publish
shop, tree = map(Path, sys.argv[1:])
print("ready", flush=True)
sys.stdin.readline()
publish(shop, tree, date.fromisoformat("{TODAY}"))
"""
FEW = ((OWN, "owner"),)  # made by the process itself
MANY = ((OWN, "owner"), (OWN, "buyer"), (OWN, "bench"))  # made by processes that help it
ONE_OF = 5  # publishings so many are of many links: they take longer

Files = Mapping[str, bytes]


@dataclass(frozen=True, slots=True)
class Scene:
    """A shop whose records have changed, the tree as it stands, and as it is to be: every file by its path."""

    shop: Path
    tree: Path
    old: Files
    new: Files


def scene(place: Path, links: tuple[tuple[str, str], ...]) -> Scene:
    """A shop and its tree, then a race, a link withdrawn, one renewed, one new, and another theme."""
    shop, tree = write_shop(place / "shop"), place / "tree"
    name, other = (path.split("/")[1] for path in (OWN, OTHER))
    for folder, edition in links:
        make_link(shop, folder.split("/")[1], edition, TODAY, None, None)
    ends, moves = (make_link(shop, other, edition, TODAY, None, None).token for edition in ("buyer", "tag"))
    with patch.object(publishing, "one_sheet", _earlier_styles):
        publishing.publish(shop, tree, TODAY)
    log = shop / OWN / "log.yml"
    log.write_text(log.read_text() + "- {date: 2026-06-10, kind: run, what: race, hours: 1.0}\n", encoding="utf-8")
    git(shop, "commit", "-qam", "a race")
    end_link(shop, ends, TODAY)
    renew_link(shop, moves, TODAY)
    if len(links) > 1:
        make_link(shop, name, "tag", TODAY, None, None)
    publishing.publish(shop, place / "new", TODAY)
    return Scene(shop, tree, files_of(tree), files_of(place / "new"))


def _earlier_styles() -> Mapping[str, object]:
    return {"engine-pages/styles/all.css": lambda: b".ep { color: #222 }\n"}


def files_of(top: Path) -> dict[str, bytes]:
    return {path.relative_to(top).as_posix(): path.read_bytes() for path in sorted(top.rglob("*")) if path.is_file()}


def _parts(files: Files) -> dict[str, dict[str, bytes]]:
    """A tree's files by the site, or the theme, that they belong to; those of the tree itself by themselves."""
    parts: dict[str, dict[str, bytes]] = {}
    for path, content in files.items():
        found = re.match(r"s/[^/]+(?=/)|theme-[^/]+(?=/)", path)
        parts.setdefault(found[0] if found else path, {})[path] = content
    return parts


def what_is_between(scene: Scene, tree: Path) -> str | None:
    """What is neither as it was nor as it is to be, in words; None where all is well."""
    old, new, now = (_parts(files) for files in (scene.old, scene.new, files_of(tree)))
    for name, content in now.items():
        if name not in old and name not in new:
            return f"{name} stands in the tree, and belongs to nobody"
        if content not in (old.get(name), new.get(name)):
            return f"{name} is neither the old one nor the new one"
    gone = [name for name in old if name in new and name not in now]
    folders = {path.relative_to(tree).as_posix() for path in (*tree.glob("*/"), *tree.glob("s/*/"))} - {"s"}
    if gone or folders - set(now):
        return f"{(gone or sorted(folders - set(now)))[0]} is missing, or empty"
    alone = [name for name, content in now.items() if not set(_themes_of(content)) <= set(now)]
    return f"{alone[0]} stands there without its theme" if alone else None


def _themes_of(files: Files) -> Iterator[str]:
    for path, content in files.items():
        if path.endswith(".html"):
            yield from re.findall(r"theme-[0-9a-f]{12}", content.decode("utf-8"))


class Publishing:
    """A process that is ready to publish, and begins when it is told."""

    def __init__(self, scene: Scene, tree: Path) -> None:
        command = [sys.executable, "-c", PUBLISH, str(scene.shop), str(tree)]
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=ROOT
        )
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == "ready\n"

    def begin(self) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write("\n")
        self.process.stdin.flush()

    def killed_after(self, seconds: float) -> bool:
        """Whether it was still at work when it was killed."""
        self.begin()
        time.sleep(seconds)
        still = self.process.poll() is None
        self.process.kill()
        self._ended()
        return still

    def ends_well(self) -> bool:
        self.begin()
        return self._ended() == 0

    def _ended(self) -> int:
        """How it ended; those that helped it may still hold its output open, and are not waited for."""
        code = self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            assert pipe is not None
            pipe.close()
        return code


def interrupted(times: int, seed: int, links: tuple[tuple[str, str], ...]) -> tuple[int, int, list[str]]:
    """How many of so many publishings were cut off, how many of these left something new, and what was wrong."""
    draw = random.Random(seed)
    wrong, cut, begun = [], 0, 0
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        stage = scene(place, links)
        usual = _usual(stage, place)
        for number in range(times):
            tree = Path(shutil.copytree(stage.tree, place / "copy/tree"))
            after = draw.uniform(0.0, 1.2 * usual)
            still = Publishing(stage, tree).killed_after(after)
            cut += still
            found = what_is_between(stage, tree)
            begun += still and files_of(tree) not in (stage.old, stage.new)
            if not Publishing(stage, tree).ends_well():
                found = found or "the next publishing failed"
            elif files_of(tree) != stage.new or [path.name for path in tree.parent.iterdir()] != ["tree"]:
                found = found or "the next publishing did not make the tree what it should be"
            if found is not None:
                wrong.append(f"run {number}, killed after {after:.3f} s: {found}")
            shutil.rmtree(tree.parent)
    return cut, begun, wrong


def _usual(stage: Scene, place: Path) -> float:
    """How many seconds a publishing takes that nobody kills."""
    tree = Path(shutil.copytree(stage.tree, place / "usual/tree"))
    publishing = Publishing(stage, tree)
    began = time.perf_counter()
    publishing.ends_well()
    return time.perf_counter() - began


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    several = times // ONE_OF
    bad = []
    for number, links, words in ((times - several, FEW, "by one process"), (several, MANY, "by several")):
        cut, begun, wrong = interrupted(number, 20261126, links)
        print(f"{number} publishings {words}, {cut} of them cut off while at work, {begun} with some of it done; "
              f"{len(wrong)} left the tree between", flush=True)  # fmt: skip
        bad += wrong
    print("\n".join(bad))
    raise SystemExit(1 if bad else 0)


if __name__ == "__main__":
    main()
