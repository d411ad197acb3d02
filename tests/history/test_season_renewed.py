"""What if parts are renewed: what a new one starts from, its clearances, and what cannot be told of it."""

import re

import pytest

from engine_pages.history.question_figures import season_figures
from engine_pages.history.season_asked import Asked, SeasonError
from engine_pages.history.season_words import season_text
from engine_pages.history.told_season import SeasonStory

from .season_for_tests import FAMILY, LONG, SHOP, asked, plan, shop

PAIR = """
    family: pair
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing, shaft: shaft, seals-1: {kind: seal, names: [a1, a2, a3]}}
    kinds:
      bearing:
        dimensions: {inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.105}, instrument: mic}}
      shaft:
        dimensions: {journal: {unit: mm, wears: down, new: [59.980, 60.000], limit: {min: 59.940}, instrument: mic}}
      seal: {service: {replace: {hours: 40}}}
    fits:
      play-1: {name: Play, row: 1, outer: bearing-1.inside, inner: shaft.journal, limit: {min: 0.040, max: 0.100}}
"""


def pair(family: str = PAIR, hours: float = 2.0, decision: str = "reuse", more: str = "") -> dict[str, str]:
    """A bearing and its journal read after 10, 20 and 28 h, both worn; three seals that nobody reads."""
    read = {"2026-01-10": (10, 60.056, 59.985), "2026-01-20": (10, 60.061, 59.978), "2026-01-28": (8, 60.064, 59.970)}
    files = {
        "shop.yml": SHOP,
        "families/pair.yml": family,
        "engines/E1/builds/2026-01-01.yml": (
            "engine: E1\ndate: 2026-01-01\npositions: {bearing-1: {part: X, measured: {inside: 60.050}}, "
            f"shaft: {{part: S, measured: {{journal: 59.990}}}}, seals-1: {more}}}\n"
        ),
        "engines/E1/plan.yml": plan(hours, hours),
        "engines/E1/log.yml": "".join(
            f"- {{date: {day}, kind: run, hours: {ran}}}\n" for day, (ran, _, _) in read.items()
        ),
    }
    for day, (_, inside, journal) in read.items():
        word = decision if day == "2026-01-28" else "reuse"
        files[f"engines/E1/inspections/{day}.yml"] = (
            f"engine: E1\ndate: {day}\npositions:\n"
            f"  bearing-1: {{part: X, measured: {{inside: {inside}}}, decision: {word}}}\n"
            f"  shaft: {{part: S, measured: {{journal: {journal}}}, decision: reuse}}\n"
        )
    return files


def chances(found: SeasonStory, id: str) -> tuple[float, ...]:
    return next(one.chances for one in found.stands if one.dimension_id == id)


def renew(files: dict[str, str], *parts: str) -> SeasonStory:
    return asked(files, Asked(renewed=frozenset(parts)))


def test_the_clearance_of_a_renewed_part_is_worked_out_from_the_line_of_the_other_side() -> None:
    # a journal read 59.970 leaves 0.080 to a new bearing in the middle of its range: a limit there is even odds
    even = pair(PAIR.replace("max: 0.100", "max: 0.080"), hours=0.0)
    assert chances(renew(even), "play-1")[0] < 0.01  # worn, it has 0.094
    assert chances(renew(even, "X"), "play-1")[0] == pytest.approx(0.5, abs=0.2)
    bearing, both = renew(pair(), "X"), renew(even, "X", "S")
    assert chances(bearing, "play-1")[0] > 0.85
    assert chances(both, "play-1")[0] > 0.8  # of two new parts 0.060
    assert [one.name for one in bearing.stands if one.dimension_id == "play-1"] == ["Play 1"]
    assert not bearing.out("fit changed")


def test_a_clearance_that_cannot_be_worked_out_is_named_and_the_whole_plan_is_not_promised() -> None:
    files = pair(PAIR.replace("new: [60.040, 60.060], ", ""))
    found = renew(files, "X")
    assert [(one.part, one.id) for one in found.out("fit changed")] == [(None, "play-1")]
    assert [(one.part, one.id) for one in found.out("start unknown")] == [("X", "inside")]
    assert found.lasts is None
    assert found.advice.startswith("By what is in the figure it lasts the plan: after Round 2 the chance is ")
    assert "Not in the figure, and may stop it: bearing 1; play 1." in found.advice


@pytest.mark.parametrize("name", ["", "name: Play, ", "name: Play 1, "])
def test_a_clearance_bears_its_row_once(name: str) -> None:
    files = pair(PAIR.replace("play-1: {name: Play, ", f"play-1: {{{name}"))
    assert [one.name for one in renew(files, "X").stands if one.dimension_id == "play-1"] == ["Play 1"]


def test_the_clearance_of_a_part_that_goes_out_is_named() -> None:
    found = renew(pair(decision="replace"))
    assert [one.id for one in found.out("fit changed")] == ["play-1"]
    assert "may run the whole plan" not in found.advice


def test_without_a_new_range_a_renewed_part_has_no_known_start_and_is_not_reckoned() -> None:
    files = {
        **LONG,
        "families/single.yml": FAMILY.replace("hours: 40", "hours: 400").replace("new: [60.040, 60.060], ", ""),
    }
    found = renew(files, "B-1")
    assert [(one.part, one.id) for one in found.out("start unknown")] == [("B-1", "inside")]
    assert "B-1" not in {one.part for one in found.stands}
    assert "the family gives no new range to start from: Bearing 1: inside." in season_text("E1", found)


RUN_IN = {0: 60.0465, 2: 60.0642, 5: 60.0762, 10: 60.0822, 20: 60.0845, 33: 60.0858}  # hours, and what was read then


def running_in() -> dict[str, str]:
    """Four engines whose bearings ran in, most of it in the first hours, and a fifth with one that is not read."""
    family = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing}
    kinds:
      bearing:
        serial: yes
        dimensions: {inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.085}, instrument: mic}}
    """
    files = {
        "shop.yml": SHOP,
        "families/single.yml": family,
        "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {bearing-1: {part: N}}\n",
        "engines/E1/plan.yml": plan(2, 2),
    }
    for n in range(4):
        of = f"engines/E{n + 2}"
        log, ran = "", 0
        for k, (hours, inside) in enumerate(RUN_IN.items(), start=1):
            if hours > ran:
                log += f"- {{date: 2026-0{k}-01, kind: run, hours: {hours - ran}}}\n"
                ran = hours
            kind = "builds" if k == 1 else "inspections"
            files[f"{of}/{kind}/2026-0{k}-02.yml"] = (
                f"engine: E{n + 2}\ndate: 2026-0{k}-02\npositions:\n"
                f"  bearing-1: {{part: X{n}, measured: {{inside: {inside + 0.001 * n:.4f}}}}}\n"
            )
        files[f"{of}/log.yml"] = log
    return files


def test_of_a_renewed_part_whose_kind_runs_in_nothing_is_told_but_its_name() -> None:
    found = renew(running_in(), "N")
    assert [(one.part, one.id) for one in found.out("runs in")] == [("N", "inside")]
    assert [event.chance for event in found.events] == [None, None]
    assert found.advice.startswith("Cannot tell whether it lasts")
    assert "its kind wears at another rate in its first hours: Bearing 1: inside." in season_text("E1", found)
    assert season_figures(found)["not_in_the_figure"]["runs_in"] == ["N inside"]


def test_a_set_is_renewed_whole_by_its_place() -> None:
    assert renew(pair(), "seals-1").renewed == tuple(f"E1.seals-1.a{n}.1" for n in (1, 2, 3))
    assert renew(pair(), "seals-1/a2").renewed == ("E1.seals-1.a2.1",)


def test_a_name_that_is_none_is_answered_with_the_nearest_of_its_row_or_with_all_in_order() -> None:
    with pytest.raises(SeasonError, match="bearin-2 is no part and no place of E1; did you mean bearing-2"):
        renew(shop(plan(2)), "bearin-2")
    with pytest.raises(SeasonError, match=r"allowed: B-1, B-2, P-1, S-1, bearing-1, bearing-2, pump, seal$"):
        renew(shop(plan(2)), "xyz")


def test_the_engine_as_it_is_put_together_is_not_offered_as_a_part() -> None:
    whole = PAIR.replace("shaft: shaft,", "shaft: shaft, engine: whole,").replace(
        "kinds:", "kinds:\n      whole: {whole: yes}", 1
    )
    files = pair(whole, more=", engine: ")
    assert renew(files, "engine").renewed == ("E1.engine.1",)
    with pytest.raises(
        SeasonError,
        match=r"allowed: E1\.seals-1\.a1\.1, E1\.seals-1\.a2\.1, E1\.seals-1\.a3\.1, S, X, bearing-1, seals-1, seals",
    ):
        renew(files, "xyz")


@pytest.mark.parametrize("each", [float("nan"), float("inf"), -1.0])
def test_an_event_asks_for_a_number_of_hours(each: float) -> None:
    with pytest.raises(SeasonError, match="an event cannot ask for"):
        asked(LONG, Asked(each=each))


def test_a_renewed_part_starts_at_the_size_that_its_place_has_now() -> None:
    def larger(text: str) -> str:
        return re.sub(
            r"(bearing-1: .*inside: )(60\.\d+)", lambda found: f"{found[1]}{float(found[2]) + 0.25:.3f}", text
        )

    oversize = {path: larger(text) if path.startswith("engines/") else text for path, text in LONG.items()}
    oversize["parts/B-1.yml"] = "serial: B-1\nkind: bearing\nfamily: single\nsize: 0.25 mm\n"
    there, here = (renew(files, "B-1").stands for files in (oversize, LONG))
    (one,), (other,) = ([stand.chances for stand in stands if stand.part == "B-1"] for stands in (there, here))
    assert one == pytest.approx(other, abs=1e-3)
