"""Small things that a reader stumbles over: a figure without its unit, the wrong strip, two counts of one thing."""

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from engine_pages.history.gaps import hours_without_a_run
from engine_pages.history.story import ChamberReading, DueStory, EngineStory, SheetStory
from engine_pages.pages.cache import Cache
from engine_pages.pages.chamber_tables import chamber_tables
from engine_pages.pages.dimension_words import due_left, near_words
from engine_pages.pages.line_breaks import with_line_breaks
from engine_pages.pages.sets import sets_joined
from engine_pages.pages.site import Site, build_pages
from engine_pages.wear.exposure import Exposure
from engine_pages.wear.limits import Allowance

from .parts_for_tests import LAST_STRIP, bearing, bore, source
from .story_for_tests import COMPRESSION, engine, sheet, shop
from .test_site import Reader, no_photos, page_of


def built(told: EngineStory, tmp_path: Path) -> Site:
    return build_pages(
        replace(shop(), engines=(told,), parts=told.parts), None, "crew", no_photos, Cache(tmp_path / "cache")
    )


def read(site: Site, path: str) -> str:
    return plain(Reader(page_of(site, path).html).text)


def plain(text: object) -> str:
    return str(text).replace("\xa0", " ").replace("\u2060", "")


# ── every figure has its unit ────────────────────────────────────────────────────────────────────────────────────────


def of_test(*written: tuple[str, float | None], **changed: Any) -> SheetStory:
    chambers = tuple(ChamberReading(n, words, value, value, "within") for n, (words, value) in enumerate(written, 1))
    rows = (("rotor-1", "Rotor 1", chambers),)
    return replace(sheet(LAST_STRIP), tests=(replace(COMPRESSION, rows=rows, **changed),))


def as_read(told: SheetStory) -> str:
    return plain(chamber_tables(told, "")[0].rows[0][1].text)


def test_bare_chamber_readings_have_their_unit_behind_them() -> None:
    assert as_read(of_test(("812", 812.0), ("806", 806.0))) == "812, 806 kPa"
    assert as_read(of_test(("812, 806", 809.0))) == "812, 806 kPa"
    assert as_read(of_test(("810..820", 815.0))) == "810..820 kPa"
    assert as_read(of_test(("under 5", 5.0), unit="%")) == "under 5 %"


def test_a_unit_that_was_written_is_shown_and_not_written_twice() -> None:
    assert as_read(of_test(("8.1 bar", 810.0), ("806", 806.0))) == "8.1 bar, 806 kPa"
    assert as_read(of_test(("6 %", 6.0), unit="%", test="leak_down")) == "6 %"


def test_a_bare_figure_in_another_unit_does_not_get_the_unit_of_the_test() -> None:
    # 118 psi is 813.6 kPa: 1 psi = 6.894757 kPa (NIST SP 811, table B.8)
    assert as_read(of_test(("118", 813.58), read_in="psi")) == "813.6 kPa (written 118 psi)"
    assert as_read(of_test(("not measurable", None))) == "not measurable"


def test_what_is_allowed_between_chambers_has_its_unit() -> None:
    apart = of_test(
        ("812", 812.0),
        ("642", 642.0),
        spread_chambers=170.0,
        state="beyond limit",
        why="chambers 170 apart, at most 150",
    )
    note = plain(chamber_tables(apart, "")[0].note)
    assert "Between chambers of one place: 170 kPa, at most 150 kPa." in note
    assert "Chambers of one place 170 kPa apart, at most 150 kPa." in note


def test_the_last_test_on_the_engines_page_names_the_unit_of_what_is_allowed(tmp_path: Path) -> None:
    assert "allowed min 680 kPa" in read(built(engine(), tmp_path), "engines/K-07/index.md")


def test_a_change_stands_under_its_unit(tmp_path: Path) -> None:
    assert "change, mm" in read(built(engine(), tmp_path), "parts/RB-1042.md")


def test_where_a_sheet_mixes_units_every_figure_of_a_line_has_its_own(tmp_path: Path) -> None:
    told = engine()
    row = told.sheets[-1].measured[0]
    load = replace(row.dimension, id="load", name="Load", unit="N", readings=row.dimension.readings)
    mixed = replace(told.sheets[-1], measured=(row, replace(row, dimension=load)))
    page = read(
        built(replace(told, sheets=(*told.sheets[:-1], mixed)), tmp_path), "engines/K-07/teardowns/2026-10-12.md"
    )
    for figure in ("60.070 mm", "60.087 mm", "+0.0170 mm", "60.070 N", "60.087 N", "+0.0170 N", "± 0.0028 N"):
        assert figure in page


# ── the last strip, the counter, the gaps ────────────────────────────────────────────────────────────────────────────


def test_of_two_strips_on_one_day_the_last_one_is_the_last_strip(tmp_path: Path) -> None:
    told = engine()
    second = replace(
        LAST_STRIP, name="2026-10-12-2", label="Teardown 2026-10-12-2", path="engines/K-07/teardowns/2026-10-12-2/t.yml"
    )
    site = built(replace(told, sheets=(*told.sheets, sheet(second))), tmp_path)
    for path in ("engines/K-07/index.md", "engines/K-07/log.md"):
        cell = page_of(site, path).html.split("<dt>last strip</dt>")[1].split("</div>")[0]
        assert "teardowns/2026-10-12-2" in cell
    strip = page_of(site, "engines/K-07/index.md").html.split('id="strip"')[1].split("</section>")[0]
    assert "teardowns/2026-10-12-2" in strip
    sheets = page_of(site, "engines/K-07/index.md").html.split('id="sheets"')[1]
    assert sheets.index("2026-10-12-2") < sheets.index("T-0412")


@pytest.mark.parametrize(("written", "shown"), [("40.1 h", "counter 40.1 h"), ("39.1", "counter 39.1 h")])
def test_a_counter_that_was_read_stands_beside_the_engines_hours(tmp_path: Path, written: str, shown: str) -> None:
    told = engine()
    sheets = tuple(replace(one, counter=written) for one in told.sheets)
    page = page_of(built(replace(told, sheets=sheets), tmp_path), "engines/K-07/teardowns/2026-10-12.md").html
    cell = plain(Reader(page.split("<dt>engine hours</dt>")[1].split("</div>")[0]).text)
    assert cell == f"40.1 h {shown}, since build 19.1 h"


def test_every_page_counts_the_same_gaps(tmp_path: Path) -> None:
    site = built(engine(), tmp_path)
    overview, page = (page_of(site, f"engines/K-07/{name}.md").html for name in ("index", "gaps"))
    counts = re.findall(r"(\d+)\xa0known gaps", overview) + re.findall(r"(\d+)\xa0known gaps", page)
    assert len(counts) == 3  # over the list, in the way to the page, in the page's answer
    assert set(counts) == {"2"}
    assert sum(int(n) for n in re.findall(r'<h2 id="[^"]+">[^<]+ <span class="right"[^>]*>(\d+)<', page)) == 2


# ── what is due, and why ─────────────────────────────────────────────────────────────────────────────────────────────


def asked(why: str, line: int, member: str = "a1") -> DueStory:
    return DueStory(
        name=f"Apex seals 1, {member}, inspect",
        what="inspect",
        rule="after over-rev",
        part=f"AS-{member}",
        slot_name=f"Apex seals 1, {member}",
        since={"hours": 1.0},
        left={"hours": 0.0},
        due_on=None,
        share=1.0,
        state="overdue",
        last=None,
        because=why,
        source=source("log.yml", line),
    )


def test_two_rules_of_one_name_show_their_reasons(tmp_path: Path) -> None:
    dues = (asked("over-rev on 2026-05-31 at 16:30", 20), asked("over-rev on 2026-06-14", 22))
    page = read(built(replace(engine(), due=dues), tmp_path), "engines/K-07/service.md")
    assert "over-rev on 31 May 2026 at 16:30" in page
    assert "over-rev on 14 Jun 2026" in page
    assert "Overdue: inspect apex seals 1, a1." in page  # named once


def test_what_an_incident_asks_for_before_the_next_run_is_not_due_in_no_hours() -> None:
    assert due_left(replace(asked("over-rev on 2026-05-31", 20), state="due")) == "before it runs again"


def test_what_two_incidents_ask_of_a_set_is_two_lines_of_its_members() -> None:
    members = ("a1", "a2", "a3")
    dues = [asked("over-rev on 2026-05-31", 20, one) for one in members]
    dues += [asked("over-rev on 2026-06-14", 22, one) for one in members]
    assert [one.name for one in sets_joined(dues)] == ["Apex seals 1, all 3, inspect"] * 2


def test_a_reason_stands_beside_the_last_day_that_it_was_done(tmp_path: Path) -> None:
    due = replace(asked("not every run has its km written", 20), last=date(2026, 3, 14), state="due")
    page = read(built(replace(engine(), due=(due,)), tmp_path), "engines/K-07/service.md")
    assert "not every run has its km written" in page
    assert "last done 14 Mar 2026" in page


# ── hours that only the counter shows ────────────────────────────────────────────────────────────────────────────────


def counted() -> EngineStory:
    told = engine()
    first, last = told.log
    log = (first, replace(last, kind="run", what="race", exposure=Exposure(hours=0.8), total_hours=6.4))
    return replace(told, log=log, total=Exposure(hours=7.5))


def test_hours_that_no_run_accounts_for_are_found_between_the_lines_and_after_them() -> None:
    told = counted()  # 2.4 run, then 6.4 after a run of 0.8, now 7.5
    assert hours_without_a_run(told.log, 7.5) == pytest.approx((0.0, 3.2, 1.1))
    assert hours_without_a_run((), 2.0) == (2.0,)
    assert hours_without_a_run(told.log[:1], 2.4 + 1e-12) == (0.0, 0.0)


def test_the_run_log_says_which_hours_are_the_counters_alone(tmp_path: Path) -> None:
    page = page_of(built(counted(), tmp_path), "engines/K-07/log.md").html
    assert "4.3 h of these are known from the counter alone" in plain(Reader(page).text)
    rows = [plain(Reader(row).text) for row in page.split('id="log"')[1].split("<tr>")[2:]]
    assert [row.startswith("by ") for row in rows] == [True, False, True, False]
    assert "By the counter alone" in rows[2]
    assert "no run of the log accounts for these hours3.25.6" in rows[2]
    assert "1.17.5" in rows[0]


def test_a_figure_of_the_log_does_not_part_from_its_unit(tmp_path: Path) -> None:
    told = engine()
    log = (replace(told.log[0], words=(("water max", "97 °C"), ("did", "oil, filter"))),)
    page = page_of(built(replace(told, log=log), tmp_path), "engines/K-07/log.md").html
    assert "water max 97\xa0°C, did oil, filter" in page


# ── why it is near its limit ─────────────────────────────────────────────────────────────────────────────────────────


def near(chance: float, used: float) -> EngineStory:
    told = engine()
    dimension = replace(bore(), state="near limit", chance=chance, allowance=Allowance(used, used, used, "max"))
    part = replace(bearing(), state="near limit", dimensions=(dimension,))
    stopper = replace(told.shortlist[0], dimension=dimension, share=used)
    return replace(told, parts=(part,), shortlist=(stopper,))


def test_near_at_a_low_share_says_that_the_chance_of_lasting_the_plan_makes_it_so(tmp_path: Path) -> None:
    site = built(near(0.62, 0.31), tmp_path)
    words = "near because the chance of lasting the plan is 62 %, wanted 90 %"
    for path in ("parts/RB-1042.md", "engines/K-07/index.md", "index.md"):
        assert words in read(site, path), path
    state = page_of(site, "parts/RB-1042.md").html.split("<dt>state</dt>")[1].split("</div>")[0]
    assert words in plain(Reader(state).text)


def test_near_at_a_high_share_says_that_the_share_makes_it_so(tmp_path: Path) -> None:
    assert "near because over 75 % is used" in read(built(near(0.95, 0.81), tmp_path), "parts/RB-1042.md")


def test_a_chance_just_under_the_one_wanted_is_not_shown_as_the_same_figure() -> None:
    dimension = near(0.898, 0.31).parts[0].dimensions[0]
    assert plain(near_words(dimension, 0.9)).endswith("is just under the 90 % that are wanted")
    assert near_words(replace(dimension, state="within"), 0.9) == ""


# ── where lines break ────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_sheet_without_a_number_is_named_by_a_day_that_does_not_break(tmp_path: Path) -> None:
    page = page_of(built(engine(), tmp_path), "engines/K-07/builds/2025-02-20.md").html
    assert "Build 20\xa0Feb\xa02025" in page.split("</h1>")[0]


def test_days_as_records_write_them_stand_whole_and_paths_break_elsewhere() -> None:
    whole = '<span class="day">2026-06-01</span>'
    assert with_line_breaks("<td>Teardown 2026-06-01</td>") == f"<td>Teardown {whole}</td>"
    path = with_line_breaks("<td>engines/K-07/teardowns/2026-06-01/teardown.yml:14</td>")
    assert f"<wbr>{whole}<wbr>" in path
    assert Reader(path).text == "engines/K-07/teardowns/2026-06-01/teardown.yml:14"


def test_long_words_get_places_to_break_and_lose_no_letter() -> None:
    word = "RB1041" + "X" * 27 + "-" + "7" * 26
    html = with_line_breaks(f"<td>{word} &amp; 60.061\xa0mm</td>")
    assert Reader(html).text == f"{word} & 60.061\xa0mm"
    assert max(len(piece) for piece in re.split(r"<wbr>|\s|<[^>]*>", html)) <= 20
    assert "60.061\xa0mm</td>" in html


def test_tags_and_drawings_are_left_as_they_are() -> None:
    drawn = f'<a href="{"x" * 30}/2026-06-01"><svg><svg></svg><text>2026-06-01 {"y" * 30}</text></svg></a>'
    assert with_line_breaks(drawn) == drawn
    assert with_line_breaks(f"<p>{'&amp;' * 21}</p>") == f"<p>{'&amp;' * 12}<wbr>{'&amp;' * 9}</p>"
