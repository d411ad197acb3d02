"""What is handed over in one file never takes the place of a record, nor of a file that is somebody else's."""

from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from engine_pages.cli import main

from .canaries import OWN, write_shop

NAME = OWN.split("/")[1]
COMMANDS = (["lock", NAME, "--edition", "owner"], ["print", NAME], ["bundle", NAME, "--edition", "buyer"])
LETTER = b"a letter to the owner"
OTHER_ZIP = bytes.fromhex("504b0506") + bytes(18)  # an empty zip: the record of its end and no more


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_shop(tmp_path_factory.mktemp("shop") / "shop")


@pytest.fixture(autouse=True)
def printer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A browser that prints the same line always."""
    fake = tmp_path / "browser"
    fake.write_text(
        '#!/bin/sh\nfor one in "$@"; do case $one in --print-to-pdf=*) printf %%PDF-1.7 >"${one#*=}";; esac; done\n'
    )
    fake.chmod(0o755)
    monkeypatch.setenv("ENGINE_PAGES_BROWSER", str(fake))


def run(command: Sequence[str], shop: Path, to: Path) -> Result:
    return CliRunner().invoke(main, [*command, "--records", str(shop), "--to", str(to)])


def files(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and ".git" not in path.parts}


@pytest.mark.parametrize("command", COMMANDS, ids=lambda one: one[0])
@pytest.mark.parametrize("place", [f"{OWN}/engine.yml", f"{OWN}/new.pdf", "history.zip"])
def test_no_file_is_handed_over_into_the_records(shop: Path, command: list[str], place: str) -> None:
    before = files(shop)
    done = run(command, shop, shop / place)
    assert (done.exit_code, "among the records" in done.output) == (1, True)
    assert files(shop) == before


@pytest.mark.parametrize("command", COMMANDS, ids=lambda one: one[0])
def test_a_link_that_leads_among_the_records_is_followed(shop: Path, command: list[str], tmp_path: Path) -> None:
    before = files(shop)
    (tmp_path / "way").symlink_to(shop / OWN)
    done = run(command, shop, tmp_path / "way" / "engine.yml")
    assert (done.exit_code, "among the records" in done.output) == (1, True)
    assert files(shop) == before


@pytest.mark.parametrize("command", COMMANDS, ids=lambda one: one[0])
@pytest.mark.parametrize("content", [LETTER, OTHER_ZIP, b"<!doctype html><title>Mine</title>"])
def test_a_file_of_somebody_else_s_stays(shop: Path, command: list[str], content: bytes, tmp_path: Path) -> None:
    (tmp_path / "mine").write_bytes(content)
    done = run(command, shop, tmp_path / "mine")
    assert (done.exit_code, "name a new file" in done.output) == (1, True)
    assert (tmp_path / "mine").read_bytes() == content


@pytest.mark.parametrize("command", COMMANDS, ids=lambda one: one[0])
def test_what_was_handed_over_before_is_made_anew(shop: Path, command: list[str], tmp_path: Path) -> None:
    (tmp_path / "out").touch()  # an empty file is free
    for _ in range(2):
        done = run(command, shop, tmp_path / "out")
        assert done.exit_code == 0, done.output
    assert (tmp_path / "out").stat().st_size > 0


def test_what_is_printed_is_the_owners_unless_the_crews_is_asked_for(shop: Path, tmp_path: Path) -> None:
    assert "owner edition, printed by" in run(["print", NAME], shop, tmp_path / "a.pdf").output
    crew = run(["print", NAME, "--edition", "crew"], shop, tmp_path / "b.pdf").output
    assert "crew edition, printed by" in crew
    assert "stays with the crew" in crew
