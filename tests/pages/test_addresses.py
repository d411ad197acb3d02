"""Addresses: every page has one of its own, and every way between two pages leads there, wherever the site stands."""

from datetime import date
from itertools import product
from urllib.parse import urljoin

import pytest

from engine_pages.history.story import SheetRef
from engine_pages.pages.addresses import (
    FRONT,
    PartAddresses,
    engine_path,
    link,
    list_path,
    photo_path,
    place,
    sheet_path,
)
from engine_pages.records.ids import is_id

STRIP = SheetRef(
    "teardown", "K-07", "2026-10-12-2", "T-0412", date(2026, 10, 12), "engines/K-07/teardowns/x/teardown.yml"
)
PATHS = [FRONT, engine_path("K-07"), list_path("K-07", "log"), sheet_path(STRIP), "parts/RB.1042.md"]


@pytest.mark.parametrize("directory_urls", [False, True])
@pytest.mark.parametrize(("source", "target"), list(product(PATHS, PATHS)))
def test_a_link_leads_from_any_page_to_any_other(source: str, target: str, directory_urls: bool) -> None:
    for root in ("https://history.example/s/token/", "file:///media/stick/"):
        start = root + place(source, directory_urls)
        if directory_urls:
            start = start.removesuffix("index.html")
        reached = urljoin(start, link(source, target, directory_urls))
        wanted = root + place(target, directory_urls)
        assert reached in (wanted, wanted.removesuffix("index.html"))


def test_links_lead_nowhere_else() -> None:
    assert not any(link(source, target).startswith(("/", "http")) for source, target in product(PATHS, PATHS))


def test_a_link_to_a_photo_is_the_same_with_and_without_folders() -> None:
    photo = photo_path("K-07", "teardown-2026-10-12-rotor-bearing-2-01", 480)
    assert link(engine_path("K-07"), photo) == "photos/teardown-2026-10-12-rotor-bearing-2-01-480.jpg"
    assert link(engine_path("K-07"), photo, directory_urls=True) == link(engine_path("K-07"), photo)


def test_parts_that_differ_in_case_alone_do_not_share_a_page() -> None:
    paths = PartAddresses.of(["RB-1042", "rb-1042", "Rb-1042"])
    assert len({(paths.path(part) or "").casefold() for part in ("RB-1042", "rb-1042", "Rb-1042")}) == 3


@pytest.mark.parametrize(
    "serial", ["RB/10 42", "index", "README", "..", ".hidden", "a" * 80, "größe", "K-07.apex-seals-1/a1"]
)
def test_any_serial_makes_an_address_that_a_server_can_serve(serial: str) -> None:
    stem = PartAddresses.of([serial]).stems[serial]
    assert is_id(stem)
    assert stem.lower() not in ("index", "readme")
    assert not stem.startswith(".")


def test_long_serials_that_begin_alike_do_not_share_a_page() -> None:
    stems = PartAddresses.of(["x" * 70 + "1", "x" * 70 + "2"]).stems
    assert len(set(stems.values())) == 2


def test_an_engine_has_no_page_that_is_not_known() -> None:
    with pytest.raises(ValueError, match="season"):
        list_path("K-07", "season")
