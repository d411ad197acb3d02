"""How publishing grows: drawn shops of 10, 100 and 1,000 engines, and the plain generator beside it.

Run it: python tests/speed/publishing.py [--sizes 10 100 1000] [--folder DIR]. An engine has 8 sheets, 60 parts and 20
photos. Shops above ten engines have four live links, so that what grows with the shop is not hidden by making pages:
the engine that a teardown is filed for, and three of its family. Times are seconds of a fresh process, by the clock and
of the processors (of all processes together, which other work on the machine blurs less). Memory is of the largest
process. Nothing is cached at first: the cache lies in the folder, and is this script's own.
"""

import argparse
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from html import unescape
from pathlib import Path
from typing import Any

import shops

LINKED = 4
PAGES = 800
SETTINGS = """site_name: Plain
use_directory_urls: false
theme: {name: material, font: false}
plugins: [search]
"""
OUT_OF_NAV = """nav: [{First: page-000.md}]
validation: {omitted_files: ignore}
"""


def processor_seconds() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def publish_once(folder: Path, tree: Path, engine: str) -> None:
    """One publishing, in a process of its own; what it took as JSON."""
    began = time.perf_counter()
    from engine_pages.plugins.publish import publish

    first: list[float] = []

    def progress(_share: float, what: str) -> None:
        if what == f"{engine}, owner" and not first:
            first.extend((time.perf_counter() - began, processor_seconds()))

    done = publish(folder, tree, shops.TODAY, progress=progress)
    memory = max(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) / 1024
    told = {"clock": time.perf_counter() - began, "processors": processor_seconds(), "memory": memory, "first": first,
            "built": Counter(why for _, why in done.built), "untouched": len(done.untouched)}  # fmt: skip
    print(json.dumps(told))


def published(folder: Path, tree: Path, engine: int, env: dict[str, str]) -> dict[str, Any]:
    command = [sys.executable, __file__, "--one", str(folder), str(tree), shops.engine_id(engine)]
    done = subprocess.run(command, env=env, check=True, capture_output=True, text=True).stdout
    told: dict[str, Any] = json.loads(done.splitlines()[-1])
    return told


def row(what: str, told: dict[str, Any], seconds: tuple[float, float] | None = None) -> None:
    clock, processors = seconds or (told["clock"], told["processors"])
    built = ", ".join(f"{count} {why}" for why, count in sorted(told["built"].items()))
    print(f"  {what:<34}{clock:9.1f}{processors:12.1f}{told['memory']:10.0f}   {built}", flush=True)


def measure(size: int, folder: Path, env: dict[str, str]) -> None:
    """First build, nothing changed, a teardown filed; of ten engines also all pages anew with everything cached."""
    filed = size // 2
    family = [number for number in range(size) if shops.family_of(number) == shops.family_of(filed)]
    others = [number for number in family if abs(number - filed) > 1][: LINKED - 1]
    shop = shops.write_shop(folder / f"shop-{size}", size, filed, None if size <= 10 else [filed, *others])
    tree = folder / f"tree-{size}"
    print(f"{size} engines{'':<26}   clock  processors    memory   built", flush=True)
    row("first, nothing cached", published(shop, tree, filed, env))
    row("again, nothing changed", published(shop, tree, filed, env))
    shops.file_teardown(shop, filed)
    told = published(shop, tree, filed, env)
    row("a teardown filed: its own pages", told | {"built": {}}, tuple(told["first"]))
    row("… and its siblings", told)
    if size <= 10:
        told = published(shop, folder / "anew", filed, env)
        row("all pages anew, all else cached", told)
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
        before, began = processor_seconds(), time.perf_counter()
        command = [sys.executable, "-m", "mkdocs", "build", "-q", "-f", str(source / "mkdocs.yml")]
        subprocess.run(command, env=env, check=True, capture_output=True)
        spent = time.perf_counter() - began, processor_seconds() - before
        row(f"plain generator, {PAGES}, {what}", {"memory": 0, "built": {}}, spent)


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
    parser.add_argument("--one", nargs=3)
    asked = parser.parse_args()
    if asked.one:
        publish_once(Path(asked.one[0]), Path(asked.one[1]), asked.one[2])
        return
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
