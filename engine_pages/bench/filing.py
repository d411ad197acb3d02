"""From an edited sheet to a commit in one step: photos taken in from the camera, the records checked, all committed.

In: the shop's folder and paths: sheets or their folders, other record files, and photos, or a camera's card or what
was copied from it, with folders in it (DCIM/100CAMRA). A sheet says where a photo belongs by the camera's own name,
`- {file: IMG_0412.JPG, view: loaded side}`; what is kept is named by position and view, and the sheet's line is changed
to that. The camera's files stay where they are, also those that were copied beside the sheet.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import count
from pathlib import Path
from types import MappingProxyType
from typing import Final

import yaml
from msgspec import Struct
from msgspec.structs import replace

from ..records.checks.photos import ON_CAMERA
from ..records.git import GitFailed, repository_of
from ..records.load import SheetRecord, Shop, load_shop
from ..records.photo_header import NotAPhoto
from ..records.photo_names import place_and_view
from ..records.sheet import Photo
from ..records.source import Problem, Source, error
from ..records.tree import Folder, NoFile, NoTree, Tree
from .as_it_would_be import AsItWouldBe, problems_with
from .camera import ENDINGS, FromCamera, from_camera, original_of
from .edit_yaml import MapEdit, Steps, edited
from .inbox import INBOX
from .on_disk import BusyError, ChangedError, Exchange, alone, put_and_commit
from .taken_along import held_by, new_of, taken_along

NOTHING_DONE: Final = "nothing was written and nothing committed"
MOST_NAMED: Final = 6  # photos that are given, in a sentence
SUBJECT: Final = 72  # characters of a commit's first line: what git's own lists and most hosts show of it


class FilingError(Exception):
    """Nothing was written; the message says why, and what to do."""


TROUBLE: Final = (FilingError, BusyError, GitFailed, NoTree, OSError)  # what `file_in` raises


class Filed(Struct, frozen=True):
    """What was committed: paths in the shop (what was given, where nothing of it was new), and each photo's name on the
    camera with the path where it lies now."""

    commit: str | None
    paths: tuple[str, ...]
    photos: tuple[tuple[str, str], ...]
    not_named: tuple[str, ...]
    doubts: tuple[Problem, ...]


class Line(Struct, frozen=True, eq=False):
    """A line of a sheet that names a photo: the sheet, the steps to the line, the position that it is of."""

    sheet: SheetRecord
    steps: Steps
    position: str | None
    photo: Photo

    @property
    def path(self) -> str:
        """Where its photo lies, once it is filed."""
        return f"{self.sheet.photo_folder}/{self.photo.file}"


class Given(Struct, frozen=True):
    """What was named on the command line, sorted: record files of the shop, the folders of photos, and the camera's
    photos by their names; two cameras, or two folders of one, may each have a photo of the same name."""

    records: tuple[str, ...]
    folders: tuple[Path, ...]
    camera: Mapping[str, Sequence[Path]]
    named_alone: frozenset[Path]


NOTHING_GIVEN: Final = Given((), (), MappingProxyType({}), frozenset())


def file_in(shop: Path, paths: Sequence[Path], today: date, message: str | None = None) -> Filed:
    """Take photos in, check, commit. Raises FilingError, BusyError, GitFailed, OSError, NoTree: as it was before."""
    with alone(shop) as aside:
        tree = Folder(shop)
        given = sorted_out(shop, tree, paths)
        read = _read(tree, (*given.records, *taken_along(shop, tree, given.records)))
        loaded = load_shop(AsItWouldBe(tree, read))
        _refuse(problem for problem in loaded.problems if problem.source.path in given.records)
        lines = lines_of(loaded, given.records)
        wanted = wanted_of(shop, tree, given, {line: line.path for line in lines}, known_to_git(shop, tree))
        left = unnamed(given, lines, wanted)
        photos = taken_in(tree, read, wanted, left_by_a_kill(shop, tree, lines))
        files = {**read, **photos.sheets, **photos.files}
        problems = problems_with(tree, files, today)
        wrong = [problem for problem in problems if problem.source.path in files]
        _refuse([of_given_photos(given, one) for one in wrong] if given.camera or given.folders else wrong)
        fresh = {*photos.sheets, *new_of(shop, tuple(read))}
        said = message or _message(_first_of(given.records, read, fresh))
        changed = {path: Exchange(read[path], files[path]) for path in read}
        also = _in_their_place(shop, tree, lines, {*wanted.values()})
        try:
            done = put_and_commit(shop, aside, photos.files, "", said, changed, also)
        except ChangedError as trouble:
            raise FilingError(f"{trouble}; run it again") from trouble
    doubts = tuple(one for one in problems if one.source.path in files)
    held = tuple(sorted(files)) if done is None else held_by(shop, done)
    return Filed(done, held, photos.names, tuple(one.name for one in left), doubts)


def _read(tree: Tree, records: Iterable[str]) -> dict[str, bytes]:
    """The records' bytes, read once: what is judged, edited and compared before it is written over is all the same."""
    try:
        return {path: tree.read(path) for path in records}
    except NoFile as trouble:
        raise FilingError(str(trouble)) from trouble


def lines_of(shop: Shop, records: Collection[str]) -> list[Line]:
    """Every line of these records that names a photo."""
    sheets = [sheet for engine in shop.engines.values() for sheet in engine.sheets if sheet.path in records]
    return [line for sheet in sheets for line in _lines(sheet)]


def sorted_out(shop: Path, tree: Folder, paths: Iterable[Path]) -> Given:
    """Each path as a record of the shop, or as the camera's."""
    known = set(tree.paths())
    records: list[str] = []
    folders: list[Path] = []
    camera: dict[str, list[Path]] = {}
    alone_named: set[Path] = set()
    for path in paths:
        inside = _inside(shop, path)
        if inside is not None and path.is_dir():
            here = [one for one in sorted(known) if one.startswith(f"{inside}/") and one.endswith(".yml")]
            if not here or inside == INBOX:
                raise FilingError(f"{path}: no record lies in this folder")
            records.extend(here)
        elif inside in known and path.suffix == ".yml":
            records.append(inside)
        elif path.is_dir():
            folders.append(path)
            _add(camera, _photos_under(shop, path))
        elif _is_photo(path):
            _add(camera, [path])
            alone_named.add(path.resolve())
        else:
            raise FilingError(f"{path}: no record of this shop, no photo and no folder of photos")
    if not records:
        raise FilingError("no sheet is named; give the sheet that says where the photos belong, or its folder")
    return Given(tuple(dict.fromkeys(records)), tuple(folders), camera, frozenset(alone_named))


def is_record(shop: Path, path: Path) -> bool:
    """Whether a path means records of the shop, not photos."""
    return _inside(shop, path) is not None and (path.is_dir() or path.suffix == ".yml")


def _photos_under(shop: Path, folder: Path) -> list[Path]:
    """Photos in a folder and in those inside it, as cameras lay them (CIPA DC-009, DCF: DCIM/100ABCDE/ABCD0001.JPG).

    What begins with a dot is a system's own, thumbnails and deleted files; what lies in the shop is no camera's.
    """
    found = sorted(one for one in folder.rglob("*") if _is_photo(one) and _inside(shop, one) is None)
    return [one for one in found if not any(step.startswith(".") for step in one.relative_to(folder).parts)]


def _add(camera: dict[str, list[Path]], photos: Iterable[Path]) -> None:
    """Photos by their names, each once though it was named by its folder too."""
    for photo in photos:
        known = camera.setdefault(photo.name.casefold(), [])
        if photo.resolve() not in [one.resolve() for one in known]:
            known.append(photo)


def _inside(shop: Path, path: Path) -> str | None:
    """The path as the shop knows it; None for one that lies elsewhere."""
    try:
        return path.resolve().relative_to(shop.resolve()).as_posix()
    except ValueError:
        return None


def _is_photo(path: Path) -> bool:
    return path.suffix.lower() in ENDINGS and path.is_file()


def _lines(sheet: SheetRecord) -> Iterator[Line]:
    for index, photo in enumerate(sheet.it.photos or ()):
        yield Line(sheet, ("photos", index), None, photo)
    for position, line in (sheet.it.positions or {}).items():
        for index, photo in enumerate((line.photos if line else None) or ()):
            yield Line(sheet, ("positions", position, "photos", index), position, photo)


def known_to_git(shop: Path, tree: Tree) -> frozenset[str]:
    """What is committed or staged; where there is no repository, all that lies there."""
    repo = repository_of(shop)
    return repo.tracked() if repo is not None else frozenset(tree.paths())


def wanted_of(
    shop: Path, tree: Folder, given: Given, lies: Mapping[Line, str], known: Collection[str]
) -> dict[Line, Path]:
    """The camera's file of each line that names one: among those given, or copied there and not `known` to git yet.
    `lies`: where in the shop the photo of a line is looked for."""
    there = set(tree.paths())
    found: dict[Line, Path] = {}
    for line, path in lies.items():
        if path not in there:
            photo = _only(given, line.photo.file.casefold())
        else:
            photo = shop / path if line.photo.original is None and path not in known else None
        if photo is not None:
            found[line] = photo
    return found


def _only(given: Given, name: str) -> Path | None:
    """The photo of a name, which is one picture or none: of two, nobody but the builder can say which is meant, by
    giving that one beside its folder."""
    found = given.camera.get(name, ())
    photos = [one for one in found if one.resolve() in given.named_alone] or found
    if len(photos) > 1:
        both = " and ".join(map(str, photos))
        raise FilingError(
            f"{both} have one name; give the one that is meant, or copy it beside the sheet\n{NOTHING_DONE}"
        )
    return photos[0] if photos else None


def _refuse(problems: Iterable[Problem]) -> None:
    errors = [str(problem) for problem in problems if problem.level == "error"]
    if errors:
        raise FilingError("\n".join([*errors, NOTHING_DONE]))


def of_given_photos(given: Given, problem: Problem) -> Problem:
    """A photo is missing though the camera's were given: to give them is no advice then, the names are."""
    told, asked, _ = problem.message.partition(ON_CAMERA)
    if not asked:
        return problem
    if not given.camera:
        return replace(problem, message=f"{told}; no photo lies in {', '.join(map(str, given.folders))}")
    names = sorted(one.name for photos in given.camera.values() for one in photos)
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return replace(problem, message=f"{told}; it is not among the photos given: {', '.join(names[:MOST_NAMED])}{more}")


def unnamed(given: Given, lines: Collection[Line], wanted: Mapping[Line, Path]) -> list[Path]:
    """The camera's photos that no line names, by the camera's name or, where they were filed before, by checksum. Of a
    whole folder only some may be named; one that was given by its own name belongs somewhere: FilingError."""
    named = {path.name.casefold() for path in wanted.values()}
    originals = {line.photo.original for line in lines if line.photo.original is not None}
    rest = sorted(one for name, photos in given.camera.items() if name not in named for one in photos)
    left = [one for one in rest if not originals or original_of(one.read_bytes()) not in originals]
    stray = sorted(one.name for one in left if one.resolve() in given.named_alone)
    if stray:
        raise FilingError(f"no sheet given here names {', '.join(stray)}; write - {{file: {stray[0]}, view: …}} under "
                          "photos of the position that it shows")  # fmt: skip
    return left


def _in_their_place(shop: Path, tree: Folder, lines: Iterable[Line], camera: set[Path]) -> list[str]:
    """Photos of these lines that are filed already; where a filing was killed they are in no commit yet."""
    here = {line.path for line in lines}.intersection(tree.paths())
    return sorted(path for path in here if shop / path not in camera)


class Photos(Struct, frozen=True):
    """Photos taken in by their new paths, each one's name on the camera with that path, and the sheets that name them
    with their lines changed."""

    files: Mapping[str, bytes]
    names: tuple[tuple[str, str], ...]
    sheets: Mapping[str, bytes]


def left_by_a_kill(shop: Path, tree: Folder, lines: Iterable[Line]) -> set[str]:
    """Photos in no commit that no line names: an earlier filing may have put them there and gone no further."""
    repository = repository_of(shop)
    committed = repository.in_commit() if repository is not None else frozenset[str]()
    photos = {path for path in tree.paths() if path.endswith(".jpg")}
    return photos - committed - {line.path for line in lines}


def taken_in(tree: Tree, read: Mapping[str, bytes], wanted: Mapping[Line, Path], left: set[str]) -> Photos:
    """The photos that are wanted, as they are kept. One that was `left` by an earlier filing has its name already."""
    files: dict[str, bytes] = {}
    names: list[tuple[str, str]] = []
    edits: dict[str, list[MapEdit]] = {}
    taken = {path.casefold() for path in tree.paths()}
    for line, path in wanted.items():
        try:
            kept = from_camera(path)
        except NotAPhoto as reason:
            raise FilingError(f"{path}: {reason}") from reason
        new = next(
            name
            for name in _names(line)
            if name.casefold() not in taken or (name in left and tree.read(name) == kept.jpeg)
        )
        left.discard(new)
        taken.add(new.casefold())
        files[new] = kept.jpeg
        names.append((path.name, new))
        edits.setdefault(line.sheet.path, []).append(MapEdit(line.steps, _values(line, kept, new)))
    return Photos(files, tuple(names), {path: _edited(path, read[path], edits[path]) for path in edits})


def _names(line: Line) -> Iterator[str]:
    """Paths for a photo: named by position and view, then with a number behind that."""
    stem = f"{line.sheet.photo_folder}/{place_and_view(line.position, line.photo.view)}"
    yield f"{stem}.jpg"
    yield from (f"{stem}-{number}.jpg" for number in count(2))


def _values(line: Line, kept: FromCamera, path: str) -> dict[str, str]:
    """What is written into the line: a moment that a person wrote stays."""
    taken = {"taken": kept.taken} if kept.taken is not None and line.photo.taken is None else {}
    return {"file": path.rpartition("/")[2], **taken, "original": kept.original}


def _edited(path: str, content: bytes, edits: Sequence[MapEdit]) -> bytes:
    text = content.decode("utf-8-sig")
    mark = b"\xef\xbb\xbf" if content.startswith(b"\xef\xbb\xbf") else b""
    try:
        return mark + edited(text, edits).encode()
    except yaml.MarkedYAMLError as bad:
        at = bad.problem_mark
        place = Source(path, at.line + 1, at.column + 1) if at else Source(path, 1, 1)
        told = "a tab stands here; write a blank" if at and text[at.index : at.index + 1] == "\t" else bad.problem
        raise FilingError(f"{error(place, str(told))}\n{NOTHING_DONE}") from bad


def _first_of(given: Sequence[str], read: Iterable[str], fresh: Collection[str]) -> list[str]:
    """What a commit is named by: what is new of what was given, or else of what comes along; a photo may be all."""
    return [path for path in given if path in fresh] or [path for path in read if path in fresh] or [*given]


def _message(records: Sequence[str]) -> str:
    """What the commit says: the records that are new in it, as a list below where they are more than a line takes.

    >>> _message(["engines/E-01/log.yml"])
    'E-01 log'
    """
    names = [path.removeprefix("engines/").removesuffix(".yml").replace("/", " ") for path in records]
    subject = ", ".join(names)
    return subject if len(subject) <= SUBJECT else "\n".join([f"{len(names)} records", "", *names])
