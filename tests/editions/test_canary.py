"""Every word of a shop is somewhere; who reads an edition finds those that the table gives, and no other."""

import re
from datetime import date
from pathlib import Path

import pytest
from engine_pages.plugins.publish import publish

from engine_pages.editions.registry import make_link
from engine_pages.editions.table import EDITIONS
from engine_pages.records import engine, family, log, sheet, shop
from engine_pages.records.model import Model

from .canaries import CREW, FIGURES, OUTSIDE, OWN, word, write_shop

TODAY = date(2026, 11, 25)
NAME = OWN.split("/")[1]


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """All that is published in each edition: every file's name and bytes."""
    folder, to = write_shop(tmp_path_factory.mktemp("shop") / "shop"), tmp_path_factory.mktemp("tree") / "public"
    tokens = {}
    for edition in EDITIONS[1:]:
        tokens[edition] = make_link(folder, NAME, edition, TODAY, None, word("Share.note")).token
    (folder / OWN / "builds/2026-06-01.yml").write_text(
        f"engine: {NAME}\ndate: 2026-06-01\nnote: {word('uncommitted')}\nrest: as before\n", encoding="utf-8"
    )
    publish(folder, to, TODAY)
    found = {edition: _everything(to / "s" / token) for edition, token in tokens.items()}
    found["tokens"] = " ".join(tokens.values())
    found["around"] = "\n".join(_everything(path) for path in to.iterdir() if path.name != "s")
    return found


def _everything(top: Path) -> str:
    files = sorted(path for path in top.rglob("*") if path.is_file()) if top.is_dir() else [top]
    return "\n".join(f"{path.relative_to(top)}\n{path.read_bytes().decode('latin-1')}" for path in files)


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


@pytest.mark.parametrize("edition", ["owner", "buyer"])
@pytest.mark.parametrize("field", sorted(OUTSIDE))
def test_an_edition_holds_what_the_table_gives_it(published: dict[str, str], edition: str, field: str) -> None:
    assert (word(field) in published[edition]) == (edition in OUTSIDE[field])


@pytest.mark.parametrize("edition", [*EDITIONS[1:], "around"])
@pytest.mark.parametrize("field", CREW)
def test_no_edition_holds_what_stays_with_the_crew(published: dict[str, str], edition: str, field: str) -> None:
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


def test_no_token_stands_in_any_file(published: dict[str, str]) -> None:
    tokens = published["tokens"].split()
    assert len(tokens) == len(EDITIONS) - 1
    for edition, content in published.items():
        assert edition == "tokens" or not any(token in content for token in tokens)
