"""What the bench page proposes of an engine that lies apart, what it warns of, and how it names things."""

from datetime import date
from pathlib import Path

import pytest
from browser.conftest import Phone, begin, handed, to_place
from written_shop import Written

from engine_pages.bench.handed_over import read_handed_over
from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.records.checks.all import read_checked

pytestmark = pytest.mark.browser
TODAY = date(2026, 3, 2)
FILES = {
    "families/single.yml": """
family: single
architecture: rotary
exposure: hours
positions: {rotor-1: rotor, rotor-2: rotor, seals-1: {kind: seal, names: [a, b]}}
kinds: {rotor: {dimensions: {width: {unit: mm}}}, seal: {serial: yes}}
""",
    "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
    "engines/E1/builds/2026-01-10.yml": """engine: E1
date: 2026-01-10
positions: {rotor-1: {part: R-1}, rotor-2: {part: R-2}, seals-1: {part: {a: S-1, b: S-2}}}
""",
    "engines/E1/teardowns/2026-03-01/teardown.yml": """engine: E1
date: 2026-03-01
positions: {rotor-1: {decision: reuse}, rotor-2: {decision: undecided}, seals-1: {decision: replace, because: worn}}
""",
}


@pytest.fixture
def own_page(tmp_path: Path) -> str:
    """The bench page of an engine that was taken apart yesterday, opened from disk."""
    checked = read_checked(Written({path: text.encode() for path, text in FILES.items()}), TODAY)
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    for path, made in bench_pages(checked, [tell_one(checked, "E1")[0]]).items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_bytes(made())
    return f"file://{tmp_path}/bench/E1/index.html"


def test_a_build_puts_back_only_what_the_strip_decided_to_put_back(phone: Phone, own_page: str) -> None:
    begin(phone.page, own_page, "Build", "2026-03-02")
    to_place(phone.page, "Seals 1")
    phone.page.get_by_text("S-1, out since 2026-03-01: replace. If something else goes in").wait_for()
    phone.page.get_by_role("button", name="Places").click()
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_label("Width, mm").fill("79.91")
    phone.page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(phone.page)).sheet.decode()
    assert (
        sheet == "engine: E1\ndate: 2026-03-02\npositions:\n  rotor-1:\n    part: R-1\n    measured: {width: 79.91}\n"
    )
