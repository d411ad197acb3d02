"""What is one question about a change: there and back, one kind of several, families with other units."""

import re
from datetime import date

import numpy as np
import pytest

from engine_pages.history import change_asked
from engine_pages.history.change_asked import AskedChange, ChangeError, ask_changes
from engine_pages.history.change_words import chance_words, change_text, verdict_words
from engine_pages.history.question_figures import change_figures
from engine_pages.history.story import ChangeStory
from engine_pages.records.checks.all import read_checked

from .shop_for_tests import TODAY, texts, told
from .test_changes import shop, twice_in_the_first_interval

SHOP = """
    confidence: 0.9
    instruments: {mic: {resolution: 0.001 mm, repeat: 0.0003 mm, zero: 0.0003 mm}}
"""
FAMILY = """
    family: {id}
    name: {name}
    architecture: rotary
    exposure: {per}
    positions: {{b-1: bearing, b-2: bearing, s-1: shaft}}
    kinds:
      bearing:
        serial: yes
        dimensions: {{inside: {{unit: mm, wears: up, new: [60.04, 60.06], limit: {{max: 61}}, instrument: mic}}}}
      shaft:
        serial: yes
        dimensions:
          journal: {{unit: mm, wears: down, new: [59.98, 60.00], limit: {{min: 59}}, instrument: mic}}
          play: {{unit: mm, wears: up, new: [0.10, 0.14], limit: {{max: 1}}, instrument: mic}}
"""
RATES = {"bearing": 0.001, "journal": -0.0005, "play": 0.0008}  # mm an hour
FAMILY_OF_ALL = {"single": FAMILY.format(id="single", name="Single", per="hours")}


def with_shaft(
    oils: str = "thick thick thick thin thin thin",
    ratios: dict[str, float] | None = None,
    engine: str = "E1",
    per: str = "hours",
    each: float = 10.0,
    scatter: float = 0.05,
) -> dict[str, str]:
    """An engine read before and after every run of `each`; on `thin` each wears `ratios` times as fast."""
    draw, files, log, last = np.random.default_rng(7), {}, "", ""
    now = {"b-1": 60.05, "b-2": 60.051, "journal": 59.99, "play": 0.12}
    for n, oil in enumerate([*oils.split(), ""]):
        day = date(2020 + n // 4, 1 + 3 * (n % 4), 10)
        lines = [f"b-{k}: {{part: {engine}-B-{k}, measured: {{inside: {now[f'b-{k}']:.4f}}}}}" for k in (1, 2)]
        shaft = f"journal: {now['journal']:.4f}, play: {now['play']:.4f}"
        lines.append(f"s-1: {{part: {engine}-S, measured: {{{shaft}}}}}")
        folder = "builds" if n == 0 else "inspections"
        files[f"engines/{engine}/{folder}/{day}.yml"] = (
            f"engine: {engine}\ndate: {day}\npositions: {{{', '.join(lines)}}}\n"
        )
        if oil and oil != last:
            log += f"- {{date: {day.replace(day=12)}, kind: change, fluids: {{oil: {oil}}}}}\n"
        log += f"- {{date: {day.replace(day=20)}, kind: run, {per}: {each}}}\n" if oil else ""
        last = oil
        for name in now:
            kind = "bearing" if name.startswith("b-") else name
            less = (ratios or {}).get(kind, 1.0) if oil == "thin" else 1.0
            now[name] += 10.0 * RATES[kind] * less * draw.normal(1.0, scatter)
    files[f"engines/{engine}/log.yml"] = log
    return files | {"shop.yml": SHOP} | {f"families/{id}.yml": text for id, text in FAMILY_OF_ALL.items()}


def asked(files: dict[str, str], **more: str) -> ChangeStory:
    (found,) = ask_changes(read_checked(texts(files), TODAY), AskedChange("oil", **more))
    return found


def test_two_bearings_that_plainly_wear_are_compared_though_two_are_few_for_their_kind() -> None:
    files = with_shaft()
    found = asked(files)
    assert found.unknown_rate == ()
    assert [(one.kind, one.dimension) for one in found.kinds] == [
        ("bearing", "inside"),
        ("shaft", "journal"),
        ("shaft", "play"),
    ]
    (kind,) = (one for one in told(files).kinds if one.kind == "bearing")
    (rates,) = kind.rates
    assert rates.usual is not None
    assert rates.usual.holds(0.0)  # two parts say little of a third
    assert all(not one.rate.holds(0.0) for one in rates.rates)
    assert rates.wear_shows


def test_parts_that_do_not_wear_are_named_and_not_compared() -> None:
    files = with_shaft()
    for path, text in files.items():
        if path.startswith("engines/E1/") and "positions" in text:
            files[path] = re.sub(r"play: [0-9.]+", "play: 0.12", text)
    assert asked(files).unknown_rate == ("Shaft, play",)


def test_kinds_that_do_not_agree_are_named_first() -> None:
    oils = "thick thick thick thick thick thin thin thin thin thin"
    found = asked(with_shaft(oils, {"bearing": 0.3}))
    assert (found.apart[0].kind, found.apart[0].answer.verdict) == ("bearing", "lower")
    words = verdict_words(found)
    assert words.startswith("Kinds do not agree: Bearing, inside: lower on thin, 0.3")
    assert "One figure for all kinds says little." in words
    figures = change_figures(found)["kinds_apart"]
    assert {"family": "single", "kind": "bearing", "dimension": "inside"} in figures


def test_kinds_that_all_changed_alike_agree() -> None:
    oils = "thick thick thick thick thick thin thin thin thin thin"
    found = asked(with_shaft(oils, {"bearing": 0.5, "journal": 0.5, "play": 0.5}))
    assert (found.answer.verdict, found.apart) == ("lower", ())
    assert chance_words(found) == ""


def test_of_one_kind_answer_rows_and_figures_are_of_that_kind() -> None:
    found = asked(with_shaft(ratios={"journal": 1.6, "play": 0.6}), kind="shaft")
    whole = asked(with_shaft(ratios={"journal": 1.6, "play": 0.6}))
    assert {one.kind for one in found.kinds} == {"shaft"}
    assert len(found.kinds) == 2
    for side in ("before", "after"):
        rows = [one for one in found.intervals if one.side == side]
        counted = getattr(found.answer, side)
        assert (len(rows), sum(one.increments for one in rows)) == (counted.intervals, counted.increments) == (3, 6)
    ratios = [one.answer.fit.ratio.value for one in found.kinds if one.answer.fit is not None]
    assert found.answer.fit is not None
    value = found.answer.fit.ratio.value
    assert value is not None
    assert min(r for r in ratios if r is not None) < value < max(r for r in ratios if r is not None)
    assert {one.part for one in found.left_out} <= {"E1-S"}
    figures = change_figures(found)
    assert (figures["kind"], figures["intervals_before"], figures["increments_before"]) == ("shaft", 3, 6)
    assert "3 intervals with 6 readings on thick, 3 with 6 on thin" in change_text(found)
    assert len(whole.kinds) == 3


def test_a_selection_of_another_kind_withholds_nothing_from_the_kind_that_is_asked_for() -> None:
    oils = "thick thick thick thick thick thin thin thin thin thin"
    files = with_shaft(oils, {"bearing": 0.3, "journal": 0.3, "play": 0.3})
    files["engines/E1/teardowns/2021-04-10-2/teardown.yml"] = (
        "engine: E1\ndate: 2021-04-10\nopened: [s-1]\npositions: {s-1: {decision: replace, because: worn}}\n"
    )
    assert asked(files).answer.verdict == "cannot tell"
    assert asked(files, kind="bearing").answer.verdict == "lower"


def two_families() -> dict[str, str]:
    files = with_shaft() | with_shaft(engine="E2", per="km", each=1000.0)
    files |= {
        "families/road.yml": FAMILY.format(id="road", name="Road", per="km"),
        "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
        "engines/E2/engine.yml": "engine: E2\nfamily: road\n",
    }
    return files


def test_every_family_keeps_its_own_unit_and_its_name_stands_beside_the_kind() -> None:
    found = asked(two_families())
    assert {(one.engine, one.per, one.run) for one in found.intervals} == {("E1", "hours", 10.0), ("E2", "km", 1000.0)}
    assert {(one.family, one.per) for one in found.kinds} == {("single", "hours"), ("road", "km")}
    text = change_text(found)
    assert re.search(r"Bearing, inside, Single: [01]\.\d+ \(.* µm/h:", text)
    assert re.search(r"Bearing, inside, Road: (9|10)\.\d+ \(.* µm/1000 km:", text)
    assert "  10.0 h from" in text
    assert "  1000 km from" in text
    figures = change_figures(found)
    assert {(one["engine"], one["per"]) for one in figures["intervals"]} == {("E1", "hours"), ("E2", "km")}
    assert {(one["family"], one["per"]) for one in figures["kinds"]} == {("single", "hours"), ("road", "km")}


def test_one_family_is_not_named() -> None:
    assert {one.family_name for one in asked(with_shaft()).kinds} == {""}


BACK = "thick thick thin thin thick thick"


def test_a_change_and_the_change_back_are_one_question_told_the_way_that_was_gone_first() -> None:
    (found,) = told(with_shaft(BACK)).changes
    assert (found.before, found.after) == ("thick", "thin")
    assert [(one.day.isoformat(), one.back) for one in found.made] == [("2020-07-12", False), ("2021-01-12", True)]
    text = change_text(found)
    assert text.startswith("oil: thick to thin, and back\n")
    assert "E1 on 2021-01-12, back to thick" in text
    assert "The change back is no question of its own: it compares the same wear." in text


def test_whoever_asks_for_the_change_back_gets_the_same_answer() -> None:
    files = with_shaft(BACK)
    there, back = asked(files, before="thick", after="thin"), asked(files, before="thin", after="thick")
    assert change_text(there) == change_text(back)
    with pytest.raises(ChangeError, match="no oil was changed from thin"):
        asked(with_shaft(), before="thin")


def test_sides_are_called_by_their_fluid_and_not_by_the_calendar() -> None:
    found = asked(with_shaft(BACK))
    rows = [line for line in change_text(found).splitlines() if line.startswith("  E1  ")]
    assert [("on thick" in row, "on thin" in row) for row in rows] == [
        (one == "thick", one == "thin") for one in BACK.split()
    ]
    assert not any(word in change_text(found) for word in ("  before ", "  after "))
    assert [one["on"] for one in change_figures(found)["intervals"]] == BACK.split()


def test_a_fluid_that_nobody_changed_is_said_before_anything_is_weighed(monkeypatch: pytest.MonkeyPatch) -> None:
    def weighing(*_: object) -> None:
        raise AssertionError("weighed")

    monkeypatch.setattr(change_asked, "weighed", weighing)
    checked = read_checked(texts(with_shaft()), TODAY)
    with pytest.raises(ChangeError, match="no change of zz is written"):
        ask_changes(checked, AskedChange("zz"))
    with pytest.raises(ChangeError, match="no pump counts on both sides of a change"):
        ask_changes(checked, AskedChange("oil", kind="pump"))


def test_only_the_change_that_is_asked_for_is_weighed(monkeypatch: pytest.MonkeyPatch) -> None:
    weighed: list[int] = []
    plain = change_asked.weighed
    monkeypatch.setattr(change_asked, "weighed", lambda *all: weighed.append(len(all[3])) or plain(*all))
    asked(with_shaft("thick thick thin thin mild mild"), before="thick", after="thin")
    assert weighed == [1]


def test_one_sort_of_minus_stands_in_a_line() -> None:
    text = change_text(asked(with_shaft(ratios={"bearing": 0.0, "journal": 0.0, "play": 0.0}, scatter=0.4)))
    assert "(−" in text
    assert not re.search(r"[( ]-\d", text)


def test_what_is_left_out_names_its_parts() -> None:
    (found,) = ask_changes(read_checked(texts(twice_in_the_first_interval("premix")), TODAY), AskedChange("oil"))
    assert "more than one recipe (premix): 4 readings of B-1, B-2, B-3, B-4" in change_text(found)


def test_machining_between_the_last_run_on_one_and_the_first_on_the_other_is_named() -> None:
    files = shop(0.5)
    files["engines/E1/builds/2021-04-21.yml"] = (
        "engine: E1\ndate: 2021-04-21\nrest: as before\nwork: [{part: B-4, did: bored, dimensions: [inside]}]\n"
    )
    (found,) = told(files).changes
    assert "machining at the change: B-4 bored" in found.meanwhile


def test_an_incident_belongs_to_the_run_that_it_was_written_after() -> None:
    files = shop(0.5)
    head, tail = files["engines/E1/log.yml"].split("- {date: 2020-07-25", 1)
    files["engines/E1/log.yml"] = (
        f"{head}- {{date: 2020-07-22, kind: incident, what: overheat}}\n- {{date: 2020-07-25{tail}"
    )
    (found,) = told(files).changes
    assert "incidents: overheat of E1 on 2020-07-22 on thick, none on thin" in found.meanwhile
