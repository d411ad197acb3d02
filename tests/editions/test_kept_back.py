"""What a version of a record keeps for the crew is found by the models and the table, not by a list of keys."""

from collections.abc import Iterator
from typing import Any

import pytest

from engine_pages.editions.given_fields import MODELS, NAMES, fields_of
from engine_pages.editions.kept_back import kept_back
from engine_pages.editions.sealed import alike
from engine_pages.editions.table import CLOSED, of_this_engine
from engine_pages.records.model import Model

PATHS = {
    "build": "engines/E1/builds/2026-03-07.yml",
    "log": "engines/E1/log.yml",
    "part": "parts/B-1.yml",
    "engine": "engines/E1/engine.yml",
    "plan": "engines/E1/plan.yml",
    "review": "engines/E1/review.yml",
    "shop": "shop.yml",
    "shares": "shares.yml",
}
SECRET = "paid in cash on the day"


def places(model: type[Model], hidden: bool = False, *way: str) -> Iterator[tuple[tuple[str, ...], bool]]:
    """Every free text of a model that no table gives, by the keys on the way to it; whether it is a name."""
    for key, one in fields_of(model).items():
        off = hidden or one.name not in of_this_engine(model)
        if one.model is not None:
            yield from places(one.model, off, *way, key, *(("*",) if one.several else ()))
        elif off and one.is_text and one.name not in CLOSED:
            yield (*way, key), one.name == "by" or (model, one.name) in NAMES


WITHHELD = [(kind, *place) for kind in PATHS for place in places(MODELS[kind])]


def written(way: tuple[str, ...], text: str) -> str:
    """A flow line in which the text stands at the end of the way."""
    key, *rest = way
    value = written(tuple(rest), text) if rest else f'"{text}"'
    if key == "*":
        return f"[{value}]"
    return f"{{{key}: {{RK: {value}}}}}" if key == "people" else f"{{{key}: {value}}}"


@pytest.mark.parametrize(("kind", "way", "is_name"), WITHHELD, ids=[f"{one[0]} {'.'.join(one[1])}" for one in WITHHELD])
def test_a_field_that_the_table_gives_to_nobody_is_kept_back(kind: str, way: tuple[str, ...], is_name: bool) -> None:
    line = written(way, SECRET)
    if kind == "shares":
        line = line.replace("[{", "[{engine: E1, ")
    found = {one[:2] for one in kept_back(PATHS[kind], (f"- {line}\n" if kind == "log" else f"{line}\n").encode())}
    assert (("text", alike(SECRET)) in found) != is_name
    assert not is_name or found & {("name", SECRET), ("by", SECRET)}


def test_a_field_that_the_table_gives_is_not_kept_back() -> None:
    sheet = (
        "engine: E1\nnote: seen\nwork: [{part: B-1, did: ground}]\npositions: {rotor: {finding: worn, why: hours}}\n"
    )
    assert list(kept_back(PATHS["build"], sheet.encode())) == []


def test_the_points_and_places_of_a_review_are_no_free_text() -> None:
    answers = "answers: [{point: unsigned, where: builds/2026-03-07.yml, answer: Ours., by: RK}]\n"
    left_out = "left_out: [{point: unsigned, where: log.yml, why: Our own.}]\n"
    found: list[Any] = list(kept_back(PATHS["review"], (answers + left_out).encode()))
    assert found == [("text", "our own"), ("text", "our own"), ("by", "RK")]


def test_what_is_noted_of_a_link_is_kept_back_for_its_engine_and_its_token_is_kept_nowhere() -> None:
    links = f"shares:\n  - {{engine: E1, edition: owner, token: {'a' * 32}, note: sold to Ann}}\n"
    assert list(kept_back("shares.yml", links.encode())) == [
        ("text", "sold to ann", "E1"),
        ("text", "sold to ann", "E1"),
    ]


def test_a_key_of_the_crew_is_known_where_no_model_has_it() -> None:
    family = kept_back("families/f.yml", b"family: f\nkinds: {rotor: {crew_note: bought in a hurry}}\n")
    lost = kept_back("engines/E1/teardown.yml", b"positions: {rotor: {crew_note: bought in a hurry}}\n")
    assert ("text", "bought in a hurry") in set(family) & set(lost)


@pytest.mark.parametrize(
    "version",
    [
        "<<<<<<< HEAD\ncrew_note: Paid in cash on the day.\n=======\n>>>>>>> side\n",
        "note: [broken\ncrew_note: |\n  Paid in cash\n  on the day.\nengine: E1\n",
        "crew_note: Seen.\ncrew_note: Paid in cash on the day.\n",
        "\tengine: E1\nwork: [{part: B-1, did: ground, crew_note: Paid in cash on the day.}]\n",
        "engine: E1\nwork:\n  - crew_note: >\n      Paid in cash\n      on the day.\n    did: [broken\n",
        "note: [broken\nwork: [{cost: 12, crew_note: paid in cash on the day, did: ground}]\n",
        "note: \udcff\ncrew_note: Paid in cash on the day.\n",
    ],
    ids=["conflict", "syntax", "key twice", "tab", "folded", "flow", "no UTF-8"],
)
def test_a_version_that_cannot_be_read_is_kept_back_line_by_line(version: str) -> None:
    found = set(kept_back(PATHS["build"], version.encode("utf-8", "surrogateescape")))
    assert any("paid in cash on the day" in piece[1] for piece in found if piece[0] == "text")


@pytest.mark.parametrize(
    "version",
    [
        "<<<<<<< HEAD\nphotos:\n  - {file: a.jpg, view: front}\n  - {file: b.jpg, crew_only: yes}\n",
        "<<<<<<< HEAD\nphotos:\n  - file: a.jpg\n  - crew_only: yes\n    file: b.jpg\n",
    ],
    ids=["flow", "block"],
)
def test_a_photo_that_was_crew_only_in_a_version_that_cannot_be_read_is_kept_back(version: str) -> None:
    found = set(kept_back(PATHS["build"], version.encode()))
    assert {piece for piece in found if piece[0] == "photo"} == {("photo", PATHS["build"], "b.jpg")}
