"""What an owner reads first: the worst engine and why, a set as one line, figures and times that mean one thing."""

import re
from datetime import date
from pathlib import Path

from msgspec.structs import replace

from engine_pages.history.story import (
    DueStory,
    EngineStory,
    Gap,
    LaterFigure,
    MapCell,
    PlannedEvent,
    SeasonEvent,
    SeasonStory,
    State,
    Stopper,
)
from engine_pages.pages.cache import Cache
from engine_pages.pages.engine_answer import engine_answer, engine_claim
from engine_pages.pages.measured_table import change_words
from engine_pages.pages.sets import stoppers_joined
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.source import Source
from engine_pages.wear.exposure import Exposure

from .parts_for_tests import bore, source
from .story_for_tests import engine, shop
from .test_site import Reader, no_photos, page_of


def built(*told: EngineStory, tmp_path: Path) -> Site:
    whole = replace(shop(), engines=told, parts=told[0].parts)
    return build_pages(whole, None, "crew", no_photos, Cache(tmp_path / "cache"))


def read(site: Site, path: str) -> str:
    return plain(Reader(page_of(site, path).html).text)


def plain(text: object) -> str:
    return str(text).replace("\xa0", " ").replace("\u2060", "")


# ── the front page leads with the worst, and says whether each engine lasts its plan ─────────────────────────────────


def of_plan(id: str, state: State, *chances: float | None) -> EngineStory:
    events = tuple(
        SeasonEvent(
            PlannedEvent(date(2027, 4, n), f"Round {n}", Exposure(hours=2.0), None), 2.0 * n, one, one, one, (), ()
        )
        for n, one in enumerate(chances, 1)
    )
    lasts = None if None in chances else sum(one is not None and one >= 0.9 for one in chances)
    season = SeasonStory(events, 0.9, "hours", lasts, (), (), (), (), (), (), "")
    return replace(engine(), id=id, state=state, season=season if chances else None)


def front(*engines: EngineStory, tmp_path: Path) -> str:
    return read(built(*engines, tmp_path=tmp_path), "index.md")


def test_the_front_page_leads_with_the_engine_that_is_least_likely_to_last(tmp_path: Path) -> None:
    page = front(of_plan("E-1", "due", 0.97, 0.95), of_plan("E-2", "within", 0.17, 0.001), tmp_path=tmp_path)
    assert page.index("E-2: rotor bearing 2 stops it first, in about 11–29 h") < page.index("E-1: rotor bearing 2")
    assert "chance of lasting the next event 17 %, its plan under 1 %, wanted 90 %" in page
    assert "2 of 2" in page  # a plan that it does not last calls for somebody, though every limit is kept today


def test_what_may_not_run_now_stands_before_what_does_not_last(tmp_path: Path) -> None:
    first, second = of_plan("E-1", "near limit", 0.17), of_plan("E-2", "beyond limit", 0.95)
    page = front(first, second, tmp_path=tmp_path)
    assert page.index("E-2:") < page.index("E-1:")


def test_the_front_page_says_where_a_chance_cannot_be_told(tmp_path: Path) -> None:
    page = front(of_plan("E-1", "due", None, None), of_plan("E-2", "due"), tmp_path=tmp_path)
    assert page.count("Chance of lasting its plan: cannot tell") == 2
    unplanned = replace(of_plan("E-3", "due"), plan=())
    assert "cannot tell, no plan is written" in front(unplanned, tmp_path=tmp_path)


def test_an_engine_that_was_looked_at_and_never_measured_is_not_called_within(tmp_path: Path) -> None:
    graded = replace(of_plan("E-2", "within"), shortlist=(), due=(), parts=(), fits=(), tests_now=())
    page = front(graded, tmp_path=tmp_path)
    assert "No interval is written. Cannot tell whether anything is near its limit" in page
    assert "Within" not in page


def test_the_front_page_does_not_reassure_where_nothing_was_judged(tmp_path: Path) -> None:
    calm, bare = of_plan("E-1", "within"), replace(of_plan("E-2", "not measured"), shortlist=(), due=(), parts=())
    page = front(calm, bare, tmp_path=tmp_path)
    assert "Nothing is due, and nothing is near its limit." in page
    assert "Of E-2 cannot tell: nothing measured against a limit." in page
    alone = front(bare, tmp_path=tmp_path)
    unjudged = "Cannot tell whether anything is near its limit: nothing measured against a limit."
    assert f"No interval is written. {unjudged}" in alone
    assert "nothing is near" not in alone


def test_nothing_is_due_only_where_an_interval_is_written(tmp_path: Path) -> None:
    calm, silent = of_plan("E-1", "within"), replace(of_plan("E-2", "within"), due=())
    alone = built(silent, tmp_path=tmp_path)
    assert "No interval is written, and nothing is near its limit." in read(alone, "index.md")
    service = read(alone, "engines/E-2/service.md")
    assert "No interval is written." in service
    assert "Nothing is overdue" not in service
    page = front(calm, silent, tmp_path=tmp_path)
    assert "Nothing is due, and nothing is near its limit." in page
    assert "For E-2 no interval is written." in page


def test_an_engine_that_lies_apart_with_a_part_to_be_replaced_needs_its_crew(tmp_path: Path) -> None:
    kept = of_plan("E-1", "within")
    parts = tuple(replace(one, decision="replace") if one.id == "RB-1042" else one for one in kept.parts)
    apart = replace(kept, parts=parts, assembled=False)
    said = "apart since 12 Oct 2026, rotor bearing 2 to be replaced"
    page = front(apart, tmp_path=tmp_path)
    assert f"E-1: {said}; chance of lasting its plan: cannot tell" in page
    assert "1 of 1" in page
    assert page.count(said) == 2  # in the answer, and in the engine's own line
    assert "0 of 1" in front(replace(apart, assembled=True), tmp_path=tmp_path)
    assert "0 of 1" in front(replace(apart, parts=kept.parts), tmp_path=tmp_path)


def test_of_an_engine_that_lies_apart_it_is_said_first_that_it_does() -> None:
    kept = replace(of_plan("E-1", "within"), assembled=False)
    assert kept.last_teardown is not None
    claim, rest = engine_answer(kept)
    assert claim == "Apart since 12\u00a0Oct\u00a02026."
    assert rest.startswith("As it lies, ")
    assert "Open it" not in rest
    asks = Gap("T-0412: no decision is written for Rotor 1", "no decision", Source(kept.last_teardown.path, 3, 1))
    other = replace(asks, what="of another sheet", source=Source("engines/E-1/teardowns/2020-01-01/teardown.yml", 1, 1))
    assert "no decision is written for Rotor 1." in engine_answer(replace(kept, gaps=(other, asks)))[1]
    assert "of another sheet" not in engine_answer(replace(kept, gaps=(other, asks)))[1]
    beyond, _ = engine_answer(replace(of_plan("E-1", "beyond limit"), assembled=False))
    assert beyond.startswith("Apart since 12\u00a0Oct\u00a02026; ")
    assert engine_answer(replace(kept, assembled=True))[0] == engine_claim(kept)


# ── a time at which a limit is met is no verdict ─────────────────────────────────────────────────────────────────────


def test_a_limit_that_may_be_met_any_time_is_met_at_the_latest_then_and_never_within(tmp_path: Path) -> None:
    told = engine()
    soon = replace(told.shortlist[0], left_low=0.0, left=2.0, left_high=6.0)
    page = read(built(replace(told, shortlist=(soon,)), tmp_path=tmp_path), "engines/K-07/index.md")
    assert "Rotor bearing 2 stops it first, any time from now, in 6.0 h at the latest." in page
    assert "limit any time from now, in 6.0 h at the latest" in page
    assert not re.search(r"within \d", page)


def test_what_comes_first_by_the_time_that_is_left_is_not_called_furthest_along(tmp_path: Path) -> None:
    told = engine()
    fresh = replace(told.shortlist[0], share=0.0, left_low=1.86, left=60.0, left_high=None)
    page = read(built(replace(told, shortlist=(fresh, told.shortlist[0])), tmp_path=tmp_path), "engines/K-07/index.md")
    assert "Rotor bearing 2 may stop it first: not before 1.8 h (0 % used)." in page
    assert "furthest along" not in page.split("What stops it first")[0]


# ── a change as it was read ──────────────────────────────────────────────────────────────────────────────────────────


def test_a_change_smaller_than_its_uncertainty_is_shown_as_it_was_read() -> None:
    reading = replace(bore().readings[-1], change=0.003, change_u=0.004, decimals=3)
    assert [plain(words) for words in change_words(reading)] == ["+0.003", "± 0.004"]


# ── a set is one line ────────────────────────────────────────────────────────────────────────────────────────────────


def to_be_replaced(place: str) -> DueStory:
    """What a kind's interval asks of a member of a set."""
    return DueStory(
        name=f"{place}, replace", what="replace", rule="every 36 h", part=f"AS-{place}", slot_name=place,
        since={"hours": 16.8}, left={"hours": 19.2}, due_on=None, share=0.47, state="within", last=None, because=None,
        source=source("log.yml", 20),
    )  # fmt: skip


def of_sets() -> EngineStory:
    """Two sets of three seals, which stop it before a bearing does; every due that is told as overdue is theirs."""
    told = engine()
    dues = [to_be_replaced(f"Apex seals {n}, a{m}") for n in (1, 2) for m in (1, 2, 3)]
    stoppers = [
        Stopper(due.part, due.slot_name or "", "replace", "within", 0.47, None, due, 19.2, 19.2, 19.2) for due in dues
    ]
    return replace(told, shortlist=(*stoppers, told.shortlist[0]), due=tuple(replace(d, state="overdue") for d in dues))


def test_a_set_that_stops_the_engine_is_one_line_so_that_other_things_are_seen(tmp_path: Path) -> None:
    page = read(built(of_sets(), tmp_path=tmp_path), "engines/K-07/index.md")
    stops = page.split("What stops it first")[1].split("What is in it")[0]
    assert [stops.count(f"Apex seals {n}, all 3") for n in (1, 2)] == [1, 1]
    assert "Rotor bearing 2" in stops
    assert "a1" not in stops


def test_members_of_a_set_that_wear_are_told_by_the_first_of_them() -> None:
    worn = engine().shortlist[0]
    members = [replace(worn, slot_name=f"Side seals 1, s{n}", left=float(n)) for n in (1, 2, 3)]
    (first, count), (other, alone) = stoppers_joined([*members, worn])
    assert (first.slot_name, count, other.slot_name, alone) == ("Side seals 1, s1", 3, "Rotor bearing 2", 1)


def test_what_is_overdue_names_a_set_once(tmp_path: Path) -> None:
    page = read(built(of_sets(), tmp_path=tmp_path), "engines/K-07/service.md")
    assert "Overdue: replace apex seals 1, all 3, replace apex seals 2, all 3." in page


def test_bars_of_hours_are_not_called_an_allowance(tmp_path: Path) -> None:
    told = engine()
    hours = replace(told, shortlist=told.shortlist[1:])
    for one, said in ((told, True), (hours, False)):
        page = read(built(one, tmp_path=tmp_path), "engines/K-07/index.md")
        stops = page.split("What stops it first")[1].split("What is in it")[0]
        assert ("allowance used at the last reading" in stops) is said
        assert "run of the interval by now" in stops


def test_parts_without_a_reading_and_readings_that_are_missing_are_two_counts_with_two_names(tmp_path: Path) -> None:
    site = built(engine(), tmp_path=tmp_path)
    overview, gaps = (read(site, f"engines/K-07/{name}.md") for name in ("index", "gaps"))
    assert "3 of 4 parts have no reading against a limit. 1 thing to be measured is missing." in overview
    assert "Not measured 1" in gaps


# ── a clearance of which one side was read alone ─────────────────────────────────────────────────────────────────────


def test_a_clearance_shows_its_newest_figure_before_the_one_of_both_sides(tmp_path: Path) -> None:
    told = engine()
    read_on = ("RB-1042", date(2026, 11, 3)), ("ES-19", date(2026, 10, 12))
    fit = replace(told.fits[0], later=LaterFigure(0.091, 3, "at the least", "undecided", read_on), state="undecided")
    stopper = Stopper(None, fit.title, fit.name, "undecided", 0.4, fit.dimension, None, None, None, None)
    cells = replace(told.engine_map[2], cells=(told.engine_map[2].cells[0], MapCell(2, (), (fit,))))
    site = built(replace(told, fits=(fit,), shortlist=(stopper,), engine_map=(cells,)), tmp_path=tmp_path)
    page = read(site, "engines/K-07/index.md")
    stops, inside = page.split("What stops it first")[1].split("What is in it")[:2]
    assert "at the least, RB-1042 as of 3 Nov 2026 and ES-19 as of 12 Oct 2026" in stops
    assert "0.091 mm" in stops
    assert "at the least 0.091 mm" in inside
    part = read(site, "parts/RB-1042.md").split("Where it stands")[1]
    assert "0.091 mm" in part
    assert "at the least, both read on 12 Oct 2026: 0.06..0.07 mm" in part
