"""What one version of a record file keeps for the crew, and whom it names.

In: a file's path and its bytes, as any commit holds them. Out: plain pieces, each a word for what it is and its texts,
so that they can be kept with the history: `(TEXT, …)` was withheld (of a link with its engine behind it),
`(PHOTO, sheet, file)` was crew only, by the sheet's path and by its number; `(OWN, engine, …)` is a name that an engine
bears, `(NAME, …)` a person's or an owner's, `(SIGNED, …)` signed something, and `(INITIALS, …)` are the shop's.
"""

import re
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import pairwise
from typing import Any, Final

from ..records.load import record_kind
from ..records.shop import Share
from ..records.yaml_text import read_document
from .given_fields import MODELS, SIGNED, never_given, withheld
from .sealed import sentences

TEXT, PHOTO, OWN, NAME, INITIALS = "text", "photo", "own", "name", "initials"
Piece = tuple[str, ...]
LINKS: Final = "shares"  # the kind of record
ROOMS: Final = ("engines/", "parts/")
_FLOW: Final = re.compile(r"\"[^\"]*\"|'[^']*'|[^,}\n]*")
YES: Final = ("yes", "true")
_ITEM: Final = re.compile(r"^[ \t]*-[ \t]|\{", re.MULTILINE)  # where a photo's line can begin
_FILE: Final = re.compile(r"\bfile:[ \t]*([^\s,}]+)")
_CREW_ONLY: Final = re.compile(rf"\bcrew_only:[ \t]*(?:{'|'.join(YES)})\b", re.IGNORECASE)


def is_record(path: str) -> bool:
    """Whether a file's versions are looked into: an engine's records, those of parts, the shop's own, its links."""
    return path.endswith(".yml") and (path.startswith(ROOMS) or path in ("shop.yml", "shares.yml"))


def kept_back(path: str, content: bytes) -> Iterator[Piece]:
    """What one version of a file keeps for the crew, and whom it names."""
    document, problems = read_document(path, content)
    kind = record_kind(path)
    if kind == LINKS:
        yield from _of_links(document.data)
    else:
        yield from _texts(withheld(MODELS.get(kind) if kind is not None else None, document.data))
    for file in crew_only_photos(document.data):
        yield from ((PHOTO, name, file) for name in (path, *_number_of(document.data)))
    yield from _names(path, kind, document.data)
    if any(problem.level == "error" for problem in problems):
        yield from _by_line(path, content.decode("utf-8", "replace"))


def crew_only_photos(content: Any) -> Iterator[str]:
    """The files of photos that one version of a sheet keeps for the crew."""
    for item in _maps(content):
        if str(item.get("crew_only")).lower() in YES:
            yield str(item.get("file"))


def _texts(written: Iterable[str], *behind: str) -> Iterator[Piece]:
    yield from ((TEXT, one, *behind) for text in written for one in sentences(text))


def _of_links(data: Any) -> Iterator[Piece]:
    """What is noted of links, each of its own engine: a new link is no news for the others."""
    for link in _maps(data):
        if isinstance(link.get("engine"), str):
            yield from _texts(withheld(Share, link), link["engine"])


def _number_of(sheet: Any) -> list[str]:
    """A sheet's own number, by which it is the same sheet when its date is corrected and its folder moves."""
    return [str(sheet["sheet"])] if isinstance(sheet, dict) and sheet.get("sheet") else []


def _maps(node: Any) -> Iterator[dict[str, Any]]:
    """Every map of a document, at any depth."""
    if isinstance(node, dict):
        yield node
    for inner in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from _maps(inner)


def _names(path: str, kind: str | None, data: Any) -> Iterator[Piece]:
    """Engines, owners and people, and who signed."""
    for item in _maps(data):
        if isinstance(item.get(SIGNED), str):
            yield SIGNED, item[SIGNED]
    if not isinstance(data, dict):
        return
    if kind == "engine":
        engine = path.split("/")[1]
        words = (engine, *(data.get(key) for key in ("engine", "name", "stamped")))
        yield from ((OWN, engine, word) for word in words if isinstance(word, str) and word)
        for owner in _maps(data.get("owners")):
            yield from ((NAME, owner[key]) for key in ("name", "contact") if isinstance(owner.get(key), str))
    people = data.get("people")
    if kind == "shop" and isinstance(people, dict):
        yield from ((INITIALS, initials) for initials in people)
        yield from ((NAME, name) for initials, name in people.items() if isinstance(name, str) and name != initials)


def _by_line(path: str, text: str) -> Iterator[Piece]:
    """Of a version that is not YAML, or not all of it: what stands behind a key that is never given, line by line."""
    for found in _never_given_key().finditer(text):
        yield from _texts(_behind(text, found))
    starts = [0, *(one.start() for one in _ITEM.finditer(text)), len(text)]
    for start, end in pairwise(starts):
        file = _FILE.search(text, start, end)
        if file is not None and _CREW_ONLY.search(text, start, end):
            yield PHOTO, path, file[1].strip("\"'")


@cache
def _never_given_key() -> re.Pattern[str]:
    return re.compile(rf"(?<![\w-])(?:{'|'.join(sorted(never_given()))}):[ \t]*(?:[|>][+-]?[ \t]*(?=\n))?")


def _behind(text: str, key: re.Match[str]) -> Iterator[str]:
    """What may be the key's text: as far as a flow line's next comma or bracket, and with all lines that are indented
    more than the key."""
    begins = text.rfind("\n", 0, key.start()) + 1
    indent = re.match(r"[ \t]*(?:-[ \t]+)*", text[begins : key.start()])
    deeper = re.compile(rf".*(?:\n(?:[ \t]{{{(indent.end() if indent else 0) + 1},}}.*|[ \t]*(?=\n)))*")
    for pattern in (_FLOW, deeper):
        found = pattern.match(text, key.end())
        if found is not None:
            yield found[0].strip().strip("\"'")
