"""A locked file in a real browser: it opens with its key or its words, from disk and from this machine, else not."""

import base64
import io
import json
import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from editions.canaries import OWN, word, write_shop
from editions.gcm_cases import GCM
from editions.locked_shop import DATA, Handed, inside, lock
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from .conftest import DESKTOP, PHONE, Visit, serve

pytestmark = pytest.mark.browser
NAME = OWN.split("/")[1]
FILE = "history.html"
FLIPS, SEED = 100, 20261125
SHOWN = ".book-title"  # stands in an opened history, and nowhere else
CHANGED = "It does not open: this is another file's key, or the file was changed on its way."
# A part with one bit turned, as the page's own functions would open it: whether it was refused.
FLIPPED = """async ([place, bit, key]) => {
  const part = locked.parts[place], whole = part.sealed, turned = bytes(whole);
  turned[bit >> 3] ^= 1 << (bit & 7);
  part.sealed = btoa(Array.from(turned, (one) => String.fromCharCode(one)).join(""));
  try { await everything(await keyOf(key)); return "opened"; }
  catch (trouble) { return trouble instanceof Refused ? "refused" : String(trouble); }
  finally { part.sealed = whole; }
}"""
VECTOR = """async (hex) => {
  const raw = (one) => Uint8Array.from(one.match(/../g) ?? [], (two) => parseInt(two, 16));
  const [key, iv, sealed, about] = hex.map(raw);
  const plain = new Uint8Array(await decrypted(await keyFrom(key), iv, sealed, about));
  return Array.from(plain, (one) => one.toString(16).padStart(2, "0")).join("");
}"""


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Handed:
    top = tmp_path_factory.mktemp("locked")
    return lock(write_shop(top / "shop"), top / "out" / FILE)


@pytest.fixture(scope="module")
def places(handed: Handed) -> Iterator[dict[str, str]]:
    """Where the file's folder is opened from: the disk, and an address of this machine."""
    server = serve(handed.path.parent)
    yield {"disk": handed.path.parent.as_uri(), "localhost": f"http://localhost:{server.server_address[1]}"}
    server.shutdown()
    server.server_close()


@pytest.fixture(params=["disk", "localhost"])
def place(request: pytest.FixtureRequest, places: dict[str, str]) -> str:
    return places[request.param]


@pytest.fixture
def closed(browser: Browser, place: str) -> Iterator[Visit]:
    """The file in a window of its own; at the end nothing was asked for but the file, and nothing went wrong."""
    context = browser.new_context(viewport=DESKTOP)
    visit = Visit(context, place)
    yield visit
    context.close()
    assert {url.partition("#")[0] for url in visit.asked if not url.startswith(("blob:", "data:"))} == {
        f"{place}/{FILE}"
    }
    assert visit.said == []


def answer(page: Page, typed: str) -> str:
    """What the page says of a key or of words once it has tried them."""
    page.fill("#key", typed)
    page.click("button")
    page.wait_for_selector("#said.no, " + SHOWN)
    return page.inner_text("#said")


def opens(page: Page) -> None:
    page.wait_for_selector(SHOWN)
    assert word("Sheet.note") in page.inner_text("body")


def test_it_opens_with_the_key_in_its_link_and_the_key_leaves_the_address(closed: Visit, handed: Handed) -> None:
    page = closed.open(f"{FILE}#{handed.key}")
    opens(page)
    assert page.url == f"{closed.address}/{FILE}"
    assert handed.key not in page.evaluate("document.documentElement.outerHTML")
    assert page.title() == f"{NAME}, dossier"


def test_it_opens_when_the_link_is_pasted_over_its_open_address(closed: Visit, handed: Handed) -> None:
    page = closed.open(FILE)
    page.goto(f"{closed.address}/{FILE}#{handed.key}")
    opens(page)


@pytest.mark.parametrize("form", ["{}", " {}\n", "see history.html#{}"])
def test_it_opens_with_the_key_in_the_box(closed: Visit, handed: Handed, form: str) -> None:
    page = closed.open(FILE)
    page.fill("#key", form.format(handed.key))
    page.click("button")
    opens(page)


@pytest.mark.parametrize("typed", [str, str.upper, lambda words: f" {words.title().replace(' ', ',  ')} "])
def test_it_opens_with_the_words_however_they_are_typed(
    closed: Visit, handed: Handed, typed: Callable[[str], str]
) -> None:
    page = closed.open(FILE)
    page.fill("#key", typed(handed.words))
    page.click("button")
    opens(page)


def test_enter_opens_it_and_with_shift_begins_a_line(closed: Visit, handed: Handed) -> None:
    page = closed.open(FILE)
    first, _, rest = handed.words.partition(" ")
    page.locator("#key").press_sequentially(first)
    page.keyboard.press("Shift+Enter")
    page.keyboard.type(rest)
    assert page.input_value("#key") == f"{first}\n{rest}"
    page.keyboard.press("Enter")
    opens(page)


def test_while_it_opens_it_says_so(closed: Visit, handed: Handed) -> None:
    page = closed.open(FILE)
    said = page.evaluate("(words) => { unlock(words); return said.textContent; }", handed.words)
    assert said == "Opening …"
    opens(page)


def test_without_a_key_it_names_nothing(closed: Visit) -> None:
    page = closed.open(FILE)
    assert page.title() == page.inner_text("h1") == "A locked history"
    assert not page.locator("img").count()
    assert answer(page, "") == "Paste the key, or type the eight words."


def test_axe_finds_nothing_on_the_page_that_asks(closed: Visit) -> None:
    page = closed.open(FILE)
    answer(page, "no key")
    assert Axe().run(page).response["violations"] == []


def test_a_wrong_key_is_refused_with_words(closed: Visit, handed: Handed) -> None:
    other = ("B" if handed.key[0] == "A" else "A") + handed.key[1:]
    page = closed.open(f"{FILE}#{other}")
    page.wait_for_selector("#said.no")
    assert page.inner_text("#said") == CHANGED
    assert answer(page, handed.key[:-3]) == "A key has 43 signs; this has 40."
    assert answer(page, f"{handed.key[:-1]}_") == "This is no key: look for a sign that was read wrongly."
    assert answer(page, other) == CHANGED
    assert not page.locator(SHOWN).count()


def test_wrong_words_are_refused_with_words(closed: Visit, handed: Handed) -> None:
    words, page = handed.words.split(), closed.open(FILE)
    assert answer(page, " ".join([*words[:-1], "kolbenring"])) == "“kolbenring” is none of the words: look for a slip."
    as_long_as_a_key = [*["abbey"] * 7, "kolbring"]
    assert len("".join(as_long_as_a_key)) == len(handed.key)
    assert answer(page, " ".join(as_long_as_a_key)) == "“kolbring” is none of the words: look for a slip."
    assert answer(page, " ".join(words[:-1])) == "There are eight words; these are 7."
    swapped = ["abbey" if words[0] != "abbey" else "abide", *words[1:]]
    assert answer(page, " ".join(swapped)).startswith("It does not open: these are another file's words")
    assert not page.locator(SHOWN).count()


def test_not_with_any_changed_bit_of_its_cipher_text(closed: Visit, handed: Handed) -> None:
    drawn, page, whole = random.Random(SEED), closed.open(FILE), inside(handed.text)
    lengths = [len(base64.b64decode(part["sealed"])) * 8 for part in whole["parts"]]
    assert len(lengths) == 3
    flips = [(number % len(lengths), drawn.randrange(lengths[number % len(lengths)])) for number in range(FLIPS)]
    assert {page.evaluate(FLIPPED, [*flip, handed.key]) for flip in flips} == {"refused"}
    page.evaluate("(key) => { unlock(key); }", handed.key)  # as it was, it opens
    opens(page)


@pytest.mark.parametrize(("field", "how"), [("sealed", "key"), ("iv", "key"), ("id", "key"), ("wrapped", "words")])
def test_a_file_that_was_changed_on_its_way_is_refused_with_words(
    browser: Browser, handed: Handed, tmp_path: Path, field: str, how: str
) -> None:
    whole = inside(handed.text)
    box: dict[str, Any] = {"id": whole, "wrapped": whole["wrapped"]}.get(field, whole["parts"][-1])
    name = "sealed" if field == "wrapped" else field
    box[name] = ("B" if box[name][0] == "A" else "A") + box[name][1:]
    page = written(browser, tmp_path, handed, whole).open(FILE)
    assert "the file was changed on its way" in answer(page, handed.key if how == "key" else handed.words)
    assert not page.locator(SHOWN).count()
    page.context.close()


def written(browser: Browser, folder: Path, handed: Handed, whole: dict[str, Any]) -> Visit:
    """The file with something else in it."""
    found = DATA.search(handed.text)
    assert found is not None
    (folder / FILE).write_text(handed.text.replace(found[1], json.dumps(whole)), encoding="utf-8")
    return Visit(browser.new_context(), folder.as_uri())


def test_a_file_that_was_cut_short_says_so(browser: Browser, handed: Handed, tmp_path: Path) -> None:
    (tmp_path / FILE).write_text(handed.text[: len(handed.text) // 2], encoding="utf-8")
    context = browser.new_context()
    page = Visit(context, tmp_path.as_uri()).open(f"{FILE}#{handed.key}")
    assert page.inner_text("#said") == "This file is not whole: fetch it once more."
    assert page.locator("form").is_hidden()
    context.close()


def test_plain_http_from_another_machine_is_told_where_it_opens(browser: Browser, handed: Handed) -> None:
    context = browser.new_context()
    context.route("http://shop.example/**", lambda route: route.fulfill(body=handed.text, content_type="text/html"))
    page = Visit(context, "http://shop.example").open(f"{FILE}#{handed.key}")
    said = page.inner_text("#said")
    assert "plain http from another machine" in said
    assert "Save the file and open it from your disk" in said
    assert page.locator("form").is_hidden()
    context.close()


def test_photos_are_shown_and_open_alone_in_a_window_of_their_own(closed: Visit, handed: Handed) -> None:
    page = closed.open(f"{FILE}#{handed.key}")
    opens(page)
    page.wait_for_function("[...document.images].every((image) => image.complete)")
    photos = page.evaluate("[...document.images].map((image) => [image.naturalWidth, image.src.split(':')[0]])")
    assert len(photos) >= 2
    assert all(photo == [640, "blob"] for photo in photos)  # the shop's own are 640 px wide
    with page.expect_popup() as popup:
        page.click("a[data-photo]")
    popup.value.wait_for_function("document.images[0]?.naturalWidth === 640")


def test_links_of_the_contents_lead_to_their_chapters_and_a_reload_locks_it(closed: Visit, handed: Handed) -> None:
    page = closed.open(f"{FILE}#{handed.key}")
    opens(page)
    page.click(".book-contents li:nth-child(3) a")
    assert re.search(r"#c\d+$", page.url)
    assert page.evaluate("Math.abs(document.querySelector(location.hash).getBoundingClientRect().top)") < 40
    page.reload()
    assert page.inner_text("h1") == "A locked history"
    assert page.inner_text("#said") == ""  # what is left in the address is no key, and no slip either


def test_it_prints_as_the_dossier_does(closed: Visit, handed: Handed) -> None:
    page = closed.open(f"{FILE}#{handed.key}")
    opens(page)
    pdf = PdfReader(io.BytesIO(page.pdf(format="A4")))
    text = "".join(sheet.extract_text() for sheet in pdf.pages)
    assert word("Sheet.note") in text
    assert "A locked history" not in text
    assert len(pdf.pages) >= 5
    assert f"{NAME}, as of" in pdf.pages[1].extract_text()  # in the margin, as on every page
    assert sum(len(sheet.images) for sheet in pdf.pages) >= 2


@pytest.mark.parametrize("viewport", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_it_is_light_or_dark_as_the_reader_wishes_and_fits_the_window(
    browser: Browser, handed: Handed, viewport: dict[str, int]
) -> None:
    shades = []
    for scheme in ("light", "dark"):
        context = browser.new_context(viewport=viewport, color_scheme=scheme)
        page = Visit(context, handed.path.parent.as_uri()).open(FILE)
        for _ in range(2):
            shades.append(page.evaluate("getComputedStyle(document.body).backgroundColor"))
            assert page.locator(".way-back:visible").count() == 0  # there is no site around it
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            if not page.locator(SHOWN).count():
                page.fill("#key", handed.key)
                page.click("button")
                opens(page)
        context.close()
    assert shades == ["rgb(252, 252, 249)"] * 2 + ["rgb(20, 24, 27)"] * 2


@pytest.mark.parametrize(("key", "iv", "plain", "about", "sealed"), GCM, ids=["13", "14", "16"])
def test_the_page_decrypts_against_the_test_cases_of_gcm(
    closed: Visit, key: str, iv: str, plain: str, about: str, sealed: str
) -> None:
    assert closed.open(FILE).evaluate(VECTOR, [key, iv, sealed, about]) == plain
