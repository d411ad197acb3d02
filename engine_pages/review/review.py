"""Review one engine before a sale: its story, trail and written answers in, facts and points out."""

from datetime import date

from msgspec import Struct

from ..history.story import EngineStory
from ..history.told_review import Point, ReviewStory
from ..history.trail_asked import EngineTrail
from ..records.engine import Review
from ..records.family import Family
from ..records.model import Record
from .answers import judged, unmatched
from .facts import facts_of
from .part_points import part_points
from .pattern_points import Content, pattern_points
from .point_kinds import POINT_KINDS
from .sheet_points import sheet_points
from .trail_points import Place, trail_points


class Looked(Struct, frozen=True):
    """What a review looks at beside the story: the trail (None without git), where a field is written, what tells one
    photo's bytes from another's, review.yml, and today, after which no answer can be dated."""

    family: Family
    trail: EngineTrail | None
    place: Place
    content: Content
    written: Record[Review] | None
    today: date


def review_of(story: EngineStory, looked: Looked) -> ReviewStory:
    """The engine reviewed; points in the order in which a buyer would weigh them, then by where they are."""
    order = list(POINT_KINDS)
    points = sorted(_points(story, looked), key=lambda point: (order.index(point.kind), point.where, point.what))
    settled = judged(points, looked.written, looked.today)
    return ReviewStory(
        engine=story.id,
        as_of=story.as_of,
        facts=facts_of(story),
        points=settled,
        unmatched=tuple(unmatched(settled, looked.written, looked.today)),
    )


def _points(story: EngineStory, looked: Looked) -> list[Point]:
    return [
        *part_points(story, looked.family),
        *sheet_points(story),
        *trail_points(looked.trail, looked.place),
        *pattern_points(story, looked.content),
    ]
