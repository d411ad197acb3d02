"""The program that makes pages, as one key: another word in a template makes another page."""

from functools import lru_cache
from pathlib import Path

import engine_pages
from engine_pages.pages.reckoning import digest_of
from engine_pages.shipped import shipped


@lru_cache(maxsize=1)
def program() -> str:
    """A digest of the program's own files, and of what it is made with."""
    return digest_of(Path(engine_pages.__file__).parent, Path(__file__).parent, shipped("site_template"))
