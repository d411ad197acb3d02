"""What a maintenance entry and a life-limited part's status must hold, against 14 CFR 43.9, 43.11 and 91.417.

US Code of Federal Regulations, title 14: 43.9(a) (entries for maintenance), 43.11(a) (entries for inspections),
91.417(a) (records that an owner keeps). The facts in our words, from memory; competition engines are under none of
these rules, which are the best known written answer to "what does an entry need to be believed". For each content the
record's field and the page that carries it, or why a competition engine has none.
"""

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest
from review.shop_for_review import CLEAN, REBUILD, STRIP, clean_shop

from engine_pages.pages.cache import Cache
from engine_pages.pages.one_edition import site_for
from engine_pages.records.checks.all import read_checked
from engine_pages.records.engine import EngineFile, PartFile
from engine_pages.records.family import Service
from engine_pages.records.git import repository_of
from engine_pages.records.log import LogLine
from engine_pages.records.model import Model
from engine_pages.records.sheet import PositionLine, Sheet, Work
from engine_pages.records.tree import Folder

TEARDOWN, ENGINE, PART = "engines/E1/teardowns/2026-05-02.md", "engines/E1/index.md", "parts/B-1.md"
INSPECTION = "engines/E1/inspections/2026-05-16.md"


@dataclass(frozen=True)
class Content:
    """One thing that an entry must hold: the field of a record, the page, and what stands on it."""

    section: str
    what: str
    field: tuple[type[Model], str]
    page: str
    shown: str


CARRIED = [
    Content("43.9(a)(1)", "what was done", (Work, "did"), TEARDOWN, "bored"),
    Content("43.9(a)(2)", "the day on which it was completed", (Sheet, "date"), TEARDOWN, "2 May 2026"),
    Content("43.9(a)(3)", "who did it", (Sheet, "by"), TEARDOWN, "RK"),
    Content("43.9(a)(4)", "who signs for it", (Sheet, "by"), TEARDOWN, "RK"),
    Content("43.11(a)(1)", "the kind of inspection and its extent", (Sheet, "reason"), TEARDOWN, "planned"),
    Content("43.11(a)(2)", "the day of the inspection", (Sheet, "date"), INSPECTION, "16 May 2026"),
    Content("43.11(a)(2)", "total time in service at it", (LogLine, "hours"), INSPECTION, "3.5 h"),
    Content(
        "43.11(a)(5)", "what was found that is not in order", (PositionLine, "finding"), TEARDOWN, "One line felt."
    ),
    Content("43.11(a)(5)", "whether it goes back into service", (PositionLine, "decision"), TEARDOWN, "reuse"),
    Content("91.417(a)(2)(i)", "total time in service of each engine", (LogLine, "hours"), ENGINE, "3.5 h"),
    Content("91.417(a)(2)(ii)", "status of life-limited parts", (Service, "replace"), PART, "every 30 h"),
    Content("91.417(a)(2)(ii)", "a part's life before this engine", (PartFile, "prior"), PART, "before these records"),
    Content("91.417(a)(2)(iii)", "time since last overhaul", (Sheet, "date"), ENGINE, "since build"),
    Content("91.417(a)(2)(iv)", "inspection status", (Service, "inspect"), PART, "every 20 h"),
    Content("91.417(a)(1)", "which engine it is", (EngineFile, "stamped"), ENGINE, "stamped ORW 0001"),
]
NOT_CARRIED = {
    "43.9(a)(4), 43.11(a)(3): certificate number and kind": "no authority certifies who builds a competition engine; "
    "initials that shop.yml knows stand for the signature, and a signed commit is shown as such",
    "43.11(a)(4): statement that it is airworthy": "no certificate of fitness is given, and the pages say so",
    "91.417(a)(2)(v): status of airworthiness directives": "there are none; a maker's bulletin goes into the log",
    "91.417(a)(2)(vi): forms of major alterations": "there are none; what was machined stands under work:",
}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    top: Path = tmp_path_factory.mktemp("entries")
    strip = CLEAN[STRIP].replace("60.023}, decision", "60.023}, finding: One line felt., decision")
    limited = CLEAN["families/single.yml"].replace("{hours: 30}", "{hours: 30}, inspect: {hours: 20}")
    look = "engine: E1\ndate: 2026-05-16\nby: RK\npositions: {bearing: {measured: {inside: 60.031}}}\n"
    files = {
        STRIP: strip.rstrip() + "\n        work: [{part: B-1, did: bored, dimensions: [inside], size: 60.03}]\n",
        "parts/B-1.yml": "serial: B-1\nkind: bearing\norigin: used\nprior: {hours: 4}\n",
        "families/single.yml": limited,
        "engines/E1/inspections/2026-05-16.yml": look,
        REBUILD: CLEAN[REBUILD],
    }
    shop = clean_shop(top / "shop").write(files).commit("2026-05-17")
    checked = read_checked(Folder(shop.folder), date(2026, 6, 1), repository_of(shop.folder))
    site = site_for(checked, "E1", "crew", Cache(top / "cache"))
    return {page.path: re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.html)) for page in site.pages}


@pytest.mark.parametrize("content", CARRIED, ids=lambda one: f"{one.section} {one.what}")
def test_an_entry_holds_what_14_cfr_asks_of_it_against_43_9_43_11_and_91_417(
    pages: dict[str, str], content: Content
) -> None:
    model, name = content.field
    assert name in model.model_fields
    assert content.shown in pages[content.page].replace("\u00a0", " ").replace("\u2060", "")


def test_no_page_states_that_an_engine_is_fit(pages: dict[str, str]) -> None:
    assert all(why for why in NOT_CARRIED.values())
    assert all(
        "no certificate of fitness" in page for path, page in pages.items() if path.startswith(("engines/", "parts/"))
    )
