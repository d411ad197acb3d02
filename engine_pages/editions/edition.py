"""One engine told for one reader: checked records in, a story out that holds what the edition gives."""

from datetime import date

from ..history.sight import Sight
from ..history.story import ShopStory
from ..history.tell import tell_one
from ..records.checks.checked import Checked
from .cut_records import cut_records
from .cut_story import cut_story
from .forbidden import forbidden_for
from .once_crew_only import NOTHING_SEALED, Sealed
from .table import READ_AS, Edition


def tell_edition(
    checked: Checked, engine: str, edition: Edition, day: date | None = None, sealed: Sealed = NOTHING_SEALED
) -> ShopStory:
    """One engine's story as an edition gives it.

    `sealed`: what its records ever kept for the crew, of every version. KeyError for an engine that is not there, and
    for the crew's edition, which is not cut.
    """
    reader = READ_AS[edition]
    forbidden = forbidden_for(checked, engine, sealed)
    told, _ = tell_one(cut_records(checked, engine, reader, forbidden), engine, day, Sight(engine))
    file = checked.shop.file
    return cut_story(told, (file.it.name if file else None) or "Engine records", forbidden)
