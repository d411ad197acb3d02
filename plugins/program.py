"""The program that makes pages, as one key: another word in a template makes another page."""

import hashlib
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

import engine_pages
from engine_pages.shipped import shipped

MADE_WITH: Final = "\0".join(
    f"{name} {version(name)}" for name in ("engine-pages", "mkdocs", "mkdocs-material", "markdown", "jinja2")
)
_WRITTEN: Final = (".py", ".jinja", ".css", ".js", ".html")


_RECKONING: Final = ("records", "wear", "history", "editions")  # rooms that know nothing of pages


@lru_cache(maxsize=1)
def program() -> str:
    """A digest of the program's own files, and of what it is made with."""
    return _digest(Path(engine_pages.__file__).parent, Path(__file__).parent, shipped("site_template"))


@lru_cache(maxsize=1)
def reckoning() -> str:
    """A digest of what reads records and reckons with them, whatever is made of its figures."""
    return _digest(*(Path(engine_pages.__file__).parent / room for room in _RECKONING))


def _digest(*tops: Path) -> str:
    total = hashlib.sha256(MADE_WITH.encode())
    for top in tops:
        for path in sorted(top.rglob("*")):
            if path.suffix in _WRITTEN and path.is_file():
                total.update(path.read_bytes())
    return total.hexdigest()
