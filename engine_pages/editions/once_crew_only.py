"""What was for the crew alone in any version of a record stays so: an earlier commit's marks count as today's.

In: every version that git holds of an engine's records. Out: `Sealed`, which knows a text and a photo again.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from ..records.git import Repo
from ..records.versions import versions_of
from ..records.yaml_text import read_document

CREW_TEXTS: Final = ("crew_note", "cost", "invoice", "from", "contact")  # keys whose words are never shown
FEWEST_SIGNS: Final = 8  # of a sentence that is known again by itself; shorter ones stand in too many texts
_SENTENCE: Final = re.compile(r"(?<=[.!?;])\s+|\n+")


@dataclass(frozen=True, slots=True)
class Sealed:
    """Texts that once stood under a crew-only key, spelt alike, and photos that once were crew only.

    A photo is known by its sheet, by path and by number, and its file's name.
    """

    texts: frozenset[str] = frozenset()
    photos: frozenset[tuple[str, str]] = field(default_factory=frozenset)

    def holds(self, text: str) -> bool:
        """Whether a text is, or has in it, one that was for the crew alone, or a whole sentence of one.

        >>> Sealed(frozenset(sentences("Owner over-revved it."))).holds("Found: owner over-revved it. Rebuilt.")
        True
        """
        if not self.texts:
            return False
        spelt = alike(text)
        return spelt in self.texts or any(f" {one} " in f" {spelt} " for one in self.texts if len(one) >= FEWEST_SIGNS)

    def holds_photo(self, sheet: str, number: str | None, file: str) -> bool:
        return (sheet, file) in self.photos or (number, file) in self.photos


NOTHING_SEALED: Final = Sealed()


def alike(text: str) -> str:
    """Letters and digits in one spelling, so that a comma or a capital hides nothing."""
    return " ".join(re.findall(r"\w+", text.casefold()))


def sentences(text: str) -> Iterator[str]:
    """A text and its sentences, spelt alike; a short one counts where it is the whole of a text alone."""
    yield from (one for one in map(alike, (text, *_SENTENCE.split(text))) if one)


def crew_only_in(path: str, content: bytes) -> Iterator[tuple[str, str]]:
    """What one version of a file keeps for the crew: ("", text spelt alike), and of photos (sheet, file)."""
    document, _ = read_document(path, content)
    names = [path, *_number_of(document.data)]
    for key, value in _maps(document.data):
        if key in CREW_TEXTS and isinstance(value, str):
            yield from (("", one) for one in sentences(value))
    yield from ((name, file) for file in crew_only_photos(document.data) for name in names)


def crew_only_photos(content: Any) -> Iterator[str]:
    """The files of photos that one version of a sheet keeps for the crew."""
    for _, value in _maps(content):
        if isinstance(value, dict) and str(value.get("crew_only")).lower() in ("yes", "true"):
            yield str(value.get("file"))


def sealed_by(kept: Iterable[tuple[str, str]]) -> Sealed:
    """What `crew_only_in` found in any version of any file."""
    pairs = list(kept)
    return Sealed(frozenset(one for sheet, one in pairs if not sheet), frozenset(one for one in pairs if one[0]))


def sealed_in(versions: Mapping[str, Iterable[bytes]]) -> Sealed:
    """What every version of these files, by path, ever kept for the crew."""
    return sealed_by(
        one for path, found in versions.items() for content in found for one in crew_only_in(path, content)
    )


def is_record(path: str) -> bool:
    """Whether a file's versions are looked into: an engine's records, and those of parts."""
    return path.endswith(".yml") and path.startswith(("engines/", "parts/"))


def _number_of(sheet: Any) -> list[str]:
    """A sheet's own number, by which it is the same sheet when its date is corrected and its folder moves."""
    return [str(sheet["sheet"])] if isinstance(sheet, dict) and sheet.get("sheet") else []


def _maps(node: Any) -> Iterator[tuple[str, Any]]:
    """Every key with its value, and every item of a list, at any depth."""
    inside = node.items() if isinstance(node, dict) else (("", item) for item in node) if isinstance(node, list) else ()
    for key, value in inside:
        yield str(key), value
        yield from _maps(value)


def sealed_of(repo: Repo | None, engine: str, revision: str = "HEAD") -> Sealed:
    """What an engine's records, and those of parts, ever kept for the crew up to a revision; nothing without git."""
    if repo is None:
        return NOTHING_SEALED
    folder = f"engines/{engine}/"
    wanted = versions_of(repo, lambda path: path.endswith(".yml") and path.startswith((folder, "parts/")), revision)
    return sealed_in(wanted)
