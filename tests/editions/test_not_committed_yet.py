"""What the folder names or keeps back and no commit holds yet is blanked; what is left out of a commit is an error."""

import os
import re
from datetime import date
from pathlib import Path

import pytest
from bench.handed import git
from engine_pages.plugins.publish import publish
from mkdocs.exceptions import ConfigurationError

from engine_pages.editions.registry import make_link
from engine_pages.pages.cache import Cache
from engine_pages.pages.one_edition import site_for
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit

from .canaries import OWN, SHEET, word, write_shop

TODAY = date(2026, 11, 25)
NAME = OWN.split("/")[1]
NOTE = f"note: {word('Sheet.note')}"
SHOWN = "Owner was here with a visitor"
WHO = ("-c", "user.name=A", "-c", "user.email=a@x.example")


def edit(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A sheet whose note names a person of whom no record knows yet."""
    folder = write_shop(tmp_path / "shop")
    edit(folder / SHEET, NOTE, f"{NOTE}. {SHOWN}, Rita Kosch-Amsel, and left")
    git(folder, *WHO, "commit", "-qam", "a visitor")
    make_link(folder, NAME, "owner", TODAY, None, None)
    return folder


def published(shop: Path) -> str:
    publish(shop, shop.parent / "tree", TODAY)
    return "".join(path.read_text(encoding="utf-8") for path in (shop.parent / "tree").rglob("*.html"))


def test_a_name_that_was_written_into_the_folder_alone_is_blanked_at_once(shop: Path) -> None:
    before = published(shop)
    assert SHOWN in before
    assert "Rita Kosch-Amsel" in before
    people = re.search("people: {", (shop / "shop.yml").read_text(encoding="utf-8"))
    assert people is not None
    edit(shop / "shop.yml", people[0], f"{people[0]}ZK: Rita Kosch-Amsel, ")
    after = published(shop)
    assert SHOWN in after
    assert "Rita Kosch-Amsel" not in after
    checked = read_checked(Commit(shop, "HEAD"), TODAY, repository_of(shop))
    handed = site_for(checked, NAME, "buyer", Cache())
    assert "Rita" not in "".join(page.html for page in handed.pages)


def test_a_text_that_is_to_be_the_crews_from_now_on_is_not_shown_until_then(shop: Path) -> None:
    edit(
        shop / SHEET,
        f"{NOTE}. {SHOWN}, Rita Kosch-Amsel, and left",
        f"{NOTE}.\ncrew_note: {SHOWN}, Rita Kosch-Amsel, and left",
    )
    assert SHOWN not in published(shop)


@pytest.mark.parametrize(
    "path", ["shares.yml", "shop.yml", "engines/L", "parts/XX-1.yml", "families/more.yml", "parts"]
)
def test_what_may_not_be_read_stops_the_publishing_and_the_tree_stays(shop: Path, path: str) -> None:
    stood = published(shop)
    if (shop / path).exists():
        (shop / path).rename(shop.parent / "elsewhere")
    os.symlink(shop.parent / "elsewhere", shop / path)
    git(shop, "add", "-A")
    git(shop, *WHO, "commit", "-qm", "a link")
    with pytest.raises(ConfigurationError, match=re.escape(f"{path}:1:1: error: not read: a symbolic link")):
        published(shop)
    assert "".join(page.read_text(encoding="utf-8") for page in (shop.parent / "tree").rglob("*.html")) == stood
