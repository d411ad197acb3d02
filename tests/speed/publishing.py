"""How publishing grows: drawn shops of 10, 100 and 1,000 engines, and the plain generator beside it.

Run it: python tests/speed/publishing.py [--sizes 10 100 1000] [--folder DIR]. An engine has 8 sheets, 60 parts and 20
photos. Shops above ten engines have a few live links, so that what grows with the shop is not hidden by making pages:
the engines that teardowns are filed for, of one family. Times are seconds of the command, from being typed, by the
clock and of the processors (of all processes together, which other work on the machine blurs less). Memory is of the
largest process. Nothing is cached at first: the cache lies in the folder, and is this script's own.

How fast a machine is changes within the hour. So a teardown is filed in turn with the plain generator: how long its
pages take is also told as a share of what that takes, by the middle of its times before and after.
"""

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from typing import IO

import shops

TURNS = 3
PAGES = 800
RUN = "from engine_pages.cli import main; main(prog_name='engine-pages')"
SETTINGS = """site_name: Plain
use_directory_urls: false
theme: {name: material, font: false}
plugins: [search]
"""
NAVIGATIONS = {"not in the navigation": "nav: [{First: page-000.md}]\nvalidation: {omitted_files: ignore}\n",
               "all in the navigation": ""}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Spent:
    """What a command took: seconds by the clock and of the processors, MB of its largest process, and what it said."""

    clock: float
    processors: float
    memory: float
    said: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """A drawn shop, where it is published, and the engines whose last teardown is still to be filed."""

    shop: Path
    tree: Path
    unfiled: Iterator[int]


def spent_on(command: list[str], env: dict[str, str]) -> Spent:
    """A command, from being typed to its end."""
    began = time.perf_counter()
    with tempfile.TemporaryFile("w+", encoding="utf-8") as said:
        running = subprocess.Popen(command, env=env, stdout=said)
        _, status, used = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
        if running.returncode:
            raise SystemExit(f"{' '.join(command)} ended {running.returncode}")
        clock = time.perf_counter() - began
        said.seek(0)
        return Spent(clock, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, said.read())


def published(folder: Path, tree: Path, env: dict[str, str]) -> Spent:
    return spent_on(publishing(folder, tree), env)


def publishing(folder: Path, tree: Path) -> list[str]:
    return [sys.executable, "-c", RUN, "publish", "--records", str(folder), "--to", str(tree)]


def until_there(tree: Path, link: str, began: float) -> float:
    """Seconds after `began` at which a link's pages stood in the tree: a folder moved there keeps that time."""
    return (tree / "s" / link).stat().st_ctime - began


def where_typed(one: Measured, filed: int, env: dict[str, str]) -> float:
    """Seconds from a command that is typed after a teardown was filed to the engine's pages."""
    shops.file_teardown(one.shop, filed)
    began = time.time()
    row(f"its siblings too, of {one.shop.name}", published(one.shop, one.tree, env))
    return until_there(one.tree, shops.token(filed), began)


def while_it_stays(one: Measured, filed: int, env: dict[str, str]) -> float:
    """Seconds from a teardown's commit to its engine's pages, where a publishing stays and had its first commit."""
    with subprocess.Popen(
        [*publishing(one.shop, one.tree), "--stay"], env=env, stdout=subprocess.PIPE, text=True
    ) as it:
        assert it.stdout is not None
        _read_until(it.stdout, "Ctrl-C")
        shops.file_teardown(one.shop, filed)
        began = time.time()
        _read_until(it.stdout, "is commit")  # its siblings are made too then
        it.terminate()
    return until_there(one.tree, shops.token(filed), began)


def _read_until(said: IO[str], words: str) -> None:
    while words not in (line := said.readline()):
        if not line:
            raise SystemExit("the publishing did not stay")


def row(what: str, spent: Spent) -> None:
    built = "; ".join(line for line in spent.said.splitlines() if "built" in line)
    print(f"  {what:<42}{spent.clock:9.1f}{spent.processors:12.1f}{spent.memory:10.0f}   {built}", flush=True)


def measure(size: int, folder: Path, env: dict[str, str]) -> Measured:
    """First build, and nothing changed; of ten engines also all pages anew with everything cached."""
    filed = size // 2
    family = [number for number in range(size) if shops.family_of(number) == shops.family_of(filed)]
    unfiled = [filed, *(number for number in family if abs(number - filed) > 1)][: 2 * TURNS]
    shop = shops.write_shop(folder / f"shop-{size}", size, unfiled, None if size <= 10 else unfiled)
    tree = folder / f"tree-{size}"
    print(f"{size} engines{'':<34}   clock  processors    memory", flush=True)
    row("first, nothing cached", published(shop, tree, env))
    row("again, nothing changed", published(shop, tree, env))
    if size <= 10:
        row("all pages anew, all else cached", published(shop, folder / "anew", env))
        write_plain(folder, folder / "anew")
        for what in NAVIGATIONS:
            row(f"plain generator, {PAGES}, {what}", plainly(folder, what, env))
    return Measured(shop, tree, iter(unfiled))


def write_plain(folder: Path, tree: Path) -> None:
    """For the plain generator with the same theme: as many pages of the same text."""
    texts = [_text(page) for page in sorted(tree.glob("s/*/**/*.html"))][:PAGES]
    for nth in range(PAGES):
        place = folder / "plain" / "docs" / f"page-{nth:03}.md"
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(f"# Page {nth}\n\n{texts[nth % len(texts)]}\n", encoding="utf-8")


def plainly(folder: Path, what: str, env: dict[str, str]) -> Spent:
    """The plain generator over these pages, in its navigation or not."""
    settings = folder / "plain" / "mkdocs.yml"
    settings.write_text(SETTINGS + NAVIGATIONS[what], encoding="utf-8")
    return spent_on([sys.executable, "-m", "mkdocs", "build", "-q", "-f", str(settings)], env)


def file_in_turn(measured: dict[int, Measured], folder: Path, env: dict[str, str]) -> None:
    """Teardowns filed: until the engine's own pages are up, where a command is typed, and where a publishing stays."""
    print(f"a teardown filed, and its own pages{'':<9}   clock  of the plain generator's", flush=True)
    shares: dict[str, list[float]] = {}
    before = plainly(folder, next(iter(NAVIGATIONS)), env).clock
    for _ in range(TURNS):
        times = {}
        for size, one in measured.items():
            times[f"{size} engines, typed"] = where_typed(one, next(one.unfiled), env)
            times[f"{size} engines, where a publishing stays"] = while_it_stays(one, next(one.unfiled), env)
        after = plainly(folder, next(iter(NAVIGATIONS)), env).clock
        for what, seconds in times.items():
            share = seconds / statistics.mean((before, after))
            shares.setdefault(what, []).append(share)
            print(f"  {what:<42}{seconds:9.1f}{share:12.2f}   it took {before:.1f} and {after:.1f}", flush=True)
        before = after
    for what, found in shares.items():
        print(f"  in the middle, {what:<39}{statistics.median(found):12.2f}", flush=True)


def _text(page: Path) -> str:
    """A page's words, a paragraph a block: what is left of it without drawings and marks."""
    html = page.read_text(encoding="utf-8").partition("<article")[2].partition("</article>")[0]
    html = re.sub(r"<(svg|script|style)\b.*?</\1>", "", html, flags=re.DOTALL)
    blocks = re.split(r"</(?:p|tr|h\d|li|div|section|table)>", html)
    words = (" ".join(unescape(re.sub(r"<[^>]+>", " ", block)).split()) for block in blocks)
    return "\n\n".join(re.sub(r"([\\`*_{}\[\]<>#+!|-])", r"\\\1", one) for one in words if one)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--sizes", type=int, nargs="+", default=[10, 100, 1000], help="Ten is always among them.")
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as nowhere:
        folder = asked.folder or Path(nowhere)
        env = {
            **os.environ,
            "XDG_CACHE_HOME": str(folder / "cache"),
            "NO_MKDOCS_2_WARNING": "1",
        }
        file_in_turn({size: measure(size, folder, env) for size in sorted({10, *asked.sizes})}, folder, env)


if __name__ == "__main__":
    main()
