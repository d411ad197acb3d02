"""What reads records and reckons with them, as one key: whatever is kept of it is made anew by another program."""

import hashlib
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

import engine_pages

MADE_WITH: Final = "\0".join(
    f"{name} {version(name)}" for name in ("engine-pages", "mkdocs", "mkdocs-material", "markdown", "jinja2")
)
_WRITTEN: Final = (".py", ".jinja", ".css", ".js", ".html")
_ROOMS: Final = ("records", "wear", "history", "editions")  # rooms that know nothing of pages


@lru_cache(maxsize=1)
def reckoning() -> str:
    """A digest of the rooms that read records and reckon, whatever is made of their figures."""
    return digest_of(*(Path(engine_pages.__file__).parent / room for room in _ROOMS))


def digest_of(*tops: Path) -> str:
    """A digest of all that is written in some folders, and of what it is made with."""
    total = hashlib.sha256(MADE_WITH.encode())
    for top in tops:
        for path in sorted(top.rglob("*")):
            if path.suffix in _WRITTEN and path.is_file():
                total.update(path.read_bytes())
    return total.hexdigest()
