"""A zip that the bench page hands over: bytes in, one sheet and its photos out, or why nothing of it may be taken.

Nothing is written here, and nothing of a zip is believed: names, sizes, kinds of file and counts are looked at before a
byte is unpacked, and unpacking stops at the size that was allowed.
"""

import base64
import hashlib
import io
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from typing import Final

from msgspec import Struct

from ..records.ids import ALLOWED, is_id
from ..records.load import photo_folder, place_of_sheet
from ..records.photo_header import MAX_BYTES as MAX_PHOTO_BYTES
from ..records.photo_header import NotAPhoto, photo_facts
from ..records.sheet import SheetKind
from ..records.tree import shown, why_not_on_windows
from ..records.yaml_text import MAX_BYTES as MAX_SHEET_BYTES

MAX_ZIP_BYTES: Final = 500_000_000  # what a phone can share, and several times a teardown with a hundred photos
MAX_PHOTOS: Final = 300
RECEIPT_BYTES: Final = 5  # of the checksum: 40 bits, eight letters to type; a mistake goes through once in 10¹²

# Ways of packing that every reader of zips has; APPNOTE 4.4.5 numbers them.
_PACKED: Final = frozenset({zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED})
# The end of a zip's list: its mark and the place of the count in it, APPNOTE 4.3.16. A count that does not fit stands
# in a record of 56 bytes before it (4.3.14), with one of 20 bytes between them (4.3.15).
_END: Final = b"PK\x05\x06"
_END_COUNT: Final = 10
_IN_ZIP64: Final = 0xFFFF
_ZIP64_BACK: Final = 56 + 20
_ZIP64_COUNT: Final = 32
_NAME: Final = re.compile(r"\d{4}-\d{2}-\d{2}(?:-(?:[2-9]|[1-9]\d))?", re.ASCII)
_PHOTO_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,119}\.(?:jpe?g|png|webp)", re.ASCII | re.IGNORECASE)
# What zipfile raises on a damaged zip, found by damaging them.
_DAMAGE: Final = (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, ValueError, struct.error, zlib.error)


class ZipRefusedError(Exception):
    """The zip is none that the bench page makes; the message says what is wrong, and nothing of it was taken."""


class HandedOver(Struct, frozen=True):
    """A sheet and its photos, each by the path in the shop's folder where it belongs."""

    kind: SheetKind
    engine: str
    name: str
    sheet_path: str
    files: Mapping[str, bytes]

    @property
    def sheet(self) -> bytes:
        return self.files[self.sheet_path]

    @property
    def checksum(self) -> str:
        """The SHA-256 of all that was handed over, in hexadecimal."""
        return checksum(self.files)

    @property
    def receipt(self) -> str:
        """What the bench page wants typed in before it lets a draft go."""
        return receipt_of(self.checksum)


def checksum(files: Mapping[str, bytes]) -> str:
    """SHA-256 of one line a file, `<its SHA-256>  <its path>`, by path: the same whatever zip they came in.

    >>> checksum({"a": b"1"})[:16]
    'fc5b2781bc65746b'
    """
    lines = (f"{hashlib.sha256(files[path]).hexdigest()}  {path}\n" for path in sorted(files, key=str.encode))
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def receipt_of(checksum: str) -> str:
    """Eight letters and digits of a checksum, in RFC 4648 base32, with a hyphen in the middle.

    >>> receipt_of("00" * 32)
    'aaaa-aaaa'
    """
    code = base64.b32encode(bytes.fromhex(checksum)[:RECEIPT_BYTES]).decode("ascii").lower()
    return f"{code[:4]}-{code[4:]}"


def read_handed_over(data: bytes) -> HandedOver:
    """The sheet and the photos in a zip. Raises ZipRefusedError."""
    if len(data) > MAX_ZIP_BYTES:
        raise ZipRefusedError(f"the zip has {len(data) / 1e6:.0f} MB; {MAX_ZIP_BYTES / 1e6:.0f} MB at the most")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as opened:
            _refuse_a_short_list(data, len(opened.infolist()))
            entries = [one for one in opened.infolist() if not _says_nothing(one)]
            path, kind, engine, name = _sheet_of(entries)
            _check_entries(entries, path, photo_folder(kind, path))
            files = {one.filename: _unpacked(opened, one, _most(one, path)) for one in entries}
    except _DAMAGE as trouble:
        raise ZipRefusedError(f"this is no zip that can be read: {trouble}; hand it over again") from trouble
    for photo in sorted(set(files) - {path}):
        try:
            photo_facts(files[photo])
        except NotAPhoto as reason:
            raise ZipRefusedError(f"{shown(photo)}: {reason}") from reason
    return HandedOver(kind, engine, name, path, files)


def _refuse_a_short_list(data: bytes, found: int) -> None:
    """A damaged length makes the reader take one file of the list for another's comment, and it says nothing of it."""
    at = data.rfind(_END)
    (told,) = struct.unpack_from("<H", data, at + _END_COUNT)
    if told == _IN_ZIP64:
        (told,) = struct.unpack_from("<Q", data, at - _ZIP64_BACK + _ZIP64_COUNT)
    if told != found:
        raise ZipRefusedError(f"the zip says that it lists {told} files, and lists {found}; hand it over again")


def _says_nothing(entry: zipfile.ZipInfo) -> bool:
    """What a computer adds that zips a folder again: entries for the folders, and what a Mac keeps about each file.

    Nothing is made of them, so none can harm.
    """
    path = entry.filename
    is_empty_folder = path.endswith("/") and entry.file_size == 0
    return is_empty_folder or path.startswith("__MACOSX/") or path.rpartition("/")[2] == ".DS_Store"


def _sheet_of(entries: Iterable[zipfile.ZipInfo]) -> tuple[str, SheetKind, str, str]:
    """The one sheet: its path, kind, engine, and the name of its file or folder."""
    found = [(entry.filename, *place) for entry in entries if (place := place_of_sheet(entry.filename)) is not None]
    if len(found) != 1:
        where = "engines/…/teardowns/2026-10-12/teardown.yml, or under builds or inspections"
        raise ZipRefusedError(f"one sheet is wanted in a zip, at {where}; here are {len(found) or 'none'}")
    path, engine, kind, name = found[0]
    if not is_id(engine):
        raise ZipRefusedError(f"{shown(engine)!r} is no id of an engine; an id has {ALLOWED}")
    if not _NAME.fullmatch(name):
        raise ZipRefusedError(f"{shown(name)!r} is no day; a sheet is named 2026-10-12, a second one 2026-10-12-2")
    return path, kind, engine, name


def _check_entries(entries: list[zipfile.ZipInfo], sheet: str, photos: str) -> None:
    """What else lies in a zip are photos in the sheet's own folder, each once whatever the case of its name."""
    if len(entries) > MAX_PHOTOS + 1:
        raise ZipRefusedError(f"{len(entries)} files are in the zip; {MAX_PHOTOS} photos at the most")
    seen: dict[str, str] = {}
    for entry in entries:
        path = entry.filename
        if stat.S_IFMT(entry.external_attr >> 16) not in (0, stat.S_IFREG):
            raise ZipRefusedError(f"{shown(path)} is no plain file")
        if entry.flag_bits & 0x1:
            raise ZipRefusedError(f"{shown(path)} is locked with a password")
        if entry.compress_type not in _PACKED:
            raise ZipRefusedError(
                f"{shown(path)} is packed in a way that is not read here; zip it the usual way, deflated"
            )
        if path != sheet:
            _check_photo_name(path, photos)
        twin = seen.setdefault(path.casefold(), path)
        if twin is not path:
            raise ZipRefusedError(f"{shown(path)} and {shown(twin)} are one file on most computers")
    total = sum(entry.file_size for entry in entries)
    if total > MAX_ZIP_BYTES:
        raise ZipRefusedError(f"unpacked it has {total / 1e6:.0f} MB; {MAX_ZIP_BYTES / 1e6:.0f} MB at the most")


def _check_photo_name(path: str, photos: str) -> None:
    folder, _, name = path.rpartition("/")
    if folder != photos:
        raise ZipRefusedError(f"{shown(path)} lies outside the sheet's folder, {photos}/")
    if not _PHOTO_NAME.fullmatch(name):
        raise ZipRefusedError(f"{shown(path)}: beside a sheet lie photos alone: letters, digits, . _ -, and .jpg")
    why = why_not_on_windows(name)
    if why is not None:
        raise ZipRefusedError(f"{shown(path)} is a name that Windows cannot keep: {why}")


def _most(entry: zipfile.ZipInfo, sheet: str) -> int:
    return MAX_SHEET_BYTES if entry.filename == sheet else MAX_PHOTO_BYTES


def _unpacked(opened: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes:
    """The bytes of one file; what its header says of its size is not believed."""
    with opened.open(entry) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise ZipRefusedError(f"{shown(entry.filename)} is larger than {most / 1e6:.0f} MB, the most it may have")
    return data
