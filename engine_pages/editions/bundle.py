"""A bundle: files into one zip, with the list of them. The same files give the same bytes.

In: files by their paths, each made when it is asked for, and what they are of. Out: a zip, written whole or not at all.
Every file bears the same time, the earliest that a zip knows, and stands in the order of names; the list stands last.
Nothing is packed: what a packer makes of the same file differs from machine to machine, and a byte of it may change
while the file stays. So a zip can be written again from its files anywhere, and held against the first to the byte.
"""

import os
import struct
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import IO, Final

from .manifest import MOST_BYTES, NAME, About, Entry, Manifest, ManifestError, entry_of, manifest_bytes, read_manifest

_TIME: Final = (1980, 1, 1, 0, 0, 0)
_UNIX: Final = 3  # of all systems, so that every machine writes the same
_PLAIN_FILE: Final = 0o100644 << 16
# What the standard library's reader raises on what is no zip, or a damaged one; KeyError: it has no such file.
_NO_ZIP: Final = (zipfile.BadZipFile, zlib.error, struct.error, RuntimeError, ValueError, EOFError, KeyError)
Files = Mapping[str, Entry]


def write_bundle(files: Mapping[str, Callable[[], bytes]], about: Callable[[Files], About], to: Path) -> Manifest:
    """Write the zip; its manifest. OSError, and whatever the making of a file raises.

    about: what the bundle is of, once its files are known by their sizes and sums.
    """
    to.parent.mkdir(parents=True, exist_ok=True)
    handle, part = tempfile.mkstemp(prefix=f".{to.name}.", dir=to.parent)
    try:
        with os.fdopen(handle, "w+b") as file:
            manifest = _write(file, files, about)
        os.chmod(part, 0o644)
        os.replace(part, to)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise
    return manifest


def is_bundle(path: Path) -> bool:
    """Whether a file is a zip with a list of ours in it, whole or not. OSError."""
    try:
        with zipfile.ZipFile(path) as archive, archive.open(NAME) as file:
            read_manifest(file.read(MOST_BYTES))
    except (ManifestError, *_NO_ZIP):
        return False
    return True


def _write(file: IO[bytes], files: Mapping[str, Callable[[], bytes]], about: Callable[[Files], About]) -> Manifest:
    entries: dict[str, Entry] = {}
    with zipfile.ZipFile(file, "w") as archive:
        for path in sorted(files):
            content = files[path]()
            entries[path] = entry_of(content)
            add_file(archive, path, len(content), (content,))
        manifest = Manifest(about(entries), entries)
        add_list(archive, manifest)
    return manifest


def add_list(archive: zipfile.ZipFile, manifest: Manifest) -> None:
    """Write the list of a bundle's files into it, which closes it."""
    content = manifest_bytes(manifest)
    add_file(archive, NAME, len(content), (content,))


def add_file(archive: zipfile.ZipFile, path: str, size: int, pieces: Iterable[bytes]) -> None:
    """Write one file into a bundle: its size in bytes, and all of them in pieces."""
    info = zipfile.ZipInfo(path, _TIME)
    info.create_system, info.external_attr, info.file_size = _UNIX, _PLAIN_FILE, size
    with archive.open(info, "w") as file:
        for piece in pieces:
            file.write(piece)
