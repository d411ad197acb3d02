"""The season on an engine's page: what to do first, the figures, what they leave out; clearances of an older day."""

from datetime import date
from pathlib import Path

from msgspec.structs import replace

from engine_pages.history.story import EngineStory, LaterFigure, PlannedEvent, SeasonEvent, SeasonStory
from engine_pages.history.told_season import LeftOut, NextReading, Stands
from engine_pages.pages.cache import Cache
from engine_pages.pages.site import build_pages
from engine_pages.wear.exposure import Exposure

from .parts_for_tests import REPLACE, source
from .story_for_tests import engine, shop
from .test_site import Reader, no_photos, page_of


def event(n: int, chance: float | None) -> SeasonEvent:
    planned = PlannedEvent(date(2027, n, 12), f"Round {n} the long hill", Exposure(hours=2.0), source("plan.yml", n))
    low, high = (None, None) if chance is None else (max(2 * chance - 1.0, 0.0), min(chance + 0.02, 1.0))
    return SeasonEvent(planned, 2.0 * n, chance, low, high, (), ())


SEASON = SeasonStory(
    events=(event(1, 0.97), event(2, 0.64)),
    keep=0.90,
    unit="hours",
    lasts=1,
    stands=(Stands("RB-1042", "Rotor bearing 2", "Inside diameter", "inside_diameter", (0.97, 0.64)),),
    left_out=(
        LeftOut("never measured", "OP-15", "Oil pump", "Tip clearance", "tip_clearance"),
        LeftOut("no rate yet", "SS-1", "Side seals 1", "Gap", "gap"),
    ),
    measure_next=(NextReading("RB-1042", "Rotor bearing 2", "Inside diameter", 0.64, 0.11, False),),
    renewed=(),
    advice="Open it after Round 1 the long hill: after Round 2 the long hill the chance is 64 %, and 90 % is wanted.",
)


def shown(told: EngineStory, tmp_path: Path) -> str:
    story = replace(shop(), engines=(told,), parts=told.parts)
    site = build_pages(story, None, "crew", no_photos, Cache(tmp_path / "cache"))
    text = Reader(page_of(site, "engines/K-07/index.md").html).text
    return str(text).replace("\xa0", " ").replace("\u2060", "")


def test_the_advice_stands_on_the_first_screen_and_the_chances_under_their_heading(tmp_path: Path) -> None:
    text = shown(replace(engine(), season=SEASON), tmp_path)
    first, again = text.index("Open it after Round 1"), text.rindex("Open it after Round 1")
    assert first < text.index("What stops it first") < text.index("Does it last the season") < again
    for words in ("97 %", "64 %", "below what is wanted", "94 % to 99 %", "2 events, 4.0 h"):
        assert words in text, words


def test_what_the_figure_leaves_out_is_named_and_what_to_measure_leads_to_its_part(tmp_path: Path) -> None:
    text = shown(replace(engine(), season=SEASON), tmp_path)
    assert (
        "Not in the figure: never measured: oil pump (tip clearance); no rate of wear yet: side seals 1 (gap)." in text
    )
    assert "What to measure next" in text
    assert "inside diameter: chance to last the plan 64 %" in text


def test_members_of_a_set_are_one_line_and_what_is_not_known_is_said(tmp_path: Path) -> None:
    seals = tuple(f"Apex seals 1, a{n}" for n in (1, 2, 3))
    stops = tuple(replace(REPLACE, slot_name=name) for name in seals)
    first = replace(event(1, 0.0), stops=stops, unsure=(replace(REPLACE, slot_name="Oil pump"),))
    text = shown(replace(engine(), season=replace(SEASON, events=(first,), sets=(("Apex seals 1", seals),))), tmp_path)
    assert "to be replaced: Apex seals 1, all 3" in text
    assert "not known whether to be replaced: Oil pump" in text


def test_where_nothing_can_be_said_no_chart_is_drawn(tmp_path: Path) -> None:
    nothing = replace(
        SEASON, events=(event(1, None),), lasts=None, stands=(), measure_next=(), advice="Cannot tell whether it lasts."
    )
    text = shown(replace(engine(), season=nothing), tmp_path)
    assert "Cannot tell whether it lasts." in text
    assert "cannot tell" in text
    assert "chance of staying inside every limit" not in text


def test_a_clearance_of_which_one_side_was_read_again_says_of_which_day_it_is(tmp_path: Path) -> None:
    told = engine()
    read = ("RB-1042", date(2026, 11, 3)), ("ES-19", date(2026, 10, 12))
    later = replace(told.fits[0], later=LaterFigure(0.085, 3, "at the least", "within", read))
    text = shown(replace(told, fits=(later,)), tmp_path)
    said = "Rotor bearing clearance 2, at the least 0.085 mm: RB-1042 as of 3 Nov 2026 and ES-19 as of 12 Oct 2026."
    assert said in text
    assert "at the least" not in shown(told, tmp_path)
