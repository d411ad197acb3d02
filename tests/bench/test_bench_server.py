"""The bench on this machine: what it serves, what it takes in, and to whom it gives nothing."""

import http.client
import json
import re
import socket
import struct
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from bench.handed import STRIP, git, shop_in, teardown, zipped
from click.testing import CliRunner

from engine_pages.bench.handed_over import MAX_ZIP_BYTES, checksum, receipt_of
from engine_pages.cli import main
from engine_pages.commands.bench import bench
from engine_pages.commands.bench_server import PORT, BenchServer, PortTakenError


class Heard(BenchServer):
    """A bench that remembers what it said, and how often its site was built again."""

    def __init__(self, shop: Path, site: Path) -> None:
        self.said: list[str] = []
        self.rebuilt: list[bool] = []
        self.gone = threading.Event()
        super().__init__(shop, site, 0, self.said.append, lambda: self.rebuilt.append(True))

    def handle_error(self, request: object, client_address: object) -> None:
        super().handle_error(request, client_address)
        self.gone.set()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Heard]:
    site = tmp_path / "site"
    (site / "bench/E1").mkdir(parents=True)
    (site / "index.html").write_text("the crew's site", encoding="utf-8")
    (site / "bench/E1/index.html").write_text("the bench", encoding="utf-8")
    server = Heard(shop_in(tmp_path / "shop"), site)
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


def test_a_zip_is_taken_in_and_the_next_page_is_built_from_it(server: Heard) -> None:
    port = server.server_address[1]
    status, body, headers = ask(
        server, "POST", f"/{server.token}/take", zipped(teardown()), Origin=f"http://127.0.0.1:{port}"
    )
    told = json.loads(body)
    assert (status, told["outcome"], told["receipt"]) == (200, "taken in", receipt_of(checksum(teardown())))
    assert (headers["Cache-Control"], headers["Referrer-Policy"]) == ("no-store", "no-referrer")
    assert (server.shop / STRIP / "teardown.yml").exists()
    assert any(line.startswith("receiving: ") for line in server.said)
    again = ask(server, "POST", f"/{server.token}/take", zipped(teardown()))
    assert json.loads(again[1])["outcome"] == "already there"
    assert server.rebuilt == []  # nobody has looked yet
    for page in ("index.html", "bench/E1/index.html"):
        ask(server, "GET", f"/{server.token}/{page}")
    assert server.rebuilt == [True]


def test_a_record_that_is_written_or_committed_elsewhere_shows_at_the_next_page(server: Heard) -> None:
    page = f"/{server.token}/index.html"
    ask(server, "GET", page)
    assert server.rebuilt == []
    (server.shop / "engines/E1/log.yml").write_text("- {date: 2026-02-01, kind: run, hours: 1}\n", encoding="utf-8")
    ask(server, "GET", f"/{server.token}/style.css")  # what a page brings with it asks for nothing anew
    assert server.rebuilt == []
    ask(server, "GET", page)
    git(server.shop, "add", "-A")
    git(server.shop, "commit", "-qm", "a run")
    ask(server, "GET", page)
    ask(server, "GET", page)
    assert server.rebuilt == [True, True]


def test_what_is_no_zip_is_answered_with_the_reason(server: BenchServer) -> None:
    status, body, _ = ask(server, "POST", f"/{server.token}/take", b"PK nothing")
    assert (status, "no zip that can be read" in json.loads(body)["error"]) == (422, True)


def test_what_is_too_large_is_refused_before_it_is_read(server: BenchServer) -> None:
    length = str(MAX_ZIP_BYTES + 1)
    assert ask(server, "POST", f"/{server.token}/take", b"", Content_Length=length)[0] == 413
    assert ask(server, "POST", f"/{server.token}/take", b"", Content_Length="9" * 5000)[0] == 413


@pytest.mark.parametrize("length", ["many", "-1", "+5", "1_0", "\u00b2", ""])
def test_a_length_that_is_no_number_is_answered(server: BenchServer, length: str) -> None:
    status, body, _ = ask(server, "POST", f"/{server.token}/take", b"", Content_Length=length)
    assert (status, json.loads(body)["error"]) == (400, "the length of the zip is no number")


def test_a_zip_without_a_length_is_answered(server: BenchServer) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", server.server_address[1], timeout=30)
    connection.putrequest("POST", f"/{server.token}/take")
    connection.endheaders()
    assert connection.getresponse().status == 411
    connection.close()


def test_a_zip_that_breaks_off_is_not_taken_in(server: BenchServer) -> None:
    with socket.create_connection(("127.0.0.1", server.server_address[1]), timeout=30) as line:
        head = f"POST /{server.token}/take HTTP/1.0\r\nHost: 127.0.0.1:{server.server_address[1]}\r\n"
        line.sendall(f"{head}Content-Length: 5000000\r\n\r\nPK".encode())
        line.shutdown(socket.SHUT_WR)
        reply = line.makefile("rb").read()
    assert reply.startswith(b"HTTP/1.0 400 ")
    assert b"broke off after 0.0 of 5.0 MB" in reply


def test_a_browser_that_goes_away_leaves_no_trace(server: Heard, capfd: pytest.CaptureFixture[str]) -> None:
    (server.site / "large.bin").write_bytes(bytes(20_000_000))
    line = socket.create_connection(("127.0.0.1", server.server_address[1]), timeout=30)
    line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))  # close at once, without a word
    line.sendall(
        f"GET /{server.token}/large.bin HTTP/1.0\r\nHost: 127.0.0.1:{server.server_address[1]}\r\n\r\n".encode()
    )
    line.recv(1000)
    line.close()
    assert server.gone.wait(30)
    assert "Traceback" not in capfd.readouterr().err


def test_a_folder_leads_to_its_page_with_the_token(server: BenchServer) -> None:
    status, _, headers = ask(server, "GET", f"/{server.token}/bench/E1")
    assert (status, headers["Location"]) == (301, f"/{server.token}/bench/E1/")
    assert ask(server, "GET", headers["Location"])[:2] == (200, b"the bench")


def test_the_other_name_of_this_machine_leads_to_the_one_where_drafts_are(server: BenchServer) -> None:
    path, port = f"/{server.token}/bench/E1/index.html", server.server_address[1]
    status, _, headers = ask(server, "GET", path, Host=f"localhost:{port}")
    assert (status, headers["Location"]) == (307, f"http://127.0.0.1:{port}{path}")


def test_a_port_that_is_taken_is_refused_with_what_to_do(server: BenchServer, tmp_path: Path) -> None:
    port = server.server_address[1]
    with pytest.raises(PortTakenError, match="Drafts stay at the address where they were written"):
        BenchServer(server.shop, tmp_path / "site", port, print, lambda: None)
    said = CliRunner().invoke(main, ["bench", "--port", str(port), "--records", str(server.shop)])
    assert said.exit_code == 1
    assert f"port {port} of this machine is taken" in said.output
    assert "--port" in said.output


def test_the_port_is_the_same_every_day() -> None:
    option = next(one for one in bench.params if one.name == "port")
    assert option.default == PORT == 27613


def test_an_engine_that_is_not_there_is_refused_before_anything_is_built(server: BenchServer) -> None:
    said = CliRunner().invoke(main, ["bench", "E2", "--port", "0", "--records", str(server.shop)])
    assert (said.exit_code, said.output) == (1, "Error: there is no engine E2; allowed: E1\n")


def test_a_named_engine_has_its_form_said(server: BenchServer, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_: BenchServer) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(BenchServer, "serve_forever", interrupted)
    monkeypatch.setattr("engine_pages.commands.bench._build_bench", lambda *_: None)
    said = CliRunner().invoke(main, ["bench", "E1", "--port", "0", "--records", str(server.shop)])
    assert said.exit_code == 0
    assert re.match(r"The bench of E1 is at http://127\.0\.0\.1:\d+/[\w-]+/bench/E1/index\.html\n", said.output)


def test_nothing_else_is_taken_in(server: BenchServer) -> None:
    assert ask(server, "POST", f"/{server.token}/index.html", b"x")[0] == 404


@pytest.mark.parametrize("name", ["%00.html", "%00", "a%00b/", "%ED%A0%80.html"])
def test_an_address_that_can_be_no_files_name_leads_to_nothing(
    server: Heard, name: str, capfd: pytest.CaptureFixture[str]
) -> None:
    for method in ("GET", "HEAD"):
        assert ask(server, method, f"/{server.token}/{name}")[0] == 404
    assert "Traceback" not in capfd.readouterr().err


def test_a_page_of_an_earlier_run_is_told_that_the_bench_has_a_new_address(server: Heard) -> None:
    status, body, _ = ask(server, "POST", "/the-token-of-yesterday/take", zipped(teardown()))
    assert (status, "open the page at the address that it says now" in json.loads(body)["error"].lower()) == (404, True)
    assert server.token not in body.decode()
    assert not (server.shop / STRIP).exists()
