"""The YAML that the bench page writes: whatever is typed comes back the same, and ordinary text stays plain.

Read by the project's own reader (YAML 1.1 by libyaml) and by ruamel.yaml in its YAML 1.2 mode, as "base" that keeps
every scalar the text it is.
"""

import random
from typing import Any

import pytest
from browser.conftest import Phone, begin, handed, to_place
from ruamel.yaml import YAML

from engine_pages.bench.handed_over import read_handed_over
from engine_pages.records.yaml_text import read_document

pytestmark = pytest.mark.browser
SEED = 20261125
# Signs that mean something to YAML, and letters that a reader may refuse, fold or take for the end of a line.
SIGNS = ":?-,[]{}#&*!|>'\"%@`<=~\\./ \t\n\r"
RARE = "\x00\x01\x07\x08\x0b\x0c\x1b\x1f\x7f\x80\x85\x9f\xa0\xad\u200b\u2028\u2029\u202e\ufeff\ufffe\uffff\ufffd"
WORDS = (
    "RB-1042",
    "60.061",
    "no",
    "null",
    "~",
    "0.05..0.06",
    "10 %",
    "12:30",
    "µm",
    "Ölfilm",
    "刃",
    "🔧",
    "---",
    "...",
    "<<",
)  # `<<` is a merge as a key alone
HALVES = "\ud800\udbff\udc00\udfff"


def typed(rng: random.Random, rare: str) -> str:
    pieces = (rng.choice, SIGNS), (rng.choice, rare), (rng.choice, WORDS), (rng.choice, "abc 019")
    return "".join(pick(source) for pick, source in rng.choices(pieces, (5, 2, 3, 4), k=rng.randint(1, 9)))


def tree(rng: random.Random, rare: str) -> dict[str, Any]:
    """A sheet with such text wherever text may stand: block and flow, lists, photos, names of a builder's own."""

    def text() -> str:
        return typed(rng, rare)

    lines = {"part": text(), "measured": {"bore": [text(), text()], "width": {"a1": text()}}, "finding": text()}
    return {
        "engine": "K-07",
        "note": text(),
        "positions": {
            "rotor-1": {**lines, "photos": [{"file": "a.jpg", "caption": text()}]},
            f"{text()}1": {"why": text()},
        },
        "work": [{"part": text(), "did": text() * 12}],
        "torque": {f"{text()}2": text(), f"{text()}3": text()},
        "correction": [text(), text()],
    }


def written(phone: Phone, trees: list[dict[str, Any]]) -> list[str]:
    """Each tree as the page writes it. Text goes there by its code units: half a letter passes no other way."""

    def units(value: Any) -> Any:
        if isinstance(value, str):
            raw = value.encode("utf-16-le", "surrogatepass")
            return [int.from_bytes(raw[at : at + 2], "little") for at in range(0, len(raw), 2)]
        if isinstance(value, list):
            return {"list": [units(one) for one in value]}
        return {"map": [[units(key), units(one)] for key, one in value.items()]}

    found: list[str] = phone.page.evaluate(
        """(trees) => {
          const tree = (one) => Array.isArray(one) ? String.fromCharCode(...one)
            : one.list ? one.list.map(tree)
            : Object.fromEntries(one.map.map(([key, inner]) => [tree(key), tree(inner)]));
          return trees.map((one) => toYaml(tree(one)));
        }""",
        [units(one) for one in trees],
    )
    return found


def cleaned(value: Any) -> Any:
    """What a text file can hold of it: U+FFFD for half a letter (Unicode 15, section 3.9, as every encoder does)."""
    if isinstance(value, str):
        whole = value.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")
        return "".join("\ufffd" if "\ud800" <= letter <= "\udfff" else letter for letter in whole)
    if isinstance(value, list):
        return [cleaned(one) for one in value]
    return {cleaned(key): cleaned(one) for key, one in value.items()}


@pytest.mark.parametrize("rare", [RARE, HALVES], ids=["rare letters", "half letters"])
def test_whatever_is_typed_comes_back_the_same_from_both_readers(phone: Phone, folder_page: str, rare: str) -> None:
    phone.page.goto(folder_page)
    rng = random.Random(SEED)
    trees = [tree(rng, rare) for _ in range(300)]
    modern = YAML(typ="base", pure=True)
    for sheet, text in zip(trees, written(phone, trees), strict=True):
        document, problems = read_document("sheet.yml", text.encode())
        assert [str(problem) for problem in problems] == [], text
        assert document.data == cleaned(sheet), text
        assert modern.load(text) == cleaned(sheet), text


def test_every_letter_of_the_first_plane_comes_back_the_same(phone: Phone, folder_page: str) -> None:
    phone.page.goto(folder_page)
    letters = [chr(number) for number in range(0x10000) if not 0xD800 <= number <= 0xDFFF]
    sheet = {f"{at}": "".join(f"x{one}y" for one in letters[at : at + 97]) for at in range(0, len(letters), 97)}
    (text,) = written(phone, [sheet])
    document, problems = read_document("sheet.yml", text.encode())
    assert problems == []
    assert document.data == sheet
    assert YAML(typ="base", pure=True).load(text) == sheet


def test_ordinary_text_stays_plain(phone: Phone, folder_page: str) -> None:
    phone.page.goto(folder_page)
    sheet = {
        "by": "RK",
        "counter": "41.6 h",
        "note": "Two things:\nfront cover only # not the rear",
        "finding": "Two light scratches, loaded side, 4 o'clock; 10 % (at most) – see “stand”.",
        "measured": {"bore": ["60.0610", "60.062"], "gap": "0.05..0.06 mm", "play": "under 0.05 mm"},
        "why": "Ölfilm gerissen 🔧",
    }
    assert written(phone, [sheet]) == [
        "by: RK\n"
        "counter: 41.6 h\n"
        "note: |-\n  Two things:\n  front cover only # not the rear\n"
        "finding: Two light scratches, loaded side, 4 o'clock; 10 % (at most) – see “stand”.\n"
        "measured: {bore: [60.0610, 60.062], gap: 0.05..0.06 mm, play: under 0.05 mm}\n"
        "why: Ölfilm gerissen 🔧\n"
    ]


def test_a_blank_left_behind_by_a_phones_keyboard_is_no_part_of_a_serial(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-16")
    to_place(phone.page, "Rotor bearing 1")
    phone.page.get_by_label("Serial").fill("RB-1041 ")
    phone.page.get_by_label("Inside diameter, mm").fill(" 60.061 ")
    phone.page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(phone.page)).sheet.decode()
    assert "part: RB-1041\n" in sheet
    assert "measured: {inside_diameter: 60.061}" in sheet
