"""One engine told for one reader: checked records in, a story out that holds what the edition gives."""

from datetime import date
from functools import partial
from typing import Final

from msgspec import Struct

from ..history.hands import Hands, OneMore, one_hand
from ..history.kept_fits import NOTHING_KEPT, Store
from ..history.pools import Pools
from ..history.rest import NO_REST, Rest
from ..history.sight import Sight
from ..history.story import ShopStory
from ..history.tell import tell_one
from ..records.checks.checked import Checked
from ..records.parsed import Kept
from ..review.asked import looked_at, places_of, trail_within
from ..review.attach import with_review, with_trail
from .cut_records import cut_records, photos_given
from .cut_story import cut_story
from .cut_trail import cut_amendments, cut_trail
from .forbidden import Forbidden, forbidden_for
from .sealed import NOTHING_SEALED, Sealed
from .table import READ_AS, Edition

WITH_TRAIL: Final = ("owner", "buyer")  # the plate and the bench show no history


class ToldEdition(Struct, frozen=True):
    """An edition whole: the cut story, the cut records that it was told from, what is blanked, the pools behind it."""

    story: ShopStory
    records: Checked
    forbidden: Forbidden
    pools: Pools


def tell_edition(
    checked: Checked,
    engine: str,
    edition: Edition,
    day: date | None = None,
    sealed: Sealed = NOTHING_SEALED,
    kept: Kept | None = None,
) -> ShopStory:
    """One engine's story as an edition gives it; see `tell_whole`."""
    return tell_whole(checked, engine, edition, day, sealed, kept=kept).story


def tell_whole(
    checked: Checked,
    engine: str,
    edition: Edition,
    day: date | None = None,
    sealed: Sealed = NOTHING_SEALED,
    kept: Kept | None = None,
    elsewhere: Rest = NO_REST,
    store: Store = NOTHING_KEPT,
    hands: Hands = one_hand,
) -> ToldEdition:
    """One engine's story as an edition gives it, with what it was told from.

    `sealed`: what its records ever kept for the crew, of every version. `kept`: keeps parsed versions from run to run.
    `elsewhere`, `store`, `hands`: see `tell_one`.
    KeyError for an engine that is not there, and for the crew's edition, which is not cut.
    """
    reader = READ_AS[edition]
    forbidden = forbidden_for(checked, engine, sealed)
    records = cut_records(checked, engine, reader, forbidden)
    trailing = OneMore(hands, partial(trail_within, checked, engine, kept)) if edition in WITH_TRAIL else None
    told, pools = tell_one(records, engine, day, Sight(engine), elsewhere, store, trailing or hands)
    if trailing is not None:
        written = checked.shop.engines[engine].review
        trail = cut_amendments(trailing.answer, reader, photos_given(records, engine))
        looked = looked_at(records, told, trail, written, places_of(records))
        told = with_trail(told, looked)
        told = cut_trail(with_review(told, looked) if reader == "buyer" else told, reader)
    file = checked.shop.file
    story = cut_story(told, (file.it.name if file else None) or "Engine records", forbidden)
    return ToldEdition(story, records, forbidden, pools)
