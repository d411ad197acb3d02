"""The receipt as a code: what a phone's camera reads of it, on a terminal and from a file."""

import os
import pty
import re
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
import zxingcpp
from bench.handed import shop_in, teardown, zipped
from click.testing import CliRunner
from PIL import Image

from engine_pages.bench.taking import take
from engine_pages.cli import main

ROOT = Path(__file__).parents[2]
TODAY = date(2026, 3, 2)
RUN = "from engine_pages.cli import main; main()"
TOKEN, OLD = "a" * 32, "b" * 32
SITE = "name: Shed\nsite: https://history.example\n"
LINK = f"shares:\n  - {{engine: E1, edition: bench, token: {TOKEN}, made: 2026-01-01}}\n"
ROW = re.compile(r"\x1b\[97;40m(.*?)\x1b\[0m")
LIGHT = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0)}  # upper and lower half of a letter


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


@pytest.fixture
def handed(tmp_path: Path) -> Path:
    path = tmp_path / "E1.zip"
    path.write_bytes(zipped(teardown()))
    return path


def linked(shop: Path, shares: str = LINK, site: str = SITE) -> Path:
    (shop / "shop.yml").write_text(site, encoding="utf-8")
    (shop / "shares.yml").write_text(shares, encoding="utf-8")
    return shop


def read(picture: Image.Image) -> str:
    """What a phone reads, by a reader that shares nothing with what draws the code."""
    (found,) = zxingcpp.read_barcodes(picture)
    return str(found.text)


def of_lines(said: str) -> Image.Image:
    """The picture that a terminal shows of the lines with the code."""
    rows = ROW.findall(said)
    picture = Image.new("L", (len(rows[0]), 2 * len(rows)))
    picture.putdata([LIGHT[letter][half] for row in rows for half in (0, 1) for letter in row])
    return picture.resize((8 * picture.width, 8 * picture.height), Image.Resampling.NEAREST)


def on_a_terminal(shop: Path, handed: Path) -> str:
    """What the command says to a terminal."""
    ours, its = pty.openpty()
    command = [sys.executable, "-c", RUN, "take", handed, "--records", shop]
    with subprocess.Popen(command, stdin=its, stdout=its, stderr=subprocess.STDOUT, cwd=ROOT) as run:
        os.close(its)
        said = b""
        while part := _part(ours):
            said += part
    os.close(ours)
    assert run.returncode == 0, said.decode()
    return said.decode()


def _part(terminal: int) -> bytes:
    try:
        return os.read(terminal, 1 << 16)
    except OSError:  # so Linux says that the other end is closed
        return b""


def receipt(tmp_path: Path) -> str:
    return take(shop_in(tmp_path / "other"), zipped(teardown()), TODAY).receipt


def test_a_terminal_shows_the_bench_pages_link_with_the_receipt_as_a_code(
    shop: Path, handed: Path, tmp_path: Path
) -> None:
    said = on_a_terminal(linked(shop), handed)
    code = receipt(tmp_path)
    assert f"receipt: {code}\r\n" in said
    assert read(of_lines(said)) == f"https://history.example/s/{TOKEN}/#receipt={code}"


def test_a_code_fits_a_terminal_of_eighty_columns_and_twenty_four_lines(shop: Path, handed: Path) -> None:
    rows = ROW.findall(on_a_terminal(linked(shop), handed))
    assert 10 < len(rows) <= 24
    assert max(map(len, rows)) <= 80


@pytest.mark.parametrize(
    ("shares", "site"),
    [
        ("shares: []\n", SITE),
        (LINK, "name: Shed\n"),
        (LINK.replace("edition: bench", "edition: owner"), SITE),
        (LINK.replace("}", ", revoked: 2026-02-01}"), SITE),
        (LINK.replace("}", ", until: 2026-02-01}"), SITE),
        (LINK.replace("engine: E1", "engine: E2"), SITE),
    ],
)
def test_without_a_live_bench_link_of_that_engine_the_code_holds_the_receipt_alone(
    shop: Path, handed: Path, tmp_path: Path, shares: str, site: str
) -> None:
    out = tmp_path / "code.png"
    done = CliRunner().invoke(
        main, ["take", str(handed), "--records", str(linked(shop, shares, site)), "--code", str(out)]
    )
    assert done.exit_code == 0, done.output
    assert read(Image.open(out)) == receipt(tmp_path)


def test_of_several_links_the_last_live_one_is_meant(shop: Path, handed: Path, tmp_path: Path) -> None:
    other = f"  - {{engine: E1, edition: bench, token: {OLD}, made: 2025-01-01, revoked: 2025-06-01}}\n"
    said = on_a_terminal(linked(shop, LINK + other), handed)
    assert read(of_lines(said)) == f"https://history.example/s/{TOKEN}/#receipt={receipt(tmp_path)}"


def test_nothing_but_words_goes_to_a_file_or_another_program(shop: Path, handed: Path, tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["take", str(handed), "--records", str(linked(shop))])
    assert done.output.splitlines()[-1] == f"receipt: {receipt(tmp_path)}"


def test_a_code_with_a_link_in_a_file_says_what_it_opens(shop: Path, handed: Path, tmp_path: Path) -> None:
    out = tmp_path / "code.svg"
    CliRunner().invoke(main, ["take", str(handed), "--records", str(linked(shop)), "--code", str(out)])
    drawn = out.read_text(encoding="utf-8")
    assert f"E1, receipt {receipt(tmp_path)}" in drawn
    assert "Whoever reads this code sees the page behind it." in drawn


@pytest.mark.parametrize(
    ("code", "twice", "words"),
    [("code.pdf", False, "--code writes a .svg or a .png"), ("code.svg", True, "each has a receipt of its own")],
)
def test_what_cannot_be_a_code_is_said_before_anything_is_taken_in(
    shop: Path, handed: Path, tmp_path: Path, code: str, twice: bool, words: str
) -> None:
    zips = [str(handed)] * (2 if twice else 1)
    done = CliRunner().invoke(main, ["take", *zips, "--records", str(shop), "--code", str(tmp_path / code)])
    assert done.exit_code == 2
    assert words in done.output
    assert not (shop / "engines/E1/teardowns").exists()


def test_a_code_that_cannot_be_written_does_not_undo_the_taking_in(shop: Path, handed: Path, tmp_path: Path) -> None:
    out = tmp_path / "nowhere/code.svg"
    done = CliRunner().invoke(main, ["take", str(handed), "--records", str(shop), "--code", str(out)])
    assert done.exit_code == 1
    assert f"receipt: {receipt(tmp_path)}" in done.output
    assert (shop / "engines/E1/teardowns/2026-03-01/teardown.yml").exists()
