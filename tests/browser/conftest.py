"""A browser, and the demo's site behind an address of this machine: built once for all browser tests."""

import shutil
import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from engine_pages.plugins.build import build_site
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

RECORDS = Path(__file__).parents[2] / "records"
PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
# without these the browser asks the closed network for things of its own
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


class Quiet(SimpleHTTPRequestHandler):
    """Serves a folder and says nothing."""

    def log_message(self, format: str, *args: object) -> None:
        """Each request is the test's own; nobody reads them."""


def serve(folder: Path) -> ThreadingHTTPServer:
    """A server of one folder on this machine alone."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's site, built as the command builds it."""
    out = tmp_path_factory.mktemp("site")
    build_site(RECORDS, out)
    return out


@pytest.fixture(scope="session")
def address(site: Path) -> Iterator[str]:
    server = serve(site)
    yield f"http://127.0.0.1:{server.server_address[1]}"
    server.shutdown()
    server.server_close()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        pytest.skip("no Chromium on this machine: the browser tests were not run")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield started
        started.close()


class Visit:
    """One page open in one window, with everything it said and asked for."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.page: Page = context.new_page()
        self.address = address
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text) if message.type == "error" else None)
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))

    def open(self, path: str) -> Page:
        self.page.goto(f"{self.address}/{path}", wait_until="load")
        return self.page

    @property
    def elsewhere(self) -> list[str]:
        """What was asked of any other host."""
        return [url for url in self.asked if not url.startswith((self.address, "data:", "blob:"))]


@pytest.fixture(params=["phone", "desktop"])
def size(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(params=["light", "dark"])
def scheme(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def visit(browser: Browser, address: str, size: str, scheme: str) -> Iterator[Visit]:
    """A visit at one size in one colour scheme."""
    context = browser.new_context(
        viewport=PHONE if size == "phone" else DESKTOP,
        color_scheme="dark" if scheme == "dark" else "light",
        has_touch=size == "phone",
        is_mobile=size == "phone",
    )
    yield Visit(context, address)
    context.close()
