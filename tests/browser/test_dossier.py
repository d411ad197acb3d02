"""The dossier on paper: what stands first, in which order the rest comes, on how many sheets."""

import re
import shutil
from pathlib import Path
from typing import NamedTuple

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import Browser, ViewportSize, expect
from pypdf import PdfReader

from engine_pages.cli import main

from .conftest import DESKTOP, PHONE, Visit

pytestmark = pytest.mark.browser

# Sheets of K-07's history: 6 strips, 5 builds and inspections, 41 runs. Here it was 45 and 47, and 49 with a sale
# summary; the fonts of another machine may carry a chapter's last lines over an edge here and there, and no more than
# that is let through.
SHEETS = {("owner", "A4"): (43, 47), ("owner", "Letter"): (45, 50), ("buyer", "A4"): (47, 51)}
SIZES = {"A4": (595, 842), "Letter": (612, 792)}  # points, 72 to the inch (PDF 32000-1, 8.3.2.3)
MOST_WORDS_ALONE = 40  # on a sheet with fewer a chapter's end would stand alone
CONTENTS = (
    "Where it stands", "Parts and their lives", "B-0370, build, 31 Oct 2026", "T-0412, teardown, 17 Oct 2026",
    "I-0108, inspection, 11 Jul 2026", "B-0361, build, 14 Feb 2026", "T-0394, teardown, 8 Nov 2025",
    "B-0353, build, 5 Jul 2025", "T-0385, teardown, 21 Jun 2025", "I-0096, inspection, 18 Jun 2025",
    "B-0349, build, 25 Jan 2025", "T-0371, teardown, 9 Nov 2024", "B-0344, build, 17 Feb 2024", "Run log", "Fluids",
    "Service", "Compression and leak-down", "Events", "Limits", "Gaps", "Corrections", "What this is not",
)  # fmt: skip
OF_A_BUYER = ("Sale summary", "Parts and their lives", "Where it stands", *CONTENTS[2:])
MARGIN = re.compile(r"K-07, as of 15 Nov 2026, commit [0-9a-f]{7}")


def contents_of(edition: str) -> tuple[str, ...]:
    return OF_A_BUYER if edition == "buyer" else CONTENTS


def flat(text: str) -> str:
    return " ".join(text.replace("\u2060", "").split()).replace("– ", "–")  # the sign that keeps a range on one line


class Printed(NamedTuple):
    """A dossier on paper, and the text of each sheet: reading a PDF takes longer than printing it."""

    edition: str
    paper: str
    pdf: PdfReader
    sheets: list[str]


@pytest.fixture(scope="module", params=[("owner", "A4"), ("owner", "Letter"), ("buyer", "A4")], ids=" on ".join)
def printed(
    request: pytest.FixtureRequest, shared_shop: Path, chromium: str, tmp_path_factory: pytest.TempPathFactory
) -> Printed:
    """K-07's dossier in one edition on one paper, by the command."""
    edition, paper = request.param
    assert shutil.which(chromium)
    out = tmp_path_factory.mktemp("paper") / "K-07.pdf"
    asked = ["print", "K-07", "--records", str(shared_shop), "--edition", edition, "--to", str(out), "--paper", paper]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    pdf = PdfReader(out)
    return Printed(edition, paper, pdf, [page.extract_text() for page in pdf.pages])


def test_the_first_sheet_says_whose_history_it_is_how_it_stands_and_what_is_in_it(printed: Printed) -> None:
    edition, _, pdf, sheets = printed
    text = flat(sheets[0])
    first = [
        "History of K-07",
        "Ostrand Row Engine Works",
        "Rotor bearing 1 stops it first, in about 6–12 h.",
        "Contents",
    ]
    wanted = [*first, *contents_of(edition)]
    places = [text.find(one) for one in wanted]
    assert -1 not in places, wanted[places.index(-1)]
    assert places == sorted(places)
    assert MARGIN.search(text[: text.find("Rotor bearing 1")])  # the day and the commit, under the title
    assert ("The plan asks for" in text) == (edition == "owner")
    assert len(pdf.pages[0].images) == 1


def test_every_chapter_follows_in_order(printed: Printed) -> None:
    edition, _, _, sheets = printed
    text = flat(" ".join(sheets[1:]))
    at = text.find("K-07")
    for chapter in contents_of(edition)[1:]:
        at = text.find(chapter, at)
        assert at >= 0, chapter


def test_the_contents_lead_to_each_chapter(printed: Printed) -> None:
    # Without page numbers where Chromium prints: it knows no target-counter. The links inside the file work.
    edition, _, pdf, _ = printed
    names = [str(note.get_object().get("/Dest", "")).lstrip("/") for note in pdf.pages[0]["/Annots"]]
    assert len(names) == len(contents_of(edition))
    pages = [
        pdf.get_destination_page_number(
            pdf.named_destinations[f"/{name}" if f"/{name}" in pdf.named_destinations else name]
        )
        for name in names
    ]
    assert pages == sorted(pages)
    assert (pages[0], pages[-1]) == (1, len(pdf.pages) - 1)


def test_parts_that_are_out_are_told_apart_by_the_day_on_which_they_came_out(printed: Printed) -> None:
    text = flat(" ".join(printed.sheets))
    text = MARGIN.sub("", text[text.rfind("Parts and their lives") :])
    # Two sets of springs without a serial were in the same place one after the other.
    springs = re.findall(r"Apex springs 1 Apex springs [\d.]+ h out (\d+ \w+ \d{4}) known", text)
    assert springs == ["21 Jun 2025", "17 Oct 2026"]
    # Without a word of its origin a part is taken as new, and said to be, with a serial or without.
    assert re.search(r"Engine Assembled engine 11\.6 h out 9 Nov 2024 taken as new", text)


def test_engine_day_commit_and_number_stand_on_every_sheet(printed: Printed) -> None:
    sheets = printed.sheets
    commits = set()
    for number, sheet in enumerate(sheets, 1):
        text = flat(sheet)
        found = MARGIN.search(text)
        assert found, f"sheet {number}"
        commits.add(found[0])
        assert f"{number} of {len(sheets)}" in text
    assert len(commits) == 1


def test_it_takes_as_many_sheets_as_expected_and_none_is_blank(printed: Printed) -> None:
    edition, paper, pdf, sheets = printed
    fewest, most = SHEETS[edition, paper]
    assert fewest <= len(pdf.pages) <= most
    for number, (page, sheet) in enumerate(zip(pdf.pages, sheets, strict=True), 1):
        assert len(sheet.split()) > MOST_WORDS_ALONE, f"sheet {number}"
        assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == SIZES[paper]


def test_no_heading_stands_last_on_a_sheet(printed: Printed) -> None:
    sheets = printed.sheets
    headings = (
        *CONTENTS,
        "What was fitted",
        "What was measured",
        "What was seen",
        "What was found",
        "Note",
        "Also on this sheet",
    )
    for number, sheet in enumerate(sheets[1:], 2):  # the first ends with the contents
        lines = [one.strip() for one in sheet.splitlines() if one.strip()]
        body = [one for one in lines if not MARGIN.search(one) and one != f"{number} of {len(sheets)}"]
        alone = re.fullmatch(rf"({'|'.join(headings)})( \d+ \w+)?", body[-1])  # with what stands at its right
        assert not alone, f"sheet {number} ends with {body[-1]}"


def test_nothing_on_paper_leads_to_a_file_or_names_a_folder_of_the_machine(printed: Printed) -> None:
    notes = [note.get_object() for page in printed.pdf.pages for note in page.get("/Annots", [])]
    assert len(notes) > 40
    assert [note for note in notes if "/A" in note and "/URI" in note["/A"]] == []


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_on_a_screen_it_has_a_main_part_and_axe_finds_nothing_serious(
    browser: Browser, owner_address: str, size: ViewportSize
) -> None:
    context = browser.new_context(viewport=size)
    visit = Visit(context, owner_address)
    page = visit.open("dossier.html")
    assert page.locator("main").count() == 1
    assert page.locator("main .chapter").count() == len(CONTENTS)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    assert [one["id"] for one in found if one["impact"] in ("serious", "critical")] == []
    assert [one["id"] for one in found if one["id"].startswith(("landmark", "region"))] == []
    assert (visit.said, visit.elsewhere) == ([], [])
    back = page.get_by_role("link", name="Back to the site")
    assert back.is_visible()
    page.emulate_media(media="print")
    assert not back.is_visible()  # on paper it leads nowhere
    assert page.locator(".by-hand").count() > 0
    assert page.locator(".by-hand:visible").count() == 0  # lines for a pencil are for the bench
    page.emulate_media(media="screen")
    back.click()
    expect(page.get_by_role("link", name="All of it on one page, for paper").first).to_be_visible()
    context.close()
