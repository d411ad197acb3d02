"""Every word of a shop is somewhere; who reads an edition finds those that the table gives, and no other, in whatever
form it left the shop: pages, a bundle, a locked file once it is open, paper."""

import re
from collections.abc import Callable
from datetime import date
from functools import lru_cache
from pathlib import Path

import pytest
from engine_pages.plugins.publish import publish

from engine_pages.editions.links import links_of
from engine_pages.editions.registry import make_link
from engine_pages.editions.table import EDITIONS
from engine_pages.records import engine, family, log, sheet, shop
from engine_pages.records.checks.all import read_checked
from engine_pages.records.model import Model
from engine_pages.records.tree import Folder

from .canaries import CREW, FIGURES, OUTSIDE, OWN, word, write_shop
from .handed_forms import bundle, everything, locked, paper, text_of

TODAY = date(2026, 11, 25)
NAME = OWN.split("/")[1]


READERS = ("owner", "buyer")  # those who read a history; a plate and a bench page are in the tree alone
FORMS = ("site", "bundle", "records in the bundle", "locked file, opened", "paper")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shop, every edition of it shared, with a sheet that is not committed."""
    written = write_shop(tmp_path_factory.mktemp("shop") / "shop")
    for edition in EDITIONS[1:]:
        make_link(written, NAME, edition, TODAY, None, word("Share.note"))
    (written / OWN / "builds/2026-06-01.yml").write_text(
        f"engine: {NAME}\ndate: 2026-06-01\nnote: {word('uncommitted')}\nrest: as before\n", encoding="utf-8"
    )
    return written


@pytest.fixture(scope="module")
def published(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """All that is published in each edition: every file's name and bytes."""
    to = tmp_path_factory.mktemp("tree") / "public"
    publish(folder, to, TODAY)
    links = {link.edition: link.token for link in links_of(read_checked(Folder(folder), TODAY))}
    found = {edition: everything(to / "s" / token) for edition, token in links.items()}
    found["tokens"] = " ".join(links.values())
    found["around"] = "\n".join(everything(path) for path in to.iterdir() if path.name != "s")
    return found


@pytest.fixture(scope="module")
def bundles(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, bytes]]:
    to = tmp_path_factory.mktemp("bundles")
    return {edition: bundle(folder, edition, to) for edition in READERS}


@pytest.fixture(scope="module")
def handed(
    folder: Path, published: dict[str, str], bundles: dict[str, dict[str, bytes]],
    tmp_path_factory: pytest.TempPathFactory,
) -> Callable[[str, str], str]:  # fmt: skip
    """All text of one form in one edition, made when it is first asked for."""
    to = tmp_path_factory.mktemp("handed")

    @lru_cache
    def text(form: str, edition: str) -> str:
        if form == "site":
            return published[edition]
        if form == "paper":
            return paper(folder, edition, to)
        if form.startswith("locked"):
            return text_of(("", part) for part in locked(folder, edition, to))
        top = "records/" if form.startswith("records") else ""
        return text_of((name, content) for name, content in bundles[edition].items() if name.startswith(top))

    return text


def _models() -> list[type[Model]]:
    found = [
        thing
        for module in (engine, family, log, sheet, shop)
        for thing in vars(module).values()
        if isinstance(thing, type) and issubclass(thing, Model) and thing is not Model
    ]
    return list(dict.fromkeys(found))


def test_every_field_of_every_record_has_a_place_in_this_test() -> None:
    placed = {*OUTSIDE, *CREW, *(f"{model}.{name}" for model, names in FIGURES.items() for name in names.split())}
    written = {f"{model.__name__}.{name}" for model in _models() for name in model.model_fields}
    assert written - placed == set()
    assert {name for name in placed if re.match(r"[A-Z]\w+\.\w+$", name)} - written == set()


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("edition", READERS)
@pytest.mark.parametrize("field", sorted(OUTSIDE))
def test_an_edition_holds_what_the_table_gives_it(
    handed: Callable[[str, str], str], form: str, edition: str, field: str
) -> None:
    assert (word(field) in handed(form, edition)) == (edition in OUTSIDE[field])


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("edition", READERS)
@pytest.mark.parametrize("field", CREW)
def test_no_edition_holds_what_stays_with_the_crew(
    handed: Callable[[str, str], str], form: str, edition: str, field: str
) -> None:
    assert word(field).casefold() not in handed(form, edition).casefold()


@pytest.mark.parametrize("edition", ["tag", "bench", "around"])
@pytest.mark.parametrize("field", CREW)
def test_neither_a_plate_nor_a_bench_page_nor_the_tree_around_holds_it(
    published: dict[str, str], edition: str, field: str
) -> None:
    assert word(field).casefold() not in published[edition].casefold()


@pytest.mark.parametrize("field", sorted(OUTSIDE))
def test_the_plate_tells_which_engine_it_is_and_what_is_due(published: dict[str, str], field: str) -> None:
    told = {"EngineFile.engine", "EngineFile.name", "EngineFile.stamped", "EngineFile.use", "ShopFile.name"}
    told |= {"Family.name", "Family.services"}
    assert (word(field) in published["tag"]) == (field in told)


def test_the_bench_carries_only_what_its_form_needs(published: dict[str, str]) -> None:
    needed = {"EngineFile.engine", "EngineFile.name", "ShopFile.name", "PartFile.serial", "PositionLine.part"}
    needed |= {"Instrument.name", "Sheet.sheet", "Sheet.torque"}  # gauges to choose from, numbers taken, last torques
    families = (
        "Family.",
        "Kind.",
        "Place.",
        "Dimension.",
        "Fit.",
        "TestRule.",
        "Fluids.",
    )  # what is in now stands there
    carried = {field for field in OUTSIDE if word(field) in published["bench"] and not field.startswith(families)}
    assert carried <= needed


@pytest.mark.parametrize("edition", READERS)
def test_that_photos_were_exchanged_is_told_and_the_crews_own_is_not_placed(
    published: dict[str, str], edition: str
) -> None:
    rows = [row.strip() for row in re.findall(r"<b>Photo exchanged:</b>([^<]*)<", published[edition])]
    assert set(rows) == {"", "the engine"}
    assert rows.count("") == rows.count("the engine")


def test_no_token_stands_in_any_file(published: dict[str, str]) -> None:
    tokens = published["tokens"].split()
    assert len(tokens) == len(EDITIONS) - 1
    for edition, content in published.items():
        assert edition == "tokens" or not any(token in content for token in tokens)
