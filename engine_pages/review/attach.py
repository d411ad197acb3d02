"""What the record itself is worth, told with the story: its trail, and its review before a sale."""

from msgspec.structs import replace

from ..history.story import EngineStory, ShopStory
from ..records.checks.checked import Checked
from ..records.parsed import Kept
from .asked import looked_at, places_of, trails_of
from .review import Looked, review_of
from .trail_story import trail_story


def with_trails(story: ShopStory, checked: Checked, kept: Kept | None = None) -> ShopStory:
    """The crew's story of a shop with every engine's trail and review. GitFailed."""
    trails = trails_of(checked, [engine.id for engine in story.engines], kept)
    place = places_of(checked)

    def looked(engine: EngineStory) -> Looked:
        return looked_at(checked, engine, trails.get(engine.id), checked.shop.engines[engine.id].review, place)

    return replace(story, engines=tuple(with_review(with_trail(one, (at := looked(one))), at) for one in story.engines))


def with_trail(story: EngineStory, looked: Looked) -> EngineStory:
    """One engine's story with its trail."""
    return replace(story, trail=trail_story(story, looked.trail, looked.place))


def with_review(story: EngineStory, looked: Looked) -> EngineStory:
    """One engine's story with its review before a sale."""
    return replace(story, review=review_of(story, looked))
