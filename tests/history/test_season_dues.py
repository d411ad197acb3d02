"""Intervals within a season: what comes round again, what is over, what is not known; and what nobody measured."""

from engine_pages.history.figures import figures_of
from engine_pages.history.question_figures import season_figures
from engine_pages.history.season_asked import Asked
from engine_pages.history.season_words import in_sets, season_text
from engine_pages.history.story import SeasonStory

from .season_for_tests import FAMILY, LONG, asked, plan, season, shop
from .shop_for_tests import engine, part, told

OIL = FAMILY.replace("oil: {hours: 33}", "oil: {hours: 5}")


def dues(found: SeasonStory) -> list[list[str]]:
    return [[due.name for due in event.due] for event in found.events]


def test_a_service_comes_round_again_within_the_plan_and_is_over_where_it_is_over_now() -> None:
    found = season({**shop(plan(2, 2, 2, 2)), "families/single.yml": OIL})  # 20 h since it was new: 15 h over
    assert dues(found) == [["Oil"], [], ["Oil"], []]
    assert [[due.name for due in event.overdue] for event in found.events] == [["Oil"], [], [], []]
    rows = [line.split("  ")[-1].strip() for line in season_text("E1", found).splitlines()[3:7]]
    assert rows[::2] == ["over: Oil", "Oil"]


def test_an_interval_whose_life_before_is_unknown_is_not_promised_to_hold() -> None:
    seal = "serial: S-1\nkind: seal\nfamily: single\nprior: unknown\n"
    found = season({**shop(plan(2, 2)), "parts/S-1.yml": seal})
    assert [due.part for due in found.unsure] == ["S-1"]
    assert found.lasts is None
    assert found.advice.startswith("By what is in the figure it lasts the plan")
    assert found.advice.endswith("Not known whether an interval of replacement is over: seal.")
    assert season_figures(found)["events"][0]["interval_not_known"] == ["Seal, replace"]


SILENT = shop("events: [{date: 2027-01-01, name: Round 1, starts: 4}, {date: 2027-02-01, hours: 2}]\nkeep: 0.9\n")


def test_where_an_event_has_no_hours_nothing_that_rests_on_them_is_told() -> None:
    story = told(SILENT)
    found = season(SILENT)
    assert [event.run for event in found.events] == [None, None]
    assert season_figures(found)["events"][0]["adds"]["hours"] is None
    assert {one.chance for one in part(story, "B-1").dimensions} == {None}
    figures = figures_of(engine(story))
    assert {one["chance_of_lasting_plan"] for one in figures["parts"][0]["dimensions"]} == {None}


def test_what_is_certain_is_said_without_hours_too() -> None:
    over = {**SILENT, "families/single.yml": FAMILY.replace("{hours: 40}", "{hours: 15}")}
    assert season(over).advice == (
        "Cannot tell whether it lasts: no hours are written for Round 1. "
        "By interval, to be replaced before the end of Round 1: seal."
    )


def test_months_are_not_reckoned_where_events_have_no_day_and_that_is_said() -> None:
    files = {**LONG, "families/single.yml": FAMILY.replace("oil: {hours: 33}", "oil: {months: 60}")}
    question = Asked(events=3, each=2.0)
    assert "Intervals in months are not reckoned: these events have no day." in season_text(
        "E1", asked(files, question)
    )
    assert season_figures(asked(files, question))["months_reckoned"] is False
    assert season_figures(asked(files, Asked()))["months_reckoned"] is True
    assert "months" not in season_text("E1", asked(LONG, question))  # nothing there is counted in months


def test_everything_with_a_limit_that_nobody_read_is_named_by_part_and_dimension_in_one_list() -> None:
    play = "limit: {max: 60.105}, instrument: mic}, play: {unit: mm, limit: {min: 0.05, max: 0.3}}}"
    family = FAMILY.replace("limit: {max: 60.105}, instrument: mic}}", play)
    files = {**shop(plan(2)), "families/single.yml": family}
    story = engine(told(files))
    assert figures_of(story)["season"]["not_measured"] == ["B-1 play", "B-2 play", "P-1 tip"]
    unplanned = engine(told({**files, "engines/E1/plan.yml": "events: []\n"}))
    assert figures_of(unplanned)["season"]["not_measured"] == ["B-1 play", "B-2 play", "P-1 tip"]
    assert "never measured: Bearing 1: play; Bearing 2: play; Pump: tip." in season_text("E1", season(files))


def test_as_good_as_certain_parts_stand_in_the_order_of_their_names() -> None:
    found = season(shop(plan(0.1)))
    assert [one.name for one in found.stands] == ["Bearing 1", "Bearing 2"]
    assert min(one.chances[0] for one in found.stands) > 1.0 - 1e-7


def test_an_engine_that_is_apart_is_put_right_before_it_goes_together() -> None:
    found = season(shop(plan(50, 50)))
    assert found.apart
    assert found.advice.startswith(
        "Replace seal before it goes together: as it is, after Round 1 the chance is under 1 %"
    )


def test_an_engine_that_is_built_is_measured_at_the_next_strip() -> None:
    files = {**shop(plan(20, 20)), "families/single.yml": FAMILY.replace("hours: 40", "hours: 400")}
    built = {
        **files,
        "engines/E1/builds/2026-06-02.yml": (
            "engine: E1\ndate: 2026-06-02\npositions: {bearing-1: , bearing-2: , pump: , seal: }\n"
        ),
    }
    assert "Measure next: bearing" in season_text("E1", season(files))
    assert "Measure next, at the next strip: bearing" in season_text("E1", season(built))


def test_members_of_a_set_stand_together() -> None:
    seals = tuple(f"Apex seals 1, a{n}" for n in (1, 2, 3))
    sets = [("Apex seals 1", seals)]
    assert in_sets(seals, sets) == ["Apex seals 1, all 3"]
    assert in_sets(["Pump", *seals[:2]], sets) == ["Pump", "Apex seals 1, a1 and a2"]


def test_lives_that_ended_before_the_plans_end_are_said_beside_the_chance() -> None:
    """Eight seals of other engines failed, found at 8 to 15 h; this one will have run 30."""
    files = {**LONG, "engines/E1/plan.yml": plan(5, 5)}
    for n, hours in enumerate((8, 9, 10, 11, 12, 13, 14, 15), start=2):
        of = f"engines/E{n}"
        files[f"{of}/builds/2026-01-01.yml"] = f"engine: E{n}\ndate: 2026-01-01\npositions: {{seal: {{part: T-{n}}}}}\n"
        files[f"{of}/log.yml"] = (
            f"- {{date: 2026-02-01, kind: run, hours: {hours - 2}}}\n- {{date: 2026-02-20, kind: run, hours: 2}}\n"
        )
        files[f"{of}/inspections/2026-02-10.yml"] = (
            f"engine: E{n}\ndate: 2026-02-10\npositions: {{seal: {{part: T-{n}, decision: reuse}}}}\n"
        )
        files[f"{of}/teardowns/2026-03-01/teardown.yml"] = (
            f"engine: E{n}\ndate: 2026-03-01\npositions: {{seal: {{part: T-{n}, decision: replace, because: worn}}}}\n"
        )
    found = season(files)
    (seal,) = found.outlived
    assert (seal.kind_name, seal.runs) == ("Seal", 30.0)
    assert 5.0 < seal.reached < 15.0
    text = season_text("E1", found)
    assert "at lives that the plan reaches: seal, nine of ten reach" in text
    assert "one here will have run 30.0 h." in text
    assert "The chance is of staying inside limits alone." in text
    renewed = asked(files, Asked(renewed=frozenset({"S-1"})))
    assert not renewed.outlived or renewed.outlived[0].runs == 10.0
