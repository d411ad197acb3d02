"""No shop, however odd, stops the telling: figures, seasons, changes and texts come out of every one of them."""

import pytest

from engine_pages.history.change_words import change_text
from engine_pages.history.figures import figures_json
from engine_pages.history.season_asked import Asked, SeasonError, ask_season
from engine_pages.history.season_words import season_text
from engine_pages.history.tell import tell_shop
from engine_pages.records.checks.all import read_checked

from .odd_shops import odd_shop
from .shop_for_tests import TODAY, texts


@pytest.mark.parametrize("seed", [*range(8), 19, 25])
def test_an_odd_shop_is_told_whole(seed: int) -> None:
    checked = read_checked(texts(odd_shop(seed)), TODAY)
    story = tell_shop(checked)
    assert story.engines
    for engine in story.engines:
        assert figures_json(engine).endswith("}\n")
        try:
            asked = ask_season(checked, engine.id, Asked(3, 2.0, frozenset(part.id for part in engine.parts[:1])))
        except SeasonError:
            continue
        assert season_text(engine.id, asked).startswith(f"{engine.id}: 3 events")
    for change in story.changes:
        assert change.fluid in change_text(change)
