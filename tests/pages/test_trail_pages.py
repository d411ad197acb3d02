"""Pages of the trail, of the review before a sale, and the summary that a buyer opens first."""

import re
import subprocess
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from review.shop_for_review import BUILD, CLEAN, LOG, PHOTO, STRIP, Shop, clean_shop

from engine_pages.cli import main
from engine_pages.pages.cache import Cache
from engine_pages.pages.one_edition import site_for
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit, Folder

TODAY = date(2026, 6, 1)
EDITIONS = ("crew", "owner", "buyer")
SILENT = CLEAN[STRIP].replace("60.023", "60.013")
EXPLAINED = SILENT.replace("{measured: {inside: 60.013},", "{measured: {inside: 60.013}, correction: One turn.,")
UNSIGNED = CLEAN[BUILD].replace("by: RK", "correction: He was not the only one who built it.")


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\u2060", "")


def pages(shop: Shop, edition: str) -> dict[str, str]:
    """Every page's HTML by its path: the crew's of the folder as it lies, others of the last commit."""
    tree = Folder(shop.folder) if edition == "crew" else Commit(shop.folder, "HEAD")
    checked = read_checked(tree, TODAY, repository_of(shop.folder))
    site = site_for(checked, "E1", edition, Cache(shop.folder.parent / "cache"))  # type: ignore[arg-type]  # an edition
    return {page.path: page.html for page in site.pages}


@pytest.fixture
def corrected(tmp_path: Path) -> Shop:
    return clean_shop(tmp_path / "shop").write({STRIP: EXPLAINED}).commit("2026-05-20", "Thimble read wrong")


def test_a_sheet_says_when_it_was_recorded_and_what_was_corrected_since(corrected: Shop) -> None:
    page = words(pages(corrected, "crew")["engines/E1/teardowns/2026-05-02.md"])
    assert "recorded 1 day after" in page
    assert "Corrected since 1 correction, the newest first" in page
    assert "60.023 60.013 20 May 2026" in page
    assert "“One turn.” Rikke Kalverd: Thimble read wrong" in page


def test_a_sheets_head_names_the_commit_that_recorded_it_and_leads_to_what_was_corrected(corrected: Shop) -> None:
    git = ["git", "-C", str(corrected.folder), "log", "--format=%h", "--abbrev=7", "--reverse", "--", STRIP]
    recorded, last = subprocess.run(git, check=True, capture_output=True, text=True).stdout.split()
    page = pages(corrected, "crew")["engines/E1/teardowns/2026-05-02.md"]
    head = page[page.index("</style>") : page.index("<h2")]
    assert f"commit {recorded} recorded 1 day after" in words(head)
    assert last not in head
    assert '<a href="#corrected">1\N{NO-BREAK SPACE}correction since.</a>' in head
    assert 'id="corrected"' in page


@pytest.mark.parametrize("edition", ["crew", "buyer"])
def test_a_reading_that_was_corrected_is_marked_in_its_row(corrected: Shop, edition: str) -> None:
    page = pages(corrected, edition)["engines/E1/teardowns/2026-05-02.md"]
    (mark,) = re.findall('<a href="#corrected">(corrected [^<]+)</a>', page)
    assert words(mark) == "corrected 20 May 2026"
    before = page[: page.index(mark)]
    assert "inside" in before[before.rindex("<tr") :]


def test_the_page_of_corrections_keeps_both_figures(corrected: Shop) -> None:
    page = words(pages(corrected, "crew")["engines/E1/corrections.md"])
    assert "1 entry was corrected after being recorded." in page
    assert "Every sheet was recorded 1 day after the work." in page
    assert "bearing › inside" in page
    assert "What was there stays in the history." in page


def test_a_strip_that_was_taken_out_is_told_to_its_buyer(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({STRIP: None}).commit("2026-05-20", "Tidied up")
    site = pages(shop, "buyer")
    page = words(site["engines/E1/corrections.md"])
    assert "1 record was taken out." in page
    assert "Taken out: teardowns/2026-05-02/teardown.yml 20" in page.replace("/ ", "/").replace(" /", "/")
    assert "Tidied up" not in page
    assert "recorded on 3 May 2026, and taken out on 20 May 2026" in words(site["index.md"])
    shop.write({STRIP: CLEAN[STRIP]}).commit("2026-05-21")
    page = words(pages(shop, "buyer")["engines/E1/corrections.md"])
    assert "1 record was taken out, 1 record was put back." in page


def test_an_owner_reads_corrections_without_names_and_messages(corrected: Shop) -> None:
    of_owner = pages(corrected, "owner")
    page = words(of_owner["engines/E1/corrections.md"])
    assert "60.023 60.013 20 May 2026" in page
    assert "“One turn.”" in page
    everything = " ".join(map(words, of_owner.values()))
    assert "Rikke" not in everything
    assert "Thimble" not in everything


def test_what_is_not_committed_is_a_draft_on_the_crews_pages_and_nowhere_else(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({STRIP: SILENT})
    crew = pages(shop, "crew")
    assert "Draft: 1 record is not committed." in words(crew["engines/E1/teardowns/2026-05-02.md"])
    assert "Draft: 1 record is not committed." in words(crew["engines/E1/index.md"])
    assert "60.013" in words(crew["engines/E1/teardowns/2026-05-02.md"])
    of_owner = " ".join(map(words, pages(shop, "owner").values()))
    assert "Draft" not in of_owner
    assert "60.013" not in of_owner


def test_the_review_is_a_page_of_the_crew_alone(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({BUILD: UNSIGNED}).commit("2026-05-20")
    page = words(pages(shop, "crew")["engines/E1/review.md"])
    assert "1 point open, of 1 kind." in page
    assert "Sheets that nobody signed" in page
    assert "under answers:, by the line below the point." in page
    to_copy = "- {point: unsigned, where: builds/2026-03-07.yml, answer: …, by: …, date: …}"
    assert to_copy.replace(" ", "") in page.replace(" ", "")  # lines may break in a path
    assert "Nobody can be asked about it. To settle it: write by: with initials that shop.yml knows." in page
    assert all("engines/E1/review.md" not in pages(shop, edition) for edition in ("owner", "buyer"))


def test_a_buyer_opens_the_sale_summary_first(tmp_path: Path) -> None:
    left_out = "left_out: [{point: no-torque, why: Old papers., by: RK, date: 2026-05-21}]\n"
    answered = "answers: [{point: unsigned, answer: RK built it., by: RK, date: 2026-05-21}]\n"
    first = UNSIGNED.replace("torque: {tension_bolt: 40 Nm}", "")
    shop = clean_shop(tmp_path / "shop").write(
        {BUILD: first, STRIP: SILENT, "engines/E1/review.yml": answered + left_out}
    )
    page = words(pages(shop.commit("2026-05-21"), "buyer")["index.md"])
    assert "E1 Sale summary" in page
    assert "2 points of the record and 2 corrections are listed below. 1 point is left out by the seller." in page
    assert "Lives" in page
    signed = "Sheets that nobody signed: Build 7 Mar 2026 : nobody signed it. “RK built it.” RK, 21 May 2026"
    assert signed in page  # the sheet is a link, whose end is a blank here
    assert "Old papers." not in page
    assert "60.023 60.013" in page
    assert "Every sheet was recorded 1 day after the work." in page


def test_from_the_summary_to_a_reading_its_gauge_and_its_correction_are_three_steps(corrected: Shop) -> None:
    site = pages(corrected, "buyer")
    ways = {path: set(re.findall(r'href="([^"#]+)', html)) for path, html in site.items()}
    assert "parts/B-1.html" in ways["index.md"]
    assert "bore" in words(site["parts/B-1.md"])
    assert "../engines/E1/teardowns/2026-05-02.html" in ways["parts/B-1.md"]
    assert "60.023 60.013" in words(site["engines/E1/teardowns/2026-05-02.md"])
    assert "engine.html" in ways["index.md"]


@pytest.mark.parametrize("more", [[], ["--engine", "E1"]], ids=["shop", "engine"])
def test_the_crews_export_holds_the_trail_and_the_review(corrected: Shop, tmp_path: Path, more: list[str]) -> None:
    to = tmp_path / "plain"
    done = CliRunner().invoke(main, ["export", "--records", str(corrected.folder), "--to", str(to), *more])
    assert done.exit_code == 0, done.output
    read = {
        name: words(next(to.rglob(f"{name}.html")).read_text(encoding="utf-8")) for name in ("corrections", "review")
    }
    assert "60.023 60.013 20 May 2026" in read["corrections"]
    assert "Not reviewed" not in read["review"]
    assert "What a buyer asks" in read["review"] or "Who built it" in read["review"]


def test_a_point_leads_to_its_sheet_before_a_sale_and_in_the_summary(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({BUILD: CLEAN[BUILD].replace("by: RK", "")}).commit("2026-05-20")
    sheet = "builds/2026-03-07.html"
    crew, buyer = pages(shop, "crew")["engines/E1/review.md"], pages(shop, "buyer")["index.md"]
    assert f'href="{sheet}"' in crew[crew.index('id="unsigned"') :].split("</ul>")[0]
    gaps = buyer[buyer.index('id="gaps"') :].split("</ul>")[0]
    assert f'href="engines/E1/{sheet}"' in gaps
    assert "point: unsigned" not in gaps  # the line to answer with is the builder's


def test_what_was_written_long_after_is_told_with_the_days_of_the_sheets(tmp_path: Path) -> None:
    blank = CLEAN[STRIP].replace("{measured: {inside: 60.023}, decision: reuse}", "")
    more = CLEAN[LOG] + "- {date: 2026-02-14, kind: service, did: [oil], correction: From the diary.}\n"
    shop = clean_shop(tmp_path / "shop").write({STRIP: blank}).commit("2026-05-04")
    page = words(pages(shop.write({STRIP: CLEAN[STRIP], LOG: more}).commit("2026-11-20"), "buyer")["index.md"])
    assert "2 entries of sheets were written 202 days after the work." in page.replace("\xa0", " ")
    assert "1 line of the log was written 279 days after its day." in page.replace("\xa0", " ")
    page = words(pages(shop, "buyer")["engines/E1/corrections.md"])
    assert "did [oil]" in page
    assert "From the diary" not in page  # what is written beside a line of the log stays with the crew
    assert "“From the diary.” 20" in words(pages(shop, "crew")["engines/E1/corrections.md"])


def test_a_reason_that_was_written_later_stands_beside_the_figure_with_its_own_day(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({STRIP: SILENT}).commit("2026-05-20")
    page = words(pages(shop.write({STRIP: EXPLAINED}).commit("2026-05-25"), "buyer")["engines/E1/corrections.md"])
    assert "“One turn.”, written 25" in page
    assert "no reason written" not in page


def test_an_exchanged_photo_has_a_row_on_corrections_and_counts_in_its_claim(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({PHOTO: "another"}).commit("2026-05-20", "Better light")
    of_crew, of_buyer = (words(pages(shop, edition)["engines/E1/corrections.md"]) for edition in ("crew", "buyer"))
    for page in (of_crew, of_buyer):
        assert "No entries were corrected after being recorded; 1 photo was exchanged." in page.replace("\xa0", " ")
        assert "Both pictures stay in the history." in page
    assert "bearing, bearing.jpg Build 7 Mar 2026 no reason written, 20 May 2026" in of_crew
    assert "Rikke Kalverd: Better light" in of_crew
    assert "Photo exchanged: bearing Build 7 Mar 2026 no reason written, 20 May 2026" in of_buyer
    assert "bearing.jpg" not in of_buyer
    assert "Rikke" not in of_buyer
    assert "a photo of bearing was exchanged on 20 May 2026" in words(pages(shop, "crew")["engines/E1/review.md"])
    assert "a photo of bearing was exchanged on 20 May 2026" in words(pages(shop, "buyer")["index.md"])


def test_of_an_exchanged_photo_of_the_crews_a_buyer_reads_the_day_alone(tmp_path: Path) -> None:
    hidden = CLEAN[BUILD].replace("view: whole}", "view: whole, crew_only: yes}")
    shop = clean_shop(tmp_path / "shop").write({BUILD: hidden}).commit("2026-05-12")
    site = pages(shop.write({PHOTO: "another"}).commit("2026-05-20"), "buyer")
    assert "Photo exchanged: 20 May 2026" in words(site["engines/E1/corrections.md"])
    assert "A photo was exchanged on 20 May 2026, and nothing says why" in words(site["index.md"])
    assert "bearing.jpg" not in " ".join(site.values())


def test_whoever_reads_no_other_engine_is_told_why_the_shops_own_figures_may_differ(corrected: Shop) -> None:
    said = {one: "the shop’s own figures may differ" in "".join(pages(corrected, one).values()) for one in EDITIONS}
    assert said == {"crew": False, "owner": True, "buyer": True}
