"""The bench on this machine: what it serves, what it takes in, and to whom it gives nothing."""

import http.client
import json
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from bench.handed import STRIP, shop_in, teardown, zipped

from engine_pages.bench.handed_over import MAX_ZIP_BYTES, checksum, receipt_of
from engine_pages.bench_server import BenchServer


@pytest.fixture
def server(tmp_path: Path) -> Iterator[BenchServer]:
    site = tmp_path / "site"
    (site / "bench/E1").mkdir(parents=True)
    (site / "index.html").write_text("the crew's site", encoding="utf-8")
    (site / "bench/E1/index.html").write_text("the bench", encoding="utf-8")
    said: list[str] = []
    rebuilt: list[bool] = []
    server = BenchServer(shop_in(tmp_path / "shop"), site, 0, said.append, lambda: rebuilt.append(True))
    server.said, server.rebuilt = said, rebuilt  # type: ignore[attr-defined]  # what the tests look at
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


def ask(
    server: BenchServer, method: str, path: str, body: bytes | None = None, **headers: str
) -> tuple[int, bytes, http.client.HTTPMessage]:
    connection = http.client.HTTPConnection("127.0.0.1", server.server_address[1], timeout=30)
    connection.request(method, path, body, {name.replace("_", "-"): value for name, value in headers.items()})
    reply = connection.getresponse()
    return reply.status, reply.read(), reply.headers


def test_the_site_lies_under_the_token_alone(server: BenchServer) -> None:
    assert ask(server, "GET", f"/{server.token}/index.html")[:2] == (200, b"the crew's site")
    assert ask(server, "GET", f"/{server.token}/bench/E1/index.html")[:2] == (200, b"the bench")
    for path in ("/", "/index.html", f"/{server.token[:-1]}x/index.html", f"/{server.token}", "//index.html"):
        assert ask(server, "GET", path)[0] == 404, path


def test_nothing_outside_the_site_is_served_and_no_folder_is_listed(server: BenchServer) -> None:
    for path in ("../shop/shop.yml", "%2e%2e/shop/shop.yml", "bench/", "bench/E1/../../../shop/shop.yml"):
        status, body, _ = ask(server, "GET", f"/{server.token}/{path}")
        assert status == 404, path
        assert b"Shed" not in body


def test_only_this_machine_can_reach_it(server: BenchServer) -> None:
    assert server.server_address[0] == "127.0.0.1"


@pytest.mark.parametrize(
    "headers", [{"Host": "shop.example"}, {"Origin": "https://elsewhere.example"}, {"Origin": "null"}]
)
def test_a_foreign_host_or_origin_gets_nothing(server: BenchServer, headers: dict[str, str]) -> None:
    for method in ("GET", "POST"):
        assert ask(server, method, f"/{server.token}/take", zipped(teardown()), **headers)[0] == 403
    assert not (server.shop / STRIP).exists()


def test_a_zip_is_taken_in_and_the_site_built_again(server: BenchServer) -> None:
    port = server.server_address[1]
    status, body, headers = ask(
        server, "POST", f"/{server.token}/take", zipped(teardown()), Origin=f"http://127.0.0.1:{port}"
    )
    told = json.loads(body)
    assert (status, told["outcome"], told["receipt"]) == (200, "taken in", receipt_of(checksum(teardown())))
    assert (headers["Cache-Control"], headers["Referrer-Policy"]) == ("no-store", "no-referrer")
    assert (server.shop / STRIP / "teardown.yml").exists()
    assert any(line.startswith("receiving: ") for line in server.said)  # type: ignore[attr-defined]
    again = ask(server, "POST", f"/{server.token}/take", zipped(teardown()))
    assert json.loads(again[1])["outcome"] == "already there"
    assert server.rebuilt == [True]  # type: ignore[attr-defined]


def test_what_is_no_zip_is_answered_with_the_reason(server: BenchServer) -> None:
    status, body, _ = ask(server, "POST", f"/{server.token}/take", b"PK nothing")
    assert (status, "no zip that can be read" in json.loads(body)["error"]) == (422, True)


def test_what_is_too_large_is_refused_before_it_is_read(server: BenchServer) -> None:
    length = str(MAX_ZIP_BYTES + 1)
    assert ask(server, "POST", f"/{server.token}/take", b"", Content_Length=length)[0] == 413
    assert ask(server, "POST", f"/{server.token}/take", b"", Content_Length="many")[0] == 411


def test_nothing_else_is_taken_in(server: BenchServer) -> None:
    assert ask(server, "POST", f"/{server.token}/index.html", b"x")[0] == 404
