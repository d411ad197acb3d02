"""The review of one engine of a checked shop, from what is gathered here: its records, its trail, its photos."""

import hashlib
from collections.abc import Iterable, Sequence
from contextlib import suppress
from datetime import date
from functools import partial

from ..history.story import EngineStory
from ..history.tell import tell_one
from ..history.told_review import ReviewStory
from ..history.trail_asked import EngineTrail, TrailError, ask_trail
from ..records.amendments import Field
from ..records.checks.checked import Checked
from ..records.commits import ANYWHERE
from ..records.engine import Review
from ..records.ids import file_id
from ..records.model import Record
from ..records.parsed import Kept
from ..records.source import Source
from ..records.trail import read_trail
from ..records.tree import Commit, NoFile, Tree
from ..records.yaml_text import Document
from .review import Looked, review_of
from .trail_points import Place


def ask_review(checked: Checked, engine: str, day: date | None = None, kept: Kept | None = None) -> ReviewStory:
    """The crew's review of an engine. `kept` keeps parsed versions from run to run.

    Raises KeyError for an engine that is not there, and records.git.GitFailed.
    """
    story, _ = tell_one(checked, engine, day)
    trail = trails_of(checked, [engine], kept).get(engine)
    return review_of(story, looked_at(checked, story, trail, checked.shop.engines[engine].review, places_of(checked)))


def trail_within(checked: Checked, engine: str, kept: Kept | None = None) -> EngineTrail | None:
    """The engine's trail as far as its own folder goes, its family's and its parts': what an edition may tell of.

    Of a shop of a thousand engines nobody waits for the trail of the others.
    """
    records = checked.shop.engines[engine]
    family = f"families/{records.file.it.family}.yml" if records.file is not None else "families"
    own = {f"parts/{file_id(stay.part.id)}.yml" for stay in checked.fitting.stays if stay.engine == engine}
    return _trails(checked, [engine], kept, (f"engines/{engine}", family, *sorted(own))).get(engine)


def trails_of(checked: Checked, engines: Iterable[str], kept: Kept | None = None) -> dict[str, EngineTrail]:
    """The trail of each engine up to what was read; of none without git, nor of one that no commit knows yet."""
    return _trails(checked, engines, kept, ANYWHERE)


def _trails(
    checked: Checked, engines: Iterable[str], kept: Kept | None, within: Sequence[str]
) -> dict[str, EngineTrail]:
    if checked.repo is None:
        return {}
    tree = checked.shop.tree
    whole = read_trail(checked.repo, tree.commit if isinstance(tree, Commit) else None, kept=kept, within=within)
    found = {}
    for engine in engines:
        with suppress(TrailError):
            found[engine] = ask_trail(checked.repo, whole, engine)
    return found


def looked_at(
    checked: Checked, story: EngineStory, trail: EngineTrail | None, written: Record[Review] | None, place: Place
) -> Looked:
    """What the review of a story looks at. `checked`: the records that it was told from; `place`: see `places_of`."""
    family = checked.shop.family_of(story.id)
    if family is None:
        raise KeyError(story.id)
    return Looked(family, trail, place, partial(_content, checked.shop.tree), written, checked.today)


def places_of(checked: Checked) -> Place:
    """Where a field of a record is written now; of a record that is gone, its path."""
    shop = checked.shop
    documents: dict[str, Document] = {family.path: family.document for family in shop.families.values()}
    documents |= {part.path: part.document for part in shop.parts.values()}
    for records in shop.engines.values():
        documents |= {sheet.path: sheet.record.document for sheet in records.sheets}
        documents |= {entry.document.path: entry.document for entry in records.log}
        if records.file is not None:
            documents[records.file.path] = records.file.document

    def place(path: str, field: Field) -> Source:
        return documents[path].place(*field) if path in documents else Source(path, 1, 1)

    return place


def _content(tree: Tree, path: str) -> str | None:
    """A word that tells a photo's bytes from others: git's own at a commit. None where it cannot be read."""
    try:
        return tree.blob(path) if isinstance(tree, Commit) else hashlib.sha256(tree.read(path)).hexdigest()
    except NoFile:  # it went while this was read: the check of photos says so
        return None
