"""The bench on this machine: the crew's site and its bench pages on 127.0.0.1, and what they hand over taken in.

Whoever else asks gets nothing: only this machine can reach the address, every path begins with a token that was made
for this one run, the request must name this address as its host, and a page of another origin may not post.
"""

import json
import secrets
import threading
from collections.abc import Callable
from datetime import datetime
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final

from .bench.handed_over import MAX_ZIP_BYTES
from .bench.taking import TROUBLE, Taken, take, taken_text

TAKE: Final = "take"  # below the token: where a zip is posted
FROM_PAGE: Final = f"../../{TAKE}"  # the same, from a bench page
TOKEN_BYTES: Final = 20  # 160 bits
CHUNK: Final = 1 << 20  # bytes read at a time

Told = Callable[[str], None]


class BenchServer(ThreadingHTTPServer):
    """Serves a folder under a token, and takes zips in. `taken` is called after each one that changed the shop."""

    daemon_threads = True

    def __init__(self, shop: Path, site: Path, port: int, say: Told, taken: Callable[[], None]) -> None:
        """OSError where the port is in use."""
        self.shop, self.site, self.say, self.taken = shop, site, say, taken
        self.token = secrets.token_urlsafe(TOKEN_BYTES)
        self.one_at_a_time = threading.Lock()
        super().__init__(("127.0.0.1", port), _Handler)

    @property
    def address(self) -> str:
        """The first page's address, with the token."""
        return f"http://127.0.0.1:{self.server_address[1]}/{self.token}/index.html"


class _Handler(SimpleHTTPRequestHandler):
    server: BenchServer

    def __init__(self, *args: Any) -> None:
        super().__init__(*args, directory=str(args[2].site))

    def do_GET(self) -> None:
        if self._is_ours():
            super().do_GET()

    def do_HEAD(self) -> None:
        if self._is_ours():
            super().do_HEAD()

    def do_POST(self) -> None:
        if not self._is_ours():
            return None
        if self.path != f"/{TAKE}":
            return self._answer(HTTPStatus.NOT_FOUND, {"error": "nothing is taken in at this address"})
        length = self.headers.get("Content-Length", "")
        if not length.isdigit():
            return self._answer(HTTPStatus.LENGTH_REQUIRED, {"error": "how large the zip is has to be said first"})
        if int(length) > MAX_ZIP_BYTES:
            said = f"the zip has {int(length) / 1e6:.0f} MB; {MAX_ZIP_BYTES / 1e6:.0f} MB at the most"
            return self._answer(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, {"error": said})
        return self._take(self._body(int(length)))

    def _take(self, data: bytes) -> None:
        with self.server.one_at_a_time:
            try:
                taken = take(self.server.shop, data, datetime.now().date())
            except TROUBLE as trouble:
                self.server.say(f"not taken in: {trouble}")
                return self._answer(HTTPStatus.UNPROCESSABLE_ENTITY, {"error": str(trouble)})
            self.server.say(taken_text(taken, "from the bench page"))
            self._answer(HTTPStatus.OK, _told(taken))
            if taken.outcome == "taken in":
                self.server.taken()
        return None

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

    def _is_ours(self) -> bool:
        """Whether the request comes from our own page on this machine; the path is then without the token."""
        port = self.server.server_address[1]
        hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        origin = self.headers.get("Origin")
        prefix = f"/{self.server.token}/"
        if self.headers.get("Host") not in hosts or (origin and origin not in {f"http://{host}" for host in hosts}):
            self._answer(HTTPStatus.FORBIDDEN, {"error": "only a page of this bench may ask"})
            return False
        if not secrets.compare_digest(self.path[: len(prefix)].encode(), prefix.encode()):
            self._answer(HTTPStatus.NOT_FOUND, {"error": "there is nothing at this address"})
            return False
        self.path = self.path[len(prefix) - 1 :]
        return True

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
