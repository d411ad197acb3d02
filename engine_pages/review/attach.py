"""What the record itself is worth, told with the story: its trail, and its review before a sale."""

from dataclasses import replace

from ..history.story import EngineStory, ShopStory
from ..history.trail_asked import EngineTrail
from ..records.checks.checked import Checked
from ..records.engine import Review
from ..records.model import Record
from ..records.parsed import Kept
from .asked import looked_at, places_of, trails_of
from .review import review_of
from .trail_story import trail_story


def with_trails(story: ShopStory, checked: Checked, kept: Kept | None = None) -> ShopStory:
    """The crew's story of a shop with every engine's trail and review. GitFailed."""
    trails = trails_of(checked, [engine.id for engine in story.engines], kept)
    written = checked.shop.engines
    engines = (with_trail(one, checked, trails.get(one.id), written[one.id].review) for one in story.engines)
    return replace(story, engines=tuple(engines))


def with_trail(
    story: EngineStory, checked: Checked, trail: EngineTrail | None, written: Record[Review] | None
) -> EngineStory:
    """One engine's story with its trail and review.

    checked: the records that it was told from; trail: None where git cannot be asked; written: its review.yml.
    """
    told = trail_story(story, trail, places_of(checked))
    return replace(story, trail=told, review=review_of(story, looked_at(checked, story, trail, written)))
