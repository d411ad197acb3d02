"""The bench page under a thumb: no key too small, nothing beside the screen, a member's name beside its field.

44 × 44 CSS px: WCAG 2.2, success criterion 2.5.5 (Target Size, Enhanced).
"""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser.conftest import begin
from PIL import Image
from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
NARROW = {"width": 360, "height": 640}
OVER_A_KEYBOARD = {"width": 360, "height": 400}
LEAST = 44  # CSS px
KINDS = ("Teardown", "Inspection", "Build")
SEALS, VALVES = ("K-07", "p/apex-seals-1"), ("Q-12", "p/inlet-valves")

# What a finger may touch and can see; a field for files is reached by its key alone, and is one pixel.
TARGETS = """(least) => [...document.querySelectorAll("button, a, input:not(.file), textarea, select, summary, .key")]
  .map((one) => [one, one.getBoundingClientRect()])
  .filter(([, box]) => box.width && box.height && (box.width < least || box.height < least))
  .map(([one, box]) => `${one.tagName} ${one.textContent || one.name || one.type}: ${box.width} × ${box.height}`)"""
UNFOLD = "() => { for (const one of document.querySelectorAll('details')) one.open = true; }"
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
# The label of a field that has the focus: its upper edge, its field's lower one, and what of the window is free.
LABEL = """() => {
  const field = document.activeElement;
  const name = field.closest(".field").querySelector("label");
  return { top: name.getBoundingClientRect().top, bottom: field.getBoundingClientRect().bottom,
    free: document.querySelector("nav").getBoundingClientRect().top };
}"""


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """The narrowest phone in use, held upright."""
    context = browser.new_context(viewport=NARROW, has_touch=True, is_mobile=True)
    yield context.new_page()
    context.close()


def address(folder: Path, engine: str) -> str:
    return f"file://{folder}/bench/{engine}/index.html"


def looked_at(page: Page, what: str) -> None:
    page.evaluate(UNFOLD)
    assert page.evaluate(TARGETS, LEAST) == [], what
    assert page.evaluate(WIDE) <= 0, what


def screens(page: Page) -> list[str]:
    """Every screen of the sheet, by the ways that its list of places gives."""
    ways: list[str] = page.evaluate("[...document.querySelectorAll('.places a')].map((one) => one.hash)")
    return [*ways, f"{ways[0].rpartition('/')[0]}/over"]


def to(page: Page, way: str) -> None:
    """Go there, and wait for that screen to stand."""
    page.evaluate(
        """(way) => new Promise((done) => {
          window.addEventListener("hashchange", () => done(showing), { once: true });
          location.hash = way;
        })""",
        way,
    )


def draft_of(page: Page) -> str:
    draft: str = page.evaluate("bench.drafts().then((all) => all[0].id)")
    return draft


def photo() -> dict[str, Any]:
    out = io.BytesIO()
    Image.new("RGB", (900, 600), (120, 60, 30)).save(out, "JPEG")
    return {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("engine", ["K-07", "Q-12"])
def test_every_key_of_every_screen_is_large_enough_for_a_thumb(
    page: Page, folder: Path, engine: str, kind: str
) -> None:
    page.goto(address(folder, engine))
    page.get_by_role("heading", name="A new sheet").wait_for()
    looked_at(page, "all sheets")
    begin(page, address(folder, engine), kind, "2026-11-24")
    looked_at(page, "places")
    for way in screens(page):
        to(page, way)
        looked_at(page, way)


def test_what_comes_when_it_is_asked_for_is_large_enough_too(page: Page, folder: Path) -> None:
    begin(page, address(folder, "K-07"), "Teardown", "2026-11-24")
    draft = draft_of(page)
    to(page, f"#/d/{draft}/p/apex-seals-1")
    page.evaluate(UNFOLD)
    for key in page.get_by_role("button", name="another reading").all():
        key.click()
    for _ in range(page.get_by_role("button", name="Each by itself").count()):
        page.get_by_role("button", name="Each by itself").first.click()
    page.get_by_role("button", name="More work").click()
    page.get_by_label("Take or choose photos").set_input_files([photo()])
    page.locator(".photos li").first.wait_for()
    page.get_by_role("button", name="reuse").first.click()
    page.get_by_role("textbox", name="a1, mm", exact=True).first.fill("no figure at all")
    page.get_by_text("Cannot be read").first.wait_for()
    looked_at(page, "a set with everything that can be opened")
    to(page, f"#/d/{draft}/torque")
    page.get_by_label("Another fastening").fill("a fastening with a long name, to be tightened in three steps")
    page.get_by_role("button", name="Add it").click()
    looked_at(page, "torque")
    to(page, "#/")
    page.get_by_text("On this device").wait_for()
    looked_at(page, "all sheets, with one")
    to(page, "#/d/none")
    looked_at(page, "a sheet that is not here")


def test_what_is_said_over_the_page_is_large_enough_too(page: Page, folder: Path) -> None:
    begin(page, address(folder, "K-07"), "Teardown", "2026-11-24")
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_text("This sheet is open in another window").wait_for()
    looked_at(other, "written elsewhere")
    other.close()
    page.evaluate("() => { live.values().next().value.failed = new Error('no room'); newer = true; showStanding(); }")
    page.get_by_role("button", name="Try again now").wait_for()
    looked_at(page, "not kept, and a newer page")
    to(page, f"#/d/{draft_of(page)}/over")
    with page.expect_download():
        page.get_by_role("button", name="Save the zip").click()
    page.get_by_label("Receipt").fill("aaaa-aaaa")
    page.get_by_role("button", name="Throw the draft away").click()
    page.get_by_text("This is not the receipt").wait_for()
    looked_at(page, "a wrong receipt")


@pytest.mark.parametrize("forwards", [True, False])
@pytest.mark.parametrize(("engine", "place"), [SEALS, VALVES])
def test_a_members_name_is_in_view_with_its_field(
    page: Page, folder: Path, engine: str, place: str, forwards: bool
) -> None:
    begin(page, address(folder, engine), "Teardown", "2026-11-24")
    page.set_viewport_size(OVER_A_KEYBOARD)
    to(page, f"#/d/{draft_of(page)}/{place}")
    page.evaluate(UNFOLD)
    fields = page.locator("#bench .field input:not(.file), #bench .field textarea").all()
    assert len(fields) > 8
    for field in fields if forwards else reversed(fields):
        field.evaluate("(one) => one.focus()")
        seen = page.evaluate(LABEL)
        assert seen["top"] >= 0, (seen, field.get_attribute("name"))
        assert seen["bottom"] <= seen["free"], (seen, field.get_attribute("name"))


@pytest.mark.parametrize(("engine", "place"), [SEALS, VALVES])
def test_of_a_set_only_the_members_of_which_something_is_said_stand_open(
    page: Page, folder: Path, engine: str, place: str
) -> None:
    begin(page, address(folder, engine), "Teardown", "2026-11-24")
    way = f"#/d/{draft_of(page)}/{place}"
    to(page, way)
    page.get_by_text("One of the set differs").click()
    members = page.locator("details details")
    assert members.count() > 2
    assert members.evaluate_all("(all) => all.map((one) => one.open)") == [False] * members.count()
    members.nth(1).locator("summary").click()
    members.nth(1).get_by_label("Finding").fill("chipped")
    to(page, way.rpartition("/p/")[0])
    to(page, way)
    open_now = members.evaluate_all("(all) => all.map((one) => one.open)")
    assert open_now == [number == 1 for number in range(len(open_now))]
    assert members.nth(1).get_by_label("Finding").is_visible()


@pytest.mark.parametrize(("held", "after"), [(60, 0), (700, 0), (60, 200)])
def test_a_grade_that_is_pressed_right_after_an_odd_reading_is_kept(
    page: Page, folder: Path, held: int, after: int
) -> None:
    """`held`: how long the finger or the mouse is down; `after`: how long after the last digit; milliseconds."""
    begin(page, address(folder, "K-07"), "Teardown", "2026-11-24")
    to(page, f"#/d/{draft_of(page)}/p/rotor-bearing-1")
    page.set_viewport_size({"width": 360, "height": 1600})
    grade = page.locator(".grades button[value='3']").first
    field = page.get_by_label("Inside diameter, mm")
    field.focus()
    box = grade.bounding_box()
    assert box is not None
    page.keyboard.type("60.93")
    page.wait_for_timeout(after)
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, delay=held)
    assert grade.get_attribute("aria-pressed") == "true"
    page.locator(".odd p").first.wait_for()  # said all the same
