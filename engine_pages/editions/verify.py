"""Is a bundle whole? A zip from anywhere in, each of its files against its list out, and all that is around them
against what the own writer makes; nothing is unpacked to a disk.

A manifest that lies in its own zip shows damage, not forgery: who changes a file can write its line anew.
"""

import hashlib
import struct
import zipfile
import zlib
from collections import Counter
from pathlib import Path
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from .fingerprint import RECORDS, fingerprint_of
from .manifest import MOST_BYTES, MOST_FILES, NAME, Entry, Manifest, ManifestError, entry_of, read_manifest
from .own_frame import PIECE, is_own_frame

MOST_IN_ALL: Final = 8_000_000_000  # bytes unpacked: more photos than a history holds
_ENCRYPTED: Final = 0x1  # the general purpose flag of a zip's entry
_PACKINGS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
# What the standard library's reader raises on damaged zips; RuntimeError is also of packings that it does not know.
_DAMAGE: Final = (zipfile.BadZipFile, zlib.error, struct.error, RuntimeError, ValueError, EOFError, OverflowError)


class NotABundleError(Exception):
    """There is no bundle to look into; the message says why."""


class Verdict(Struct, frozen=True):
    """What a bundle's list says of its files; `listed` is the manifest's own size and SHA-256.

    own_frame: whether what is around whole files is what a bundle has, to the byte; not looked at where any is not.
    """

    manifest: Manifest
    listed: Entry
    whole: tuple[str, ...]
    changed: tuple[str, ...]
    missing: tuple[str, ...]
    added: tuple[str, ...]
    own_frame: bool = True

    @property
    def is_whole(self) -> bool:
        return self.own_frame and not (self.changed or self.missing or self.added)

    @property
    def fingerprint(self) -> str | None:
        """The words of the records and photos that are there; None where the list is wrong about any of them."""
        torn = (*self.changed, *self.missing, *self.added)
        return None if any(path.startswith(RECORDS) for path in torn) else fingerprint_of(self.manifest.files)


def verify(path: Path) -> Verdict:
    """Hold a bundle against its own list. NotABundleError where there is none, or none that can be read."""
    try:
        with path.open("rb") as raw, zipfile.ZipFile(path) as archive:
            verdict = _verdict(archive)
            if not verdict.is_whole:
                return verdict
            return replace(verdict, own_frame=is_own_frame(archive, raw, verdict.manifest))
    except OSError as trouble:
        raise NotABundleError(f"{path} cannot be read: {trouble.strerror or trouble}") from None
    except _DAMAGE as trouble:
        raise NotABundleError(f"{path} is no whole zip: {trouble}") from None
    except ManifestError as trouble:
        raise NotABundleError(f"{path} is no bundle, or one that is damaged: {trouble}") from None


def _verdict(archive: zipfile.ZipFile) -> Verdict:
    infos = [one for one in archive.infolist() if not one.is_dir()]
    if len(infos) > MOST_FILES + 1:
        raise ManifestError(f"{len(infos)} files; {MOST_FILES} at the most")
    times = Counter(one.filename for one in infos)
    if times[NAME] != 1:
        raise ManifestError(f"it has no {NAME}" if not times[NAME] else f"it has {times[NAME]} of {NAME}")
    there = {one.filename: one for one in infos}
    content = _content(archive, there.pop(NAME))
    manifest = read_manifest(content)
    if sum(one.bytes for one in manifest.files.values()) > MOST_IN_ALL:
        raise ManifestError(f"its files claim over {MOST_IN_ALL // 10**9} GB")
    whole = {
        path
        for path, entry in manifest.files.items()
        if path in there and times[path] == 1 and _is_whole(archive, there[path], entry)
    }
    listed = set(manifest.files)
    return Verdict(
        manifest,
        entry_of(content),
        tuple(sorted(whole)),
        tuple(sorted((listed & set(there)) - whole)),
        tuple(sorted(listed - set(there))),
        tuple(sorted(set(there) - listed)),
    )


def _content(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    """The manifest's bytes, however much it claims to have."""
    if info.flag_bits & _ENCRYPTED or info.compress_type not in _PACKINGS or info.file_size > MOST_BYTES:
        raise ManifestError(f"its {NAME} cannot be read, or has over {MOST_BYTES // 10**6} MB")
    with archive.open(info) as file:
        content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise ManifestError(f"its {NAME} has over {MOST_BYTES // 10**6} MB")
    return content


def _is_whole(archive: zipfile.ZipFile, info: zipfile.ZipInfo, entry: Entry) -> bool:
    """Whether a file has the size and the sum that the list names; no more of it is unpacked than that."""
    if info.file_size != entry.bytes or info.flag_bits & _ENCRYPTED or info.compress_type not in _PACKINGS:
        return False
    total, left = hashlib.sha256(), entry.bytes
    try:
        with archive.open(info) as file:
            while piece := file.read(min(PIECE, left + 1)):
                total.update(piece)
                left -= len(piece)
                if left < 0:
                    return False
    except (*_DAMAGE, OSError):
        return False
    return left == 0 and total.hexdigest() == entry.sha256
