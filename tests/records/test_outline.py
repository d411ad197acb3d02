"""A commit's outline holds what the whole listing holds, whichever way it is asked; git is the measure."""

import os
import subprocess
from pathlib import Path

import pytest

from engine_pages.records import outline
from engine_pages.records.outline import Outline
from engine_pages.records.tree import Commit, NoTree

FILES = {
    "shop/shop.yml": "shop: A\n",
    "shop/families/f.yml": "family: f\n",
    "shop/parts/RB-1.yml": "part: RB-1\n",
    "shop/parts/old/RB-2.yml": "part: RB-2\n",
    "shop/parts/RB-1.jpg": "no record",
    "shop/engines/README.md": "a file beside the engines",
    "shop/engines/K-07/engine.yml": "engine: K-07\n",
    "shop/engines/K-07/teardowns/2026-10-17/a.jpg": "a photo",
    "shop/engines/K 08 ä/engine.yml": "engine: K 08 ä\n",
    "shop/engines/.hidden/engine.yml": "engine: hidden\n",
    "shop/site/index.html": "built",
    "beside.txt": "no file of the shop",
}


def git(folder: Path, *arguments: str) -> str:
    who = ("-c", "user.name=N", "-c", "user.email=n@shop.example")
    done = subprocess.run(["git", "-C", str(folder), *who, *arguments], check=True, capture_output=True, text=True)
    return done.stdout.strip()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    git(tmp_path, "init", "-q")
    for path, content in FILES.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(content, encoding="utf-8")
    os.symlink("K-07", tmp_path / "shop/engines/K-09")
    (tmp_path / "shop/engines/K-10").mkdir()
    os.symlink("../K-07/engine.yml", tmp_path / "shop/engines/K-10/engine.yml")
    git(tmp_path, "add", "-A")
    git(tmp_path, "commit", "-qm", "all")
    return tmp_path / "shop"


def blobs(files: Commit) -> dict[str, str]:
    return {path: files.blob(path) for path in files.paths()}


def test_the_parts_of_an_outline_are_the_whole_commit(shop: Path) -> None:
    whole, found = Commit(shop, "HEAD"), Outline(shop, "HEAD")
    assert blobs(found.around.joined(found.of_engines(found.engines))) == blobs(whole)
    assert found.whole.paths() == whole.paths()
    assert set(found.parts.values()) | set(found.others) == set(found.around.paths())
    assert found.parts == {"RB-1": "parts/RB-1.yml"}


def test_an_engines_folder_is_called_as_git_calls_it(shop: Path) -> None:
    found = Outline(shop, "HEAD").engines
    assert found == {name: git(shop, "rev-parse", f"HEAD:shop/engines/{name}") for name in ("K-07", "K 08 ä", "K-10")}
    (shop / "engines/K-07/teardowns/2026-10-17/a.jpg").write_text("another photo", encoding="utf-8")
    git(shop, "commit", "-qam", "a photo")
    later = Outline(shop, "HEAD").engines
    assert {name for name in later if later[name] != found[name]} == {"K-07"}


def test_engines_asked_for_one_by_one_have_their_own_files_and_what_was_left_out_of_them(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outline, "MOST_ASKED", 2)
    found, whole = Outline(shop, "HEAD"), Commit(shop, "HEAD")
    for _ in range(3):  # the third is taken from a whole listing
        for name in ("K-07", "K 08 ä", "K-10", "K-11"):
            files = found.of_engines([name])
            own = f"engines/{name}/"
            assert blobs(files) == {path: blob for path, blob in blobs(whole).items() if path.startswith(own)}
            assert list(files.left_out()) == [left for left in whole.left_out() if left.path.startswith(own)]
            assert all(files.read(path) == whole.read(path) for path in files.paths())


def test_a_shop_without_engines_has_an_outline(tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    (tmp_path / "engines").write_text("a file, not a folder", encoding="utf-8")
    (tmp_path / "shop.yml").write_text("shop: A\n", encoding="utf-8")
    git(tmp_path, "add", "-A")
    git(tmp_path, "commit", "-qm", "no engines")
    found = Outline(tmp_path, "HEAD")
    assert (found.engines, found.others) == ({}, ["engines", "shop.yml"])
    assert found.of_engines([]).paths() == ()


def test_where_the_shop_was_not_there_yet_it_says_so(shop: Path) -> None:
    first = git(shop, "rev-parse", "HEAD")
    git(shop.parent, "mv", "shop", "moved")
    git(shop.parent, "commit", "-qm", "moved")
    with pytest.raises(NoTree, match="the shop's folder is not in that commit"):
        Outline(shop.parent / "moved", first)
