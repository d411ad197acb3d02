"""The bench on this machine: the crew's site and its bench pages on 127.0.0.1, and what they hand over taken in.

Whoever else asks gets nothing: only this machine can reach the address, every path begins with a token that was made
for this one run, the request must name this address as its host, and a page of another origin may not post.
"""

import errno
import json
import os
import secrets
import sys
import threading
from collections.abc import Callable
from datetime import datetime
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final

from ..bench.as_it_lies import as_it_lies
from ..bench.handed_over import MAX_ZIP_BYTES
from ..bench.taking import TROUBLE, Taken, take, taken_text
from ..records.tree import NoTree

TAKE: Final = "take"  # below the token: where a zip is posted
FROM_PAGE: Final = f"../../{TAKE}"  # the same, from a bench page
TOKEN_BYTES: Final = 20  # 160 bits
CHUNK: Final = 1 << 20  # bytes read at a time
NOTHING_HERE: Final = "there is nothing at this address"
STARTED_AGAIN: Final = (
    "nothing was taken in: the bench was started again since this page was opened, and has a new address. Open the "
    "page at the address that it says now; the draft is there too"
)

MOST_DIGITS: Final = 18  # of a length in bytes; more is no length

# The drafts of a bench page belong to its origin, host and port together: both stay the same from one day to the next.
# The port is one that nobody uses by habit: unassigned in IANA's registry (from memory), below what systems lend out.
HOST: Final = "127.0.0.1"
OTHER_NAME: Final = "localhost"  # of the same machine, and another origin to a browser
PORT: Final = 27613

Told = Callable[[str], None]


class PortTakenError(Exception):
    """Another program serves at that port; the message says what to do."""


class BenchServer(ThreadingHTTPServer):
    """Serves a folder under a token, and takes zips in.

    `build` makes the site anew, and is called before a page is served where the shop is no longer as it was.
    """

    daemon_threads = True
    allow_reuse_address = os.name != "nt"  # there it would let two servers share one port

    def __init__(self, shop: Path, site: Path, port: int, say: Told, build: Callable[[], None]) -> None:
        """The site is taken as built from the shop as it lies. PortTakenError where the port is in use; OSError."""
        self.shop, self.site, self.say, self.build = shop, site, say, build
        self.token = secrets.token_urlsafe(TOKEN_BYTES)
        self.one_at_a_time, self.building = threading.Lock(), threading.Lock()
        self.built_from = as_it_lies(shop, datetime.now().date())
        try:
            super().__init__((HOST, port), _Handler)
        except OSError as trouble:
            if trouble.errno != errno.EADDRINUSE:
                raise
            raise PortTakenError(_taken_port(port)) from None

    @property
    def address(self) -> str:
        """The first page's address, with the token."""
        return self.address_of("index.html")

    def address_of(self, path: str) -> str:
        """The address of a page of the site, with the token."""
        return f"http://{HOST}:{self.server_address[1]}/{self.token}/{path}"

    def refresh(self) -> None:
        """Build the site anew where a record or a commit came since; once, whoever asks meanwhile waits for it."""
        with self.building:
            try:
                now = as_it_lies(self.shop, datetime.now().date())
            except NoTree as gone:
                return self.say(f"the site stays as it was: {gone}")
            if now != self.built_from:
                self.built_from = now
                self.build()
        return None

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A browser that goes away before it has its answer is no trouble of ours."""
        if not isinstance(sys.exc_info()[1], ConnectionError):
            super().handle_error(request, client_address)


def _taken_port(port: int) -> str:
    return (
        f"port {port} of this machine is taken; does another bench run? End that one, or choose another port with "
        "--port. Drafts stay at the address where they were written: at another port the page does not show them"
    )


class _Handler(SimpleHTTPRequestHandler):
    server: BenchServer
    timeout = 60  # seconds; who says nothing for longer is gone

    def __init__(self, *args: Any) -> None:
        super().__init__(*args, directory=str(args[2].site))

    def do_GET(self) -> None:
        if self._is_ours() and self._at_one_name():
            self._serve(super().do_GET)

    def do_HEAD(self) -> None:
        if self._is_ours() and self._at_one_name():
            self._serve(super().do_HEAD)

    def _serve(self, answer: Callable[[], None]) -> None:
        if self._below().endswith((".html", "/")):
            self.server.refresh()
        answer()

    def do_POST(self) -> None:
        if not self._is_ours():
            return None
        if self._below() != f"/{TAKE}":
            return self._answer(HTTPStatus.NOT_FOUND, {"error": "nothing is taken in at this address"})
        length = self.headers.get("Content-Length")
        if length is None:
            return self._answer(HTTPStatus.LENGTH_REQUIRED, {"error": "how large the zip is has to be said first"})
        if not (length.isascii() and length.isdigit()):
            return self._answer(HTTPStatus.BAD_REQUEST, {"error": "the length of the zip is no number"})
        size = int(length[:MOST_DIGITS]) if len(length) <= MOST_DIGITS else sys.maxsize
        if size > MAX_ZIP_BYTES:
            said = f"the zip has more than {MAX_ZIP_BYTES / 1e6:.0f} MB, the most that is taken in at once"
            self._answer(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, {"error": said})
            return self._pour_away(min(size, 2 * MAX_ZIP_BYTES))
        body = self._body(size)
        if len(body) < size:
            said = f"the zip broke off after {len(body) / 1e6:.1f} of {size / 1e6:.1f} MB; hand it over again"
            return self._answer(HTTPStatus.BAD_REQUEST, {"error": said})
        return self._take(body)

    def _take(self, data: bytes) -> None:
        with self.server.one_at_a_time:
            try:
                taken = take(self.server.shop, data, datetime.now().date())
            except TROUBLE as trouble:
                self.server.say(f"not taken in: {trouble}")
                return self._answer(HTTPStatus.UNPROCESSABLE_ENTITY, {"error": str(trouble)})
            self.server.say(taken_text(taken, "from the bench page"))
            return self._answer(HTTPStatus.OK, _told(taken))

    def _body(self, length: int) -> bytes:
        """The zip, with how much of it is there, told by tenths."""
        parts: list[bytes] = []
        got, said = 0, 0
        while got < length:
            part = self.rfile.read(min(CHUNK, length - got))
            if not part:
                break
            parts.append(part)
            got += len(part)
            if got * 10 // length > said:
                said = got * 10 // length
                self.server.say(f"receiving: {said * 10} % of {length / 1e6:.1f} MB")
        return b"".join(parts)

    def _pour_away(self, length: int) -> None:
        """Let the rest arrive: a browser that is cut off while it sends never reads its answer."""
        while length > 0 and (part := self.rfile.read(min(CHUNK, length))):
            length -= len(part)

    def _is_ours(self) -> bool:
        """Whether the request comes from our own page on this machine."""
        port = self.server.server_address[1]
        hosts = {f"{HOST}:{port}", f"{OTHER_NAME}:{port}"}
        origin = self.headers.get("Origin")
        prefix = f"/{self.server.token}/"
        if self.headers.get("Host") not in hosts or (origin and origin not in {f"http://{host}" for host in hosts}):
            self._answer(HTTPStatus.FORBIDDEN, {"error": "only a page of this bench may ask"})
            return False
        if not secrets.compare_digest(self.path[: len(prefix)].encode(), prefix.encode()):
            stale = self.command == "POST" and self.path.endswith(f"/{TAKE}")
            self._answer(HTTPStatus.NOT_FOUND, {"error": STARTED_AGAIN if stale else NOTHING_HERE})
            return False
        return True

    def _at_one_name(self) -> bool:
        """Whether it was asked for by the one name of this machine; from the other it is led there, for its drafts."""
        if not (self.headers.get("Host") or "").startswith(OTHER_NAME):
            return True
        self.send_response(HTTPStatus.TEMPORARY_REDIRECT)
        self.send_header("Location", f"http://{HOST}:{self.server.server_address[1]}{self.path}")
        self.send_header("Content-Length", "0")
        self.end_headers()
        return False

    def _below(self) -> str:
        """The path of the request without the token; what leads to another page of a folder keeps it."""
        return self.path[len(self.server.token) + 1 :].partition("?")[0].partition("#")[0]

    def send_head(self) -> Any:
        """The page and its head; nothing for an address that can be no file's name, such as one with a null byte."""
        try:
            return super().send_head()
        except ValueError:
            self._answer(HTTPStatus.NOT_FOUND, {"error": NOTHING_HERE})
            return None

    def translate_path(self, path: str) -> str:
        """Where a page lies on disk."""
        return super().translate_path(path[len(self.server.token) + 1 :])

    def _answer(self, status: HTTPStatus, told: dict[str, Any]) -> None:
        body = json.dumps(told, ensure_ascii=False).encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-store")
        self.send_header("Referrer-Policy", "no-referrer")
        self.send_header("X-Content-Type-Options", "nosniff")
        super().end_headers()

    def list_directory(self, path: Any) -> None:
        """No folder lists what is in it."""
        self._answer(HTTPStatus.NOT_FOUND, {"error": f"there is no page in {Path(path).name}/"})

    def log_message(self, format: str, *args: object) -> None:
        """No line for each request: its address holds the token."""


def _told(taken: Taken) -> dict[str, Any]:
    return {
        "outcome": taken.outcome,
        "path": taken.path,
        "receipt": taken.receipt,
        "problems": [*([taken.note] if taken.note else []), *map(str, taken.problems)],
        "difference": taken.difference,
    }
