"""A bench page renewed at its address: the newer one is kept and said, and never put under a draft by itself."""

import threading
from collections.abc import Iterator
from datetime import date
from functools import partial
from http.server import ThreadingHTTPServer
from pathlib import Path

import pytest
from browser.conftest import RECORDS, Phone, Quiet, begin, to_place, until

from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

pytestmark = pytest.mark.browser


class Lasting(Quiet):
    """Serves a folder whose files a browser may keep for an hour without asking again, as many hosts do."""

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "max-age=3600")
        super().end_headers()


def put_page(site: Path, day: date) -> None:
    """K-07's page as it is made on a day."""
    checked = read_checked(Folder(RECORDS), day)
    for path, made in bench_pages(checked, [tell_one(checked, "K-07")[0]]).items():
        (site / path).parent.mkdir(parents=True, exist_ok=True)
        (site / path).write_bytes(made())


@pytest.fixture
def lasting(tmp_path: Path) -> Iterator[tuple[Path, str]]:
    site = tmp_path / "site"
    put_page(site, date(2026, 11, 25))
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Lasting, directory=str(site)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield site, f"http://127.0.0.1:{server.server_address[1]}/bench/K-07/index.html"
    server.shutdown()
    server.server_close()


def test_a_newer_page_is_said_and_shown_after_a_reload(phone: Phone, lasting: tuple[Path, str]) -> None:
    site, address = lasting
    page = phone.page
    begin(page, address, "Teardown", "2026-11-24")
    until(page, "navigator.serviceWorker.controller !== null")
    assert page.get_by_text("A newer page is ready").count() == 0
    to_place(page, "Rotor 1")
    page.get_by_label("Finding").fill("typed before it came")

    put_page(site, date(2026, 12, 1))
    page.evaluate("navigator.serviceWorker.getRegistration().then((one) => one.update()).then(() => true)")
    page.get_by_text("A newer page is ready").wait_for()
    assert page.get_by_label("Finding").input_value() == "typed before it came"
    page.get_by_role("button", name="Next", exact=True).click()
    assert page.get_by_text("A newer page is ready").is_visible()

    page.get_by_role("button", name="Reload").click()
    page.get_by_text("A newer page is ready").wait_for(state="detached")
    page.get_by_role("button", name="Places").click()
    page.get_by_role("button", name="All sheets").click()
    page.get_by_text("as of 2026-12-01").wait_for()
