"""An owner's first page: how many bytes and requests it takes, and when something is first seen on a slow phone.

By hand: `python tests/speed/first_page.py`. The demo is published and served on this machine as a static host serves
it, text packed with gzip. Bytes are those on the wire without their heads; photos are counted apart. The phone is a
processor slowed to a quarter and a fast 3G line, by the browser's own tools; the time is the middle one of five.
"""

import gzip
import shutil
import statistics
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT)]

from click.testing import CliRunner  # noqa: E402 - the path comes first
from engine_pages.plugins.publish import publish  # noqa: E402
from playwright.sync_api import Browser, sync_playwright  # noqa: E402

from engine_pages.cli import main as engine_pages  # noqa: E402
from engine_pages.editions.registry import make_link  # noqa: E402

TODAY = date(2026, 11, 25)
VISITS = 5
PHONE = {"width": 390, "height": 844}
SLOWER = 4  # times
# Fast 3G, 1.6 Mbit/s down and 750 kbit/s up: as the browser's own tools had it, 562.5 ms for every request there and
# back; and the 150 ms of a packet that these stand for, which is what a request takes on a line that is open.
LINES = {"fast 3G": 562.5, "fast 3G, line open": 150.0}  # ms
SPEED = {"offline": False, "downloadThroughput": 1.6e6 * 0.9 / 8, "uploadThroughput": 750e3 * 0.9 / 8}  # bytes a second
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip
PACKED = (".html", ".css", ".js", ".json", ".svg")
FIRST_PAINT = """() => new Promise((done) => {
  new PerformanceObserver((list) => {
    for (const one of list.getEntries()) if (one.name === "first-contentful-paint") done(one.startTime);
  }).observe({type: "paint", buffered: true});
})"""


class Answer(SimpleHTTPRequestHandler):
    """Serves a folder as static hosts do: text packed where the reader takes it, files kept for a while."""

    server: "Host"

    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        path = Path(self.translate_path(self.path))
        path = path / "index.html" if path.is_dir() else path
        if not path.is_file():
            self.send_error(404)
            return
        content, packed = path.read_bytes(), path.suffix in PACKED and "gzip" in self.headers["Accept-Encoding"]
        content = gzip.compress(content, mtime=0) if packed else content
        self.send_response(200)
        self.send_header("Content-Type", self.guess_type(path))
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Cache-Control", "max-age=600")
        if packed:
            self.send_header("Content-Encoding", "gzip")
        self.end_headers()
        self.wfile.write(content)
        self.server.sent.append((self.path, len(content)))

    def log_message(self, format: str, *args: object) -> None:
        """Nobody reads the log."""


@dataclass(frozen=True, slots=True)
class FirstPage:
    """What a first visit took: addresses asked for, each with its bytes; photos apart; ms to the first paint."""

    asked: tuple[tuple[str, int], ...]
    size: int
    photos: int
    photo_size: int
    paint_ms: float


class Host(ThreadingHTTPServer):
    """A static host on this machine; `sent` is every address asked for, with the bytes of the answer's body."""

    def __init__(self, folder: Path) -> None:
        self.sent: list[tuple[str, int]] = []
        super().__init__(("127.0.0.1", 0), lambda *given: Answer(*given, directory=str(folder)))
        self.address = f"http://127.0.0.1:{self.server_address[1]}"

    @contextmanager
    def open(self) -> Iterator["Host"]:
        threading.Thread(target=self.serve_forever, daemon=True).start()
        yield self
        self.shutdown()
        self.server_close()


def first_page(browser: Browser, host: Host, path: str, latency: float | None = None) -> FirstPage:
    """A first visit with nothing kept, down to the last request."""
    context = browser.new_context(viewport=PHONE, is_mobile=True, has_touch=True)  # type: ignore[arg-type]
    page = context.new_page()
    if latency is not None:
        tools = context.new_cdp_session(page)
        tools.send("Network.enable")
        tools.send("Network.emulateNetworkConditions", SPEED | {"latency": latency})
        tools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    host.sent.clear()
    page.goto(f"{host.address}/{path}", wait_until="networkidle")
    paint = page.evaluate(FIRST_PAINT)
    context.close()
    photos = [size for asked, size in host.sent if asked.endswith(".jpg")]
    others = [(asked, size) for asked, size in host.sent if not asked.endswith(".jpg")]
    return FirstPage(tuple(others), sum(size for _, size in others), len(photos), sum(photos), paint)


def demo_tree(place: Path) -> tuple[Path, str]:
    """The demo published for K-07's owner; the tree and the link's token."""
    done = CliRunner().invoke(engine_pages, ["start", str(place / "shop"), "--demo"])
    assert done.exit_code == 0, done.output
    link = make_link(place / "shop", "K-07", "owner", TODAY, None, None)
    publish(place / "shop", place / "public", TODAY)
    return place / "public", link.token


def main() -> None:
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        tree, token = (Path(sys.argv[1]), sys.argv[2]) if len(sys.argv) > 2 else demo_tree(Path(name))
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        with Host(tree).open() as host:
            way = f"s/{token}/"
            fast = first_page(browser, host, way)
            slow = {
                line: [first_page(browser, host, way, ms).paint_ms for _ in range(VISITS)] for line, ms in LINES.items()
            }
        browser.close()
    for path, size in fast.asked:
        print(f"  {size / 1000:7.1f} kB  {path.replace(token, '…')}")
    print(
        f"{len(fast.asked)} requests, {fast.size / 1000:.0f} kB; photos: {fast.photos}, {fast.photo_size / 1000:.0f} kB"
    )
    print(f"first contentful paint: {fast.paint_ms:.0f} ms on this machine")
    for line, times in slow.items():
        middle, least, most = statistics.median(times), min(times), max(times)
        print(f"  {middle:.0f} ms ({least:.0f} to {most:.0f}) on a processor {SLOWER} times slower, {line}")


if __name__ == "__main__":
    main()
