"""How publishing grows: drawn shops of 10, 100 and 1,000 engines, and the plain generator beside it.

Run it: python tests/speed/publishing.py [--sizes 10 100 1000] [--folder DIR]. An engine has 8 sheets, 60 parts and 20
photos. Shops above ten engines have four live links, so that what grows with the shop is not hidden by making pages:
the engine that a teardown is filed for, and three of its family. Times are seconds of the command, from being typed, by
the clock and of the processors (of all processes together, which other work on the machine blurs less). Memory is of
the largest process. Nothing is cached at first: the cache lies in the folder, and is this script's own.
"""

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from typing import IO

import shops

LINKED = 4
PAGES = 800
RUN = "from engine_pages.cli import main; main(prog_name='engine-pages')"
SETTINGS = """site_name: Plain
use_directory_urls: false
theme: {name: material, font: false}
plugins: [search]
"""
OUT_OF_NAV = """nav: [{First: page-000.md}]
validation: {omitted_files: ignore}
"""


@dataclass(frozen=True, slots=True)
class Spent:
    """What a command took: seconds by the clock and of the processors, MB of its largest process, and what it said."""

    clock: float
    processors: float
    memory: float
    said: str = ""


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


def while_it_stays(shop: Path, tree: Path, filed: int, env: dict[str, str]) -> float:
    """Seconds from a teardown's commit to its engine's pages, where a publishing stays and had its first commit."""
    with subprocess.Popen([*publishing(shop, tree), "--stay"], env=env, stdout=subprocess.PIPE, text=True) as staying:
        assert staying.stdout is not None
        _read_until(staying.stdout, "Ctrl-C")
        shops.file_teardown(shop, filed)
        began = time.time()
        _read_until(staying.stdout, "is commit")  # its siblings are made too then
        staying.terminate()
    return until_there(tree, shops.token(filed), began)


def _read_until(said: IO[str], words: str) -> None:
    while words not in (line := said.readline()):
        if not line:
            raise SystemExit("the publishing did not stay")


def row(what: str, spent: Spent) -> None:
    built = "; ".join(line for line in spent.said.splitlines() if "built" in line)
    print(f"  {what:<42}{spent.clock:9.1f}{spent.processors:12.1f}{spent.memory:10.0f}   {built}", flush=True)


def clock_row(what: str, seconds: float) -> None:
    """What was over before its command was."""
    print(f"  {what:<42}{seconds:9.1f}", flush=True)


def measure(size: int, folder: Path, env: dict[str, str]) -> None:
    """First build, nothing changed, a teardown filed; of ten engines also all pages anew with everything cached."""
    filed = size // 2
    family = [number for number in range(size) if shops.family_of(number) == shops.family_of(filed)]
    others = [number for number in family if abs(number - filed) > 1][: LINKED - 1]
    linked = None if size <= 10 else [filed, *others]
    shop = shops.write_shop(folder / f"shop-{size}", size, (filed, others[0]), linked)
    tree = folder / f"tree-{size}"
    print(f"{size} engines{'':<34}   clock  processors    memory", flush=True)
    row("first, nothing cached", published(shop, tree, env))
    row("again, nothing changed", published(shop, tree, env))
    shops.file_teardown(shop, filed)
    began = time.time()
    spent = published(shop, tree, env)
    clock_row("a teardown filed: its own pages", until_there(tree, shops.token(filed), began))
    row("… and its siblings, to the command's end", spent)
    clock_row("another, where a publishing stays", while_it_stays(shop, tree, others[0], env))
    if size <= 10:
        row("all pages anew, all else cached", published(shop, folder / "anew", env))
        plainly(folder, folder / "anew", env)


def plainly(folder: Path, tree: Path, env: dict[str, str]) -> None:
    """The plain generator with the same theme: as many pages of the same text, in the navigation and not."""
    texts = [_text(page) for page in sorted(tree.glob("s/*/**/*.html"))][:PAGES]
    source = folder / "plain"
    for nth in range(PAGES):
        place = source / "docs" / f"page-{nth:03}.md"
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(f"# Page {nth}\n\n{texts[nth % len(texts)]}\n", encoding="utf-8")
    for what, nav in (("not in the navigation", OUT_OF_NAV), ("all in the navigation", "")):
        (source / "mkdocs.yml").write_text(SETTINGS + nav, encoding="utf-8")
        command = [sys.executable, "-m", "mkdocs", "build", "-q", "-f", str(source / "mkdocs.yml")]
        row(f"plain generator, {PAGES}, {what}", spent_on(command, env))


def _text(page: Path) -> str:
    """A page's words, a paragraph a block: what is left of it without drawings and marks."""
    html = page.read_text(encoding="utf-8").partition("<article")[2].partition("</article>")[0]
    html = re.sub(r"<(svg|script|style)\b.*?</\1>", "", html, flags=re.DOTALL)
    blocks = re.split(r"</(?:p|tr|h\d|li|div|section|table)>", html)
    words = (" ".join(unescape(re.sub(r"<[^>]+>", " ", block)).split()) for block in blocks)
    return "\n\n".join(re.sub(r"([\\`*_{}\[\]<>#+!|-])", r"\\\1", one) for one in words if one)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--sizes", type=int, nargs="+", default=[10, 100, 1000])
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as nowhere:
        folder = asked.folder or Path(nowhere)
        env = {
            **os.environ,
            "XDG_CACHE_HOME": str(folder / "cache"),
            "OPENBLAS_NUM_THREADS": "1",
            "NO_MKDOCS_2_WARNING": "1",
        }
        for size in asked.sizes:
            measure(size, folder, env)


if __name__ == "__main__":
    main()
