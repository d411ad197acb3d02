"""The list of a bundle's files: size and SHA-256 of each, and what the bundle is. Written into it, and read from any.

In: the files' names and bytes; or the bytes of a manifest, whoever wrote them. Out: `Manifest`, its JSON.
"""

import hashlib
import json
import re
from collections.abc import Mapping
from typing import Any, Final

from msgspec import Struct

NAME: Final = "manifest.json"
FORMAT: Final = "engine-pages bundle 1"
MOST_BYTES: Final = 16_000_000  # of a manifest: a hundred thousand files
MOST_FILES: Final = 100_000
_LETTERS: Final = 200  # of a name of the manifest's own fields
_PATH: Final = 1_000
_SHA_256: Final = re.compile(r"[0-9a-f]{64}")
_ABOUT: Final = ("engine", "edition", "commit", "tree", "fingerprint", "made_with")


class ManifestError(Exception):
    """The bytes are no manifest of ours; the message says why."""


class Entry(Struct, frozen=True):
    """A file's size in bytes, and its SHA-256 in hexadecimal."""

    bytes: int
    sha256: str


class About(Struct, frozen=True):
    """What a bundle is of: the engine, the edition, the commit (short), the program that made it.

    tree: git's name for the engine's folder at that commit. fingerprint: of the records and photos, in words.
    """

    engine: str
    edition: str
    commit: str
    tree: str
    fingerprint: str
    made_with: str


class Manifest(Struct, frozen=True):
    """What a bundle is, and every file in it by its path but the manifest itself."""

    about: About
    files: Mapping[str, Entry]


def entry_of(content: bytes) -> Entry:
    """A file's line in the manifest.

    >>> entry_of(b"abc").sha256[:8], entry_of(b"abc").bytes
    ('ba7816bf', 3)
    """
    return Entry(len(content), hashlib.sha256(content).hexdigest())


def manifest_bytes(manifest: Manifest) -> bytes:
    """The manifest as JSON, the files by name."""
    about = {name: getattr(manifest.about, name) for name in _ABOUT}
    files = {path: {"bytes": one.bytes, "sha256": one.sha256} for path, one in sorted(manifest.files.items())}
    return (json.dumps({"format": FORMAT, **about, "files": files}, indent=1, ensure_ascii=False) + "\n").encode()


def read_manifest(content: bytes) -> Manifest:
    """A manifest as anybody may have written it. ManifestError."""
    try:
        written = json.loads(content)
    except (ValueError, RecursionError):
        raise ManifestError(f"{NAME} is no JSON") from None
    if not isinstance(written, dict) or written.get("format") != FORMAT or not isinstance(written.get("files"), dict):
        raise ManifestError(f"{NAME} is not that of a bundle")
    if len(written["files"]) > MOST_FILES:
        raise ManifestError(f"{NAME} names {len(written['files'])} files; {MOST_FILES} at the most")
    about = [text for name in _ABOUT if isinstance(text := written.get(name), str) and len(text) <= _LETTERS]
    if len(about) != len(_ABOUT):
        raise ManifestError(f"{NAME} does not say what it is of")
    return Manifest(About(*about), {path: _entry(path, one) for path, one in written["files"].items()})


def _entry(path: str, written: Any) -> Entry:
    size, digest = (written.get("bytes"), written.get("sha256")) if isinstance(written, dict) else (None, None)
    if is_inside(path) and type(size) is int and size >= 0 and isinstance(digest, str) and _SHA_256.fullmatch(digest):
        return Entry(size, digest)
    raise ManifestError(f"{NAME}: the line of {path[:_LETTERS]!r} is not one of ours")


def is_inside(path: str) -> bool:
    """Whether a path names a file inside a bundle, on any system.

    >>> [is_inside(one) for one in ("site/index.html", "/etc/x", "../x", "a//b", "C:x", "a\\\\b", "")]
    [True, False, False, False, False, False, False]
    """
    steps = path.split("/")
    plain = 0 < len(path) <= _PATH and path.isprintable() and not set(path) & set('\\:*?"<>|')
    return plain and not any(step in ("", ".", "..") for step in steps)
