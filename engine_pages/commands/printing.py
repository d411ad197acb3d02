"""A page on paper as a PDF: by a browser that is on the machine, else by WeasyPrint where it is installed.

In: an HTML file with what it needs beside it. Out: a PDF file, written whole or not at all.
"""

import importlib.util
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Final

from ..bench.on_disk import rewrite

BROWSERS: Final = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
BROWSER_VARIABLE: Final = "ENGINE_PAGES_BROWSER"  # the program, where it has another name or stands elsewhere
QUIETLY: Final = (
    *("--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"),
    *("--disable-component-update", "--no-pdf-header-footer", "--allow-file-access-from-files"),
)
_PDF: Final = b"%PDF-"
SECONDS: Final = 300  # a dossier of a hundred sheets takes ten


class NoPrinterError(Exception):
    """There is neither a browser nor WeasyPrint, or what there is failed; the message says what to do."""


def print_page(page: Path, to: Path) -> str:
    """Write a page as a PDF to `to`; the name of what printed it. NoPrinterError, OSError."""
    browser = _browser()
    with tempfile.TemporaryDirectory(prefix="engine-pages-") as name:
        made = Path(name) / "page.pdf"
        if browser is not None:
            _by_browser(browser, page, made, Path(name) / "profile")
        elif importlib.util.find_spec("weasyprint") is not None:
            _by_weasyprint(page, made)
        else:
            raise NoPrinterError(
                "neither Chromium nor WeasyPrint is here. Install one (`pip install 'engine-pages[print]'`), name a "
                f"browser in {BROWSER_VARIABLE}, or open the dossier in any browser and print it"
            )
        rewrite(to, made.read_bytes())
    return Path(browser).name if browser is not None else "WeasyPrint"


def is_pdf(path: Path) -> bool:
    """Whether a file is a PDF (ISO 32000-1, 7.5.2: how its first line begins). OSError."""
    with path.open("rb") as file:
        return file.read(len(_PDF)) == _PDF


def _browser() -> str | None:
    named = os.environ.get(BROWSER_VARIABLE)
    if named:
        found = shutil.which(named)
        if found is None:
            raise NoPrinterError(f"{BROWSER_VARIABLE} names {named}, which cannot be started")
        return found
    return next((found for name in BROWSERS if (found := shutil.which(name)) is not None), None)


def _by_browser(browser: str, page: Path, made: Path, profile: Path) -> None:
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    command = [browser, *QUIETLY, *(["--no-sandbox"] if root else []), f"--user-data-dir={profile}"]
    try:
        done = subprocess.run(
            [*command, f"--print-to-pdf={made}", page.resolve().as_uri()],
            capture_output=True, check=False, timeout=SECONDS,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        raise NoPrinterError(f"{browser} did not finish in {SECONDS} s") from None
    if done.returncode != 0 or not made.is_file():
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise NoPrinterError(f"{browser} could not print: {said[-1] if said else f'it ended {done.returncode}'}")


def _by_weasyprint(page: Path, made: Path) -> None:
    from weasyprint import HTML

    HTML(filename=str(page)).write_pdf(str(made))
