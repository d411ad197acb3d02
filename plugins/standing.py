"""What stands in the public tree: each shared site is signed with its digest and with what lies in it.

In: a folder. Out: the digest of the site that stands there whole. To look costs no file's content but the signature:
every file is there in its size, and no other. A change of content alone, the size kept, is not seen.
"""

import hashlib
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from engine_pages.editions.links import FOLDER
from engine_pages.records.shop import TOKEN

BUILT: Final = "engine-pages/built.json"


def sign(site: Path, digest: str) -> None:
    """Write into a site that was made what it is, and what lies in it."""
    built = site / BUILT
    built.parent.mkdir(exist_ok=True)
    built.write_text(json.dumps({"digest": digest, "lies": _what_lies_in(site)}) + "\n", encoding="ascii")


def digest_at(site: Path) -> str | None:
    """The digest of the shared site that stands in a folder; None where none does, or not as it was made."""
    if site.is_symlink():
        return None
    try:
        built = json.loads((site / BUILT).read_bytes())
    except (FileNotFoundError, NotADirectoryError, IsADirectoryError, ValueError):
        return None
    if not isinstance(built, dict) or built.get("lies") != _what_lies_in(site):
        return None
    digest = built.get("digest")
    return digest if isinstance(digest, str) else None


def shares_in(to: Path) -> Iterator[Path]:
    """Whatever stands under a token in a tree, were it a file or a link."""
    yield from (path for path in sorted((to / FOLDER).iterdir()) if TOKEN.fullmatch(path.name))


def _what_lies_in(site: Path) -> str:
    """Every file of a site with its size in bytes, but the signature, as one SHA-256."""
    total = hashlib.sha256()
    for path, size in _files(os.fspath(site), ""):
        if path != BUILT:
            total.update(os.fsencode(f"{path}\0{size}\0"))
    return total.hexdigest()


def _files(folder: str, above: str) -> Iterator[tuple[str, int]]:
    """(path, size) in order; a link is no file of a site, and has a size that none has."""
    with os.scandir(folder) as found:
        entries = sorted(found, key=lambda entry: entry.name)
    for entry in entries:
        if entry.is_dir(follow_symlinks=False):
            yield from _files(entry.path, f"{above}{entry.name}/")
        else:
            size = entry.stat(follow_symlinks=False).st_size if entry.is_file(follow_symlinks=False) else -1
            yield above + entry.name, size
