"""Checks of photos: each lies beside its sheet, is an image, and is in git's hands."""

import re
from collections.abc import Iterator
from pathlib import PurePosixPath

from ..git import GitFailed
from ..load import SheetRecord, place_of_sheet
from ..photo_header import MAX_BYTES, NotAPhoto, photo_facts
from ..sheet import Photo
from ..source import Problem, Source, doubt, error, nearest
from ..tree import Commit, Folder, NoFile
from .checked import Checked

_CHECKSUM = re.compile(r"sha256:[0-9a-f]{64}")
ON_CAMERA = "; if it is on the camera: "  # how a photo comes in; who has given the camera's folder says it otherwise
_OUTSIDE = "a photo lies in the folder of its record; write its name alone"


def check_photos(checked: Checked) -> Iterator[Problem]:
    """A photo that is named is there, inside its sheet's folder, and can be shown.

    Nothing outside is read, so that no record can carry a file of the shop's computer into a published page.
    """
    paths = frozenset(checked.shop.tree.paths())
    links = _links(checked)
    for place, folder, name in _named(checked):
        path = _path(folder, name)
        if path is None:
            yield error(place, f"{name!r} lies outside its folder; {_OUTSIDE}")
        elif path in links:
            yield error(place, f"{name}: {links[path]}")
        elif path not in paths:
            beside = [one.removeprefix(f"{folder}/") for one in sorted(paths) if one.startswith(f"{folder}/")]
            pictures = [
                one for one in beside if not one.endswith((".yml", ".yaml")) and ("/" in name or "/" not in one)
            ]
            hint = f"; {nearest(name, pictures)}" if pictures else ""
            yield error(place, f"there is no photo {name!r} in {folder}{hint}{_how_it_comes(place.path)}")
        else:
            message = _what_is_wrong(checked, path)
            if message:
                yield error(place, f"{name}: {message}")


def check_originals(checked: Checked) -> Iterator[Problem]:
    """`original` is the checksum of the camera's file: what cannot be one proves nothing."""
    for sheet, steps, photo in _photos(checked):
        if photo.original is not None and not _CHECKSUM.fullmatch(photo.original):
            message = f"{photo.original!r} is no checksum; write sha256: and its 64 signs, 0 to 9 and a to f"
            yield error(sheet.record.place(*steps, "original"), message)


def check_repeats(checked: Checked) -> Iterator[Problem]:
    """One photo twice on a sheet can be meant, where it shows two parts; more often a name was not changed."""
    seen: dict[str, Source] = {}
    for sheet, steps, photo in _photos(checked):
        path, place = f"{sheet.photo_folder}/{photo.file}", sheet.record.place(*steps, "file")
        first = seen.setdefault(path, place)
        if first != place:
            yield doubt(place, f"{photo.file} stands on this sheet twice; the first is on line {first.line}")


def check_commits(checked: Checked) -> Iterator[Problem]:
    """A photo that is neither committed nor staged is lost with the computer it lies on."""
    if checked.repo is None or isinstance(checked.shop.tree, Commit):
        return
    named = list(_named(checked))
    if not named:
        return
    try:
        tracked = checked.repo.tracked()
    except GitFailed as bad:
        yield doubt(named[0][0], f"whether photos are in a commit cannot be told: {bad}")
        return
    paths = frozenset(checked.shop.tree.paths())
    for place, folder, name in named:
        path = _path(folder, name)
        if path in paths and path not in tracked:
            yield doubt(place, f"{name} is in no commit and not staged; git add {path}")


def _how_it_comes(record: str) -> str:
    """What brings a photo that is on the camera still; a sheet names those by the camera's own names."""
    if place_of_sheet(record) is None:
        return ""
    return f"{ON_CAMERA}engine-pages file {record} CAMERA-FOLDER"


def _photos(checked: Checked) -> Iterator[tuple[SheetRecord, tuple[str | int, ...], Photo]]:
    for sheet in checked.sheets():
        for index, photo in enumerate(sheet.it.photos or ()):
            yield sheet, ("photos", index), photo
        for key, line in (sheet.it.positions or {}).items():
            for index, photo in enumerate((line.photos if line else None) or ()):
                yield sheet, ("positions", key, "photos", index), photo


def _named(checked: Checked) -> Iterator[tuple[Source, str, str]]:
    """Where a photo is named, the folder that it lies in, and its name: on sheets, and an engine's picture."""
    for sheet, steps, photo in _photos(checked):
        yield sheet.record.place(*steps, "file"), sheet.photo_folder, photo.file
    for records in checked.engines():
        if records.file is not None and records.file.it.picture is not None:
            yield records.file.place("picture"), f"engines/{records.id}", records.file.it.picture


def _path(folder: str, name: str) -> str | None:
    """The photo's path from the shop's folder, or None where the name leads out of `folder`."""
    steps = name.split("/")
    if (
        "\\" in name
        or ":" in name
        or PurePosixPath(name).is_absolute()
        or any(step in ("", ".", "..") for step in steps)
    ):
        return None
    return f"{folder}/{name}"


def _links(checked: Checked) -> dict[str, str]:
    tree = checked.shop.tree
    return {left.path: left.why for left in tree.left_out()} if isinstance(tree, Folder | Commit) else {}


def _what_is_wrong(checked: Checked, path: str) -> str | None:
    tree = checked.shop.tree
    try:
        size = tree.size(path)
        if size > MAX_BYTES:
            return f"the file has {size / 1e6:.1f} MB; a photo may have {MAX_BYTES / 1e6:.0f} MB; save it smaller"
        photo_facts(tree.read(path))
    except (NoFile, NotAPhoto) as bad:
        return str(bad)
    return None
