"""A browser, and the demo's site behind an address of this machine: built once for all browser tests."""

import json
import shutil
import threading
from collections.abc import Iterator
from datetime import date
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from engine_pages.plugins.build import build_site
from engine_pages.plugins.publish import publish
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, ViewportSize, sync_playwright

from engine_pages.cli import main
from engine_pages.editions.links import links_of
from engine_pages.editions.registry import make_link
from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

TODAY = date(2026, 11, 25)
RECORDS = Path(__file__).parents[2] / "records"
PHONE: ViewportSize = {"width": 390, "height": 844}
DESKTOP: ViewportSize = {"width": 1280, "height": 900}
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
def chromium() -> str:
    """Where the browser of this machine is."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found is None:
        pytest.skip("no Chromium on this machine: the browser tests were not run")
    return found


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright: Playwright, chromium: str) -> Iterator[Browser]:
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


# ---------- the demo as it is shared ----------


@pytest.fixture(scope="session")
def shared_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as a repository, with an owner's, a buyer's and a plate's link to K-07."""
    folder = tmp_path_factory.mktemp("shared") / "shop"
    started = CliRunner().invoke(main, ["start", str(folder), "--demo"])
    assert started.exit_code == 0, started.output
    for edition in ("owner", "buyer", "tag"):
        make_link(folder, "K-07", edition, TODAY, None, None)
    return folder


@pytest.fixture(scope="session")
def public_tree(shared_shop: Path) -> Path:
    """What is published of it."""
    tree = shared_shop.parent / "public"
    publish(shared_shop, tree, TODAY)
    return tree


@pytest.fixture(scope="session")
def public_address(public_tree: Path) -> Iterator[str]:
    server = serve(public_tree)
    yield f"http://127.0.0.1:{server.server_address[1]}"
    server.shutdown()
    server.server_close()


@pytest.fixture(scope="session")
def links(shared_shop: Path) -> dict[str, str]:
    """The token of each edition."""
    return {link.edition: link.token for link in links_of(read_checked(Folder(shared_shop), TODAY))}


@pytest.fixture(scope="session")
def owner_address(public_address: str, links: dict[str, str]) -> str:
    return f"{public_address}/s/{links['owner']}"


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


# ---------- the bench page ----------


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's bench pages, written as files."""
    out = tmp_path_factory.mktemp("bench")
    checked = read_checked(Folder(RECORDS), TODAY)
    engines = [tell_one(checked, engine)[0] for engine in ("K-07", "Q-12", "K-05")]
    for path, made in bench_pages(checked, engines).items():
        (out / path).parent.mkdir(parents=True, exist_ok=True)
        (out / path).write_bytes(made())
    return out


class Phone:
    """A phone with its own profile, that can be switched off and on again."""

    def __init__(self, playwright: Playwright, chromium: str, profile: Path) -> None:
        self.playwright, self.chromium, self.profile = playwright, chromium, profile
        self.said: list[str] = []
        self.on()

    def on(self) -> None:
        self.context: BrowserContext = self.playwright.chromium.launch_persistent_context(
            str(self.profile),
            executable_path=self.chromium,
            args=FLAGS,
            viewport=PHONE,
            accept_downloads=True,
        )
        self.page: Page = self.context.pages[0] if self.context.pages else self.context.new_page()
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("console", lambda message: self.said.append(message.text) if message.type == "error" else None)

    def off(self) -> None:
        self.context.close()


@pytest.fixture
def phone(playwright: Playwright, chromium: str, tmp_path: Path) -> Iterator[Phone]:
    phone = Phone(playwright, chromium, tmp_path / "profile")
    yield phone
    phone.off()
    assert phone.said == []


def until(page: Page, expression: str) -> None:
    """Wait for it to be true; the page's policy lets the browser's own waiting function not run."""
    for _ in range(200):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never true: {expression}")


def kept(page: Page) -> Any:
    """The newest draft as the browser has it on disk."""
    return page.evaluate(
        """() => new Promise((done) => {
          const asked = indexedDB.open("bench-sheets");
          asked.onsuccess = () => {
            const all = asked.result.transaction("drafts").objectStore("drafts").getAll();
            all.onsuccess = () => {
              asked.result.close();
              done(all.result.sort((one, other) => other.changed - one.changed)[0]);
            };
          };
        })"""
    )


def until_kept(page: Page, words: str) -> None:
    """Wait for what was typed to be on disk: nobody leaves a page within milliseconds of a keystroke."""
    for _ in range(200):
        if words in json.dumps(kept(page)):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never kept: {words}")


def begin(page: Page, address: str, kind: str, day: str) -> None:
    page.goto(address)
    page.get_by_label("Day", exact=True).fill(day)
    page.get_by_role("button", name=kind).click()
    page.get_by_role("heading", name=kind).first.wait_for()


def to_place(page: Page, name: str) -> None:
    page.get_by_role("link", name=name, exact=False).first.click()
    page.get_by_role("heading", name=name, exact=True).wait_for()


def handed(page: Page) -> bytes:
    page.get_by_role("button", name="Hand over").click()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the zip").click()
    return Path(waiting.value.path()).read_bytes()


@pytest.fixture(scope="session")
def folder_page(folder: Path) -> str:
    """K-07's bench page, opened from disk."""
    return f"file://{folder}/bench/K-07/index.html"
