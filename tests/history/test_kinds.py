"""A kind told over the whole shop: which lives failed and between which looks, renewals of a place, rates by place."""

from datetime import date
from pathlib import Path

import pytest

from engine_pages.history.story import KindStory, ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.history.told_kinds import LifeStory, LivesStory
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder
from engine_pages.wear.lifetimes import Lifetime
from engine_pages.wear.renewals import EngineHistory, mean_cumulative
from engine_pages.wear.survival import survival
from engine_pages.wear.weibull import fit_weibull

from .shop_for_tests import sheet, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {b-1: bearing, b-2: bearing, engine: whole-engine}
    kinds:
      bearing:
        serial: yes
        dimensions: {inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.205}, instrument: mic}}
      whole-engine: {whole: yes, dimensions: {end_play: {unit: mm, wears: up, limit: {max: 0.2}, instrument: mic}}}
"""
SHOP = "instruments: {mic: {resolution: 0.001 mm, repeat: 0.0005 mm, zero: 0 mm}}\n"
RUN = "- {{date: {0}, kind: run, hours: {1}}}\n"


def strip(day: str, positions: str, of: str = "E1") -> tuple[str, str]:
    return f"engines/{of}/teardowns/{day}/teardown.yml", sheet(day, positions, of=of)


def build(day: str, positions: str, of: str = "E1") -> tuple[str, str]:
    return f"engines/{of}/builds/{day}.yml", sheet(day, positions, of=of)


def shop(end: str, *more: tuple[str, str], part: str = "origin: new") -> dict[str, str]:
    """B-1 and B-2 run 10 h, are looked at, run 20 h more, and B-1 comes to its `end`; 5 h are run after that."""
    return {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "parts/B-1.yml": f"serial: B-1\nkind: bearing\n{part}\n",
        "parts/B-2.yml": "serial: B-2\nkind: bearing\norigin: new\n",
        "parts/B-3.yml": "serial: B-3\nkind: bearing\norigin: new\n",
        **dict(
            [
                build("2026-01-01", "b-1: {part: B-1}, b-2: {part: B-2}"),
                strip("2026-02-01", "b-1: {part: B-1, decision: reuse}, b-2: {part: B-2, decision: reuse}"),
                build("2026-02-10", "b-1: {part: B-1}, b-2: {part: B-2}"),
                strip("2026-03-01", f"b-1: {{part: B-1, {end}}}, b-2: {{part: B-2, decision: reuse}}"),
                build("2026-03-10", "b-1: {part: B-3}, b-2: {part: B-2}"),
                *more,
            ]
        ),
        "engines/E1/log.yml": "".join(
            RUN.format(day, hours) for day, hours in (("2026-01-20", 10), ("2026-02-20", 20), ("2026-03-20", 5))
        ),
    }


def kind(story: ShopStory, name: str = "bearing") -> KindStory:
    return next(one for one in story.kinds if one.kind == name)


def lives(files: dict[str, str]) -> LivesStory:
    found = kind(told(files)).lives
    assert found is not None
    return found


def life(files: dict[str, str], part: str) -> LifeStory:
    return next(one for one in lives(files).lives if one.part == part)


def test_a_failure_lies_between_the_last_good_look_and_the_strip_that_found_it() -> None:
    found = life(shop("decision: replace, because: worn"), "B-1")
    assert (found.ending, found.because, found.life) == ("failed", "worn", Lifetime(10.0, 30.0, 0.0))
    assert found.sheet is not None
    assert found.sheet.name == "2026-03-01"


@pytest.mark.parametrize("because", ["hours", "set", "upgrade", "precaution", "other"])
def test_a_part_taken_out_for_another_reason_was_good_up_to_then(because: str) -> None:
    found = life(shop(f"decision: replace, because: {because}"), "B-1")
    assert (found.ending, found.because, found.life) == ("taken out", because, Lifetime(30.0))


def test_a_retired_part_failed_where_it_was_damaged() -> None:
    assert life(shop("decision: retire, because: damaged"), "B-1").ending == "failed"


def test_a_running_part_is_good_up_to_its_last_look_and_has_run_to_now() -> None:
    found = life(shop("decision: replace, because: set"), "B-2")
    assert (found.ending, found.life, found.run) == ("running", Lifetime(30.0), 35.0)


def test_a_part_that_nobody_decided_on_is_good_up_to_the_look_before() -> None:
    found = life(shop("decision: undecided"), "B-1")
    assert (found.ending, found.life, found.run) == ("undecided", Lifetime(10.0), 30.0)


def test_a_part_that_goes_back_in_lives_on_whatever_was_decided_before() -> None:
    back = strip("2026-04-01", "b-1: {part: B-3, decision: reuse}, b-2: {part: B-2, decision: reuse}")
    again = build("2026-04-10", "b-1: {part: B-1}, b-2: {part: B-2}")
    found = life(shop("decision: undecided", back, again), "B-1")
    assert (found.ending, found.life.failed) == ("running", False)


def test_a_used_part_with_a_known_life_enters_with_it() -> None:
    files = shop("decision: replace, because: worn", part="origin: used\nprior: {hours: 40}")
    assert life(files, "B-1").life == Lifetime(50.0, 70.0, 40.0)


def test_a_life_unknown_before_is_left_out_and_said() -> None:
    found = lives(shop("decision: replace, because: worn", part="origin: used\nprior: unknown"))
    assert [(one.part, one.why) for one in found.left_out] == [("B-1", "life before the records unknown")]
    assert [one.part for one in found.lives] == ["B-2", "B-3"]
    assert found.failures == 0


def test_what_is_later_than_the_day_asked_for_has_not_happened() -> None:
    files = shop("decision: replace, because: worn")
    early = kind(told(files, date(2026, 2, 25))).lives
    assert early is not None
    assert [(one.part, one.ending, one.run) for one in early.lives] == [
        ("B-1", "running", 30.0),
        ("B-2", "running", 30.0),
    ]


def test_under_three_failures_there_is_no_curve_and_no_law() -> None:
    found = lives(shop("decision: replace, because: worn"))
    assert (found.curve, found.law, found.reached) == (None, None, None)
    assert found.no_law == "no curve is drawn through fewer than 3 failures"


def worn_out(hours: list[tuple[int, int]]) -> dict[str, str]:
    """A place in which one part after the other wears out: looked at good after some hours, worn some hours later."""
    files = {"shop.yml": SHOP, "families/single.yml": FAMILY}
    log = ""
    for n, (good, more) in enumerate(hours):
        year, part = 2020 + n, f"B-{n}"
        files[f"parts/{part}.yml"] = f"serial: {part}\nkind: bearing\norigin: new\n"
        last = f"b-1: {{part: {part}, decision: replace, because: worn}}"
        steps = [
            build(f"{year}-01-01", f"b-1: {{part: {part}}}"),
            strip(f"{year}-03-01", f"b-1: {{part: {part}, decision: reuse}}"),
            build(f"{year}-03-10", f"b-1: {{part: {part}}}"),
            strip(f"{year}-05-01", last),
        ]
        files |= dict(steps)
        log += RUN.format(f"{year}-02-01", good) + RUN.format(f"{year}-04-01", more)
    files["engines/E1/log.yml"] = log
    return files


def test_from_three_failures_on_curve_and_law_are_those_of_the_same_lives() -> None:
    found = lives(worn_out([(10, 20), (25, 10), (40, 15), (30, 30)]))
    same = [Lifetime(10.0, 30.0), Lifetime(25.0, 35.0), Lifetime(40.0, 55.0), Lifetime(30.0, 60.0)]
    law = fit_weibull(same)
    assert found.curve == survival(same)
    assert found.law is not None
    assert found.law.shape.value == pytest.approx(law.shape.value)
    assert found.reached == law.life_at(0.1)
    assert (found.failures, found.events, found.no_law) == (4, 4, "")


def test_lives_that_agree_with_one_length_say_so_and_have_no_law() -> None:
    found = lives(worn_out([(10, 20), (10, 20), (10, 20)]))
    assert found.law is None
    assert found.no_law.startswith("no maximum of the likelihood")


def test_a_place_renewed_three_times_has_the_mean_curve_of_its_engine() -> None:
    renewals = kind(told(worn_out([(10, 20), (25, 10), (40, 15)]))).renewals
    assert renewals is not None
    curve = mean_cumulative([EngineHistory((30.0, 65.0, 120.0), 120.0)])
    assert (renewals.replaced, renewals.places, renewals.engines) == (3, 1, ("E1",))
    assert [(one.exposure, one.mean) for one in renewals.growths] == [(g.exposure, g.mean) for g in curve.growths]
    assert all(one.low is None for one in renewals.growths)  # one engine cannot show how engines differ


def test_two_renewals_are_no_curve_and_a_part_that_goes_back_is_none() -> None:
    assert kind(told(worn_out([(10, 20), (25, 10)]))).renewals is None


def test_an_assembly_has_rates_and_no_life() -> None:
    found = kind(told(shop("decision: reuse")), "whole-engine")
    assert (found.whole, found.lives, found.renewals) == (True, None, None)


def wearing() -> dict[str, str]:
    """Two bearings, read every 10 h: B-1 wears 1 µm an hour in b-1, B-2 2 µm an hour in b-2; the oil changes late."""
    files = {"shop.yml": SHOP, "families/single.yml": FAMILY}
    log = "- {date: 2025-12-01, kind: service, fluids: {oil: thick}}\n"
    for n in range(5):
        day = date(2026, 1 + 2 * n, 1)
        read = [f"b-{k}: {{part: B-{k}, measured: {{inside: {60.050 + 0.010 * k * n:.4f}}}}}" for k in (1, 2)]
        where = "builds" if n == 0 else "inspections"
        files[f"engines/E1/{where}/{day}.yml"] = sheet(str(day), ", ".join(read))
        if n == 3:
            log += f"- {{date: {day.replace(day=2)}, kind: change, fluids: {{oil: thin}}}}\n"
        log += RUN.format(day.replace(month=day.month + 1), 10)
    files["engines/E1/log.yml"] = log
    return files


def test_rates_stand_the_fastest_first_with_place_and_what_they_ran_on_each_oil() -> None:
    found = kind(told(wearing())).rates[0]
    assert [(one.part, one.slot_name, one.oils) for one in found.rates] == [
        ("B-2", "B 2", (("thick", 30.0), ("thin", 20.0))),
        ("B-1", "B 1", (("thick", 30.0), ("thin", 20.0))),
    ]
    assert [one.rate.value for one in found.rates] == pytest.approx([0.002, 0.001], rel=0.05)
    assert [(one.rank.place, one.rank.of) for one in found.rates if one.rank] == [(1, 2), (2, 2)]
    assert found.summary is not None
    assert (found.measured, found.of) == (2, 2)


def test_wear_that_shrinks_a_part_is_counted_upward() -> None:
    files = wearing()
    files["families/single.yml"] = FAMILY.replace(
        "wears: up, new: [60.040, 60.060], limit: {max: 60.205}", "wears: down"
    )
    up, down = (kind(told(one)).rates[0].rates[0].rate for one in (wearing(), files))
    assert up.value > 0.0 > down.value  # these bores grew


@pytest.fixture(scope="module")
def demo() -> ShopStory:
    return tell_shop(read_checked(Folder(Path(__file__).parents[2] / "records"), date(2026, 11, 25)))


def test_the_demo_shows_lives_with_and_without_a_curve(demo: ShopStory) -> None:
    seals, bearings = kind(demo, "apex-seal").lives, kind(demo, "rotor-bearing").lives
    assert seals is not None
    assert bearings is not None
    assert (seals.failures, seals.events, seals.curve is not None) == (9, 2, True)
    assert (bearings.failures, bearings.curve) == (1, None)


def test_a_part_of_the_demo_has_one_rank_on_its_page_and_on_that_of_its_kind(demo: ShopStory) -> None:
    rates = {one.part: one.rank for one in kind(demo, "rotor-bearing").rates[0].rates}
    own = {p.id: p.dimensions[0].wear.rank for p in demo.parts if p.kind == "rotor-bearing"}
    assert rates == own


def renewed(*, run_on: bool) -> dict[str, str]:
    """Four engines; each uses up the bearing of one place, at 10, 11, 12 and 13 h, and runs on to 20 h or not."""
    files = {"shop.yml": SHOP, "families/single.yml": FAMILY}
    for n, hours in enumerate((10, 11, 12, 13), 1):
        of = f"E{n}"
        out = strip("2026-02-01", "b-1: {decision: replace, because: worn}", of)
        files |= dict([build("2026-01-01", "b-1: ", of), out])
        files[f"engines/{of}/log.yml"] = RUN.format("2026-01-20", hours)
        if run_on:
            files |= dict([build("2026-02-10", "b-1: ", of)])
            files[f"engines/{of}/log.yml"] += RUN.format("2026-02-20", 20 - hours)
    return files


def test_engines_that_stay_apart_after_a_renewal_do_not_make_the_others_weigh_more() -> None:
    renewals = kind(told(renewed(run_on=False))).renewals
    assert renewals is not None
    assert [(one.exposure, one.mean) for one in renewals.growths] == [(10.0, 0.25)]
    assert (renewals.replaced, renewals.beyond, renewals.until, renewals.stopped_by) == (4, 3, 10.0, ("E1",))


def test_engines_rebuilt_and_run_on_use_one_part_a_place() -> None:
    renewals = kind(told(renewed(run_on=True))).renewals
    assert renewals is not None
    assert [one.mean for one in renewals.growths] == [0.25, 0.5, 0.75, 1.0]
    assert (renewals.beyond, renewals.until, renewals.stopped_by) == (0, 20.0, ())


def test_an_engine_with_fewer_places_on_record_does_not_pull_the_figure_down() -> None:
    files = renewed(run_on=True)
    files |= dict([build("2026-01-01", "b-1: , b-2: ", "E4")])  # its second place is never renewed
    renewals = kind(told(files)).renewals
    assert renewals is not None
    assert (renewals.places, renewals.growths[-1].mean) == (5, pytest.approx(4 / 5))


GRADED = FAMILY.replace("serial: yes\n", "serial: yes\n        observe: [overlay, cracks]\n", 1)


def looked(line: str, end: str = "decision: replace, because: worn") -> LifeStory:
    """B-1, new, after 29 h on an inspection with this line, and after 60 h at its end; empty: it runs still."""
    read = [build("2026-01-01", "b-1: {part: B-1}")]
    read.append(("engines/E1/inspections/2026-02-01.yml", sheet("2026-02-01", f"b-1: {{part: B-1{line}}}")))
    read += [strip("2026-03-01", f"b-1: {{part: B-1, {end}}}")] if end else []
    files = {
        "shop.yml": SHOP,
        "families/single.yml": GRADED,
        "parts/B-1.yml": "serial: B-1\nkind: bearing\norigin: new\n",
    }
    log = RUN.format("2026-01-20", 29) + RUN.format("2026-02-20", 31)
    return life(files | dict(read) | {"engines/E1/log.yml": log}, "B-1")


NO_GOOD_LOOK = [
    "",  # nobody looked
    ", finding: dull",  # words that no machine can judge
    ", measured: {inside: 60.300}",  # beyond its limit
    ", observed: {overlay: 4}",
    ", observed: {cracks: 1}",
    ", measured: {inside: 60.050}, decision: undecided",
]


@pytest.mark.parametrize("line", NO_GOOD_LOOK)
def test_a_line_that_shows_nothing_good_is_no_look_at_which_a_part_was_good(line: str) -> None:
    assert looked(line).life == Lifetime(0.0, 60.0)
    assert looked(line, "").life == Lifetime(0.0)


@pytest.mark.parametrize(
    "line", [", measured: {inside: 60.050}", ", observed: {overlay: 3}", ", observed: {cracks: 0}", ", decision: reuse"]
)
def test_a_look_with_nothing_beyond_its_limits_found_the_part_good(line: str) -> None:
    assert looked(line).life == Lifetime(29.0, 60.0)
    assert looked(line, "").life == Lifetime(29.0)


def test_what_was_read_on_the_day_of_a_failure_does_not_make_it_exact() -> None:
    files = shop("measured: {inside: 60.060}")
    files["engines/E1/inspections/2026-03-02.yml"] = sheet("2026-03-02", "b-1: {decision: retire, because: damaged}")
    assert life(files, "B-1").life == Lifetime(10.0, 30.0)


def test_a_part_taken_out_for_its_hours_beyond_its_limit_is_good_up_to_the_look_before() -> None:
    out = looked(", decision: reuse", "measured: {inside: 60.300}, decision: replace, because: hours")
    assert (out.ending, out.life) == ("taken out", Lifetime(29.0))


def test_a_part_that_a_strip_says_nothing_of_does_not_run() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        **dict([build("2026-01-01", "b-1: {part: B-1}, b-2: "), strip("2026-03-01", "b-1: {part: B-1}")]),
        "engines/E1/log.yml": RUN.format("2026-02-01", 10),
    }
    found = {one.part: one.ending for one in lives(files).lives}
    assert found == {"B-1": "taken out, nothing written", "E1.b-2.1": "taken out, nothing written"}
    early = kind(told(files, date(2026, 2, 10))).lives
    assert early is not None
    assert {one.ending for one in early.lives} == {"running"}


def test_a_part_out_with_words_and_no_decision_is_undecided() -> None:
    assert looked("", "finding: dull").ending == "undecided"


def test_a_part_fitted_elsewhere_on_the_day_of_its_strip_runs_whatever_the_strip_said() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        **dict(
            [
                build("2026-01-01", "b-1: {part: B-1}"),
                strip("2026-03-01", "b-1: {part: B-1, decision: undecided}"),
                build("2026-03-01", "b-1: {part: B-1}", "E2"),
            ]
        ),
        "engines/E1/log.yml": RUN.format("2026-02-01", 10),
    }
    assert life(files, "B-1").ending == "running"


@pytest.mark.parametrize("prior", ["{km: 1000}", "{starts: 5}"])
def test_a_prior_that_does_not_say_the_familys_exposure_is_an_unknown_life(prior: str) -> None:
    found = lives(shop("decision: replace, because: worn", part=f"origin: used\nprior: {prior}"))
    assert [(one.part, one.why) for one in found.left_out] == [("B-1", "life before the records unknown")]
