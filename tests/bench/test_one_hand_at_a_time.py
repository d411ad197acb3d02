"""Two hands at work in one shop: the second sees what the first has done, not what lay there when it began to wait."""

import threading
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from bench.handed import SHEET, STRIP, photo, shop_in, teardown, zipped

from engine_pages.bench.filing import file_in
from engine_pages.bench.on_disk import alone
from engine_pages.bench.taking import take

TODAY = date(2026, 3, 2)
OTHER = zipped(teardown(SHEET.replace("79.9610", "79.9580")))
WAITED = 0.5  # seconds, in which a hand that waits has begun to


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


def while_it_waits(shop: Path, work: Callable[[], str], meanwhile: Callable[[], object]) -> str:
    """Begin a work while another hand is at it, which does something before it lets go; what the work says then."""
    said: list[str] = []
    waiting = threading.Thread(target=lambda: said.append(work()))
    with alone(shop):
        waiting.start()
        time.sleep(WAITED)
        meanwhile()
    waiting.join()
    return said[0]


def put(shop: Path) -> None:
    for path, content in teardown().items():
        (shop / path).parent.mkdir(parents=True, exist_ok=True)
        (shop / path).write_bytes(content)


def test_a_sheet_that_came_in_meanwhile_is_not_refused_but_compared(shop: Path) -> None:
    outcome = while_it_waits(shop, lambda: take(shop, OTHER, TODAY).outcome, lambda: put(shop))
    assert outcome == "kept in the inbox"


def test_a_sheet_is_filed_as_it_lies_when_its_turn_comes(shop: Path) -> None:
    sheet, camera = shop / STRIP / "teardown.yml", shop.parent / "IMG_0412.JPG"
    sheet.parent.mkdir(parents=True)
    camera.write_bytes(photo())
    typed = SHEET.replace("rotor-1-face.jpg", "IMG_0412.JPG")
    sheet.write_text(typed, encoding="utf-8")
    while_it_waits(
        shop,
        lambda: str(file_in(shop, [sheet, camera], TODAY).commit),
        lambda: sheet.write_text(f"{typed}note: one more line\n", encoding="utf-8"),
    )
    filed = sheet.read_text(encoding="utf-8")
    assert ("rotor-1-face.jpg" in filed, "note: one more line" in filed) == (True, True)
