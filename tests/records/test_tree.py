"""Where records come from: the folder as it lies, and the same folder at a commit."""

import os
import subprocess
from pathlib import Path

import pytest

from engine_pages.records.git import run_git
from engine_pages.records.tree import Commit, Folder, LeftOut, NoFile, NoTree, Tree, shown


def write(root: Path, files: dict[str, str | bytes]) -> None:
    for path, content in files.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(content if isinstance(content, bytes) else content.encode())


def git(top: Path, *arguments: str) -> str:
    person = {f"GIT_{role}_{what}": "bench" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
    command = ["git", "-C", str(top), *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=True, env={**os.environ, **person})
    return done.stdout.strip()


def commit(top: Path) -> str:
    if not (top / ".git").exists():
        git(top, "init", "-q", "-b", "main")
    git(top, "add", "-A")
    git(top, "commit", "-q", "--allow-empty", "-m", "not read")
    return git(top, "rev-parse", "HEAD")


@pytest.fixture(autouse=True)
def no_configuration_of_this_machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    root = tmp_path / "shop"
    write(
        root,
        {
            "shop.yml": "name: bench\n",
            "families/twin.yml": "family: twin\n",
            "engines/E-1/engine.yml": "engine: E-1\n",
            "engines/E-1/teardowns/2026-10-12/teardown.yml": "engine: E-1\n",
            "engines/E-1/teardowns/2026-10-12/rb2.jpg": b"\xff\xd8\xff\x00\x00",
            "engines/site/engine.yml": "engine: site\n",
            ".gitignore": "/site/\n",
            ".cache/thumb.jpg": b"x",
            "engines/.DS_Store": b"x",
            "site/index.html": "<p>built</p>",
        },
    )
    return root


LISTED = (
    "engines/E-1/engine.yml",
    "engines/E-1/teardowns/2026-10-12/rb2.jpg",
    "engines/E-1/teardowns/2026-10-12/teardown.yml",
    "engines/site/engine.yml",
    "families/twin.yml",
    "shop.yml",
)


def test_a_folder_lists_its_files_sorted_without_dot_names_and_the_built_site(shop: Path) -> None:
    assert tuple(Folder(shop).paths()) == LISTED


def test_a_folder_needs_no_git_and_does_not_mind_what_git_ignores(shop: Path) -> None:
    write(shop, {".gitignore": "*.jpg\n"})
    assert "engines/E-1/teardowns/2026-10-12/rb2.jpg" in Folder(shop).paths()


def test_a_commit_reads_as_the_folder_did_when_it_was_made(shop: Path) -> None:
    git(shop.parent, "init", "-q", str(shop))
    git(shop, "add", "-f", "-A")  # even a site that someone committed is passed over
    made = commit(shop)
    folder, at_commit = Folder(shop), Commit(shop, "HEAD")
    assert at_commit.commit == made
    assert tuple(at_commit.paths()) == tuple(folder.paths()) == LISTED
    for path in LISTED:
        assert at_commit.read(path) == folder.read(path)
        assert at_commit.size(path) == folder.size(path) == len(folder.read(path))


def test_a_commit_does_not_see_what_was_typed_since(shop: Path) -> None:
    commit(shop)
    write(shop, {"shop.yml": "name: half-ty", "families/new.yml": "family:"})
    (shop / "families/twin.yml").unlink()
    before = Commit(shop, "HEAD")
    assert before.read("shop.yml") == b"name: bench\n"
    assert before.read("families/twin.yml") == b"family: twin\n"
    assert "families/new.yml" not in before.paths()


def test_an_older_commit_is_named_by_any_revision(shop: Path) -> None:
    first = commit(shop)
    git(shop, "tag", "as-sold")
    write(shop, {"shop.yml": "name: later\n"})
    commit(shop)
    for revision in ("HEAD~1", "as-sold", first, first[:8]):
        assert Commit(shop, revision).read("shop.yml") == b"name: bench\n"
    assert Commit(shop, "as-sold").label == f"commit {first[:12]}"


def test_a_shop_may_be_a_folder_of_a_larger_repository(shop: Path, tmp_path: Path) -> None:
    write(tmp_path, {"outside.yml": "not the shop's"})
    commit(tmp_path)
    assert tuple(Commit(shop, "HEAD").paths()) == LISTED
    assert Commit(shop, "HEAD").read("shop.yml") == b"name: bench\n"


def test_reading_a_commit_changes_nothing_in_the_folder(shop: Path) -> None:
    commit(shop)
    write(shop, {"shop.yml": "name: half-ty"})
    before = {path: path.read_bytes() for path in shop.rglob("*") if path.is_file()}
    at_commit = Commit(shop, "HEAD")
    for path in at_commit.paths():
        at_commit.read(path)
    assert {path: path.read_bytes() for path in shop.rglob("*") if path.is_file()} == before


def test_any_bytes_come_back_from_a_commit(shop: Path) -> None:
    # Among the records that are read together: empty, no newline at the end, NUL, something like git's own headers.
    odd = {
        "empty.yml": b"",
        "again.yml": b"",
        "nul.yml": b"\x00\xff\n\r\n",
        "header.yml": b"0" * 40 + b" blob 3\nabc\n" + b"0" * 40 + b" missing\n",
        "crlf.yml": b"a: 1\r\n",
        "large.yml": b"x" * ((1 << 20) + 1),
        "µ–ß.yml": b"1",
        "with\nnewline.yml": b"2",
        "with\ttab.yml": b"3",
    }
    write(shop, dict(odd))
    commit(shop)
    at_commit = Commit(shop, "HEAD")
    assert {path: at_commit.read(path) for path in odd} == odd
    assert {path: at_commit.size(path) for path in odd} == {path: len(content) for path, content in odd.items()}


def test_the_records_of_a_commit_are_read_in_one_process(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(shop, {f"parts/P-{number}.yml": f"serial: P-{number}\n" for number in range(50)})
    commit(shop)
    at_commit = Commit(shop, "HEAD")
    asked: list[tuple[str, ...]] = []

    def counted(root: Path, *arguments: str, stdin: bytes = b"") -> bytes:
        asked.append(arguments)
        return run_git(root, *arguments, stdin=stdin)

    monkeypatch.setattr("engine_pages.records.git.run_git", counted)
    for number in range(50):
        assert at_commit.read(f"parts/P-{number}.yml") == f"serial: P-{number}\n".encode()
    assert asked == [("cat-file", "--batch")]


# ── links and other names that are not read ──────────────────────────────────────────────────────────────────────────


@pytest.fixture
def linked(shop: Path, tmp_path: Path) -> Path:
    write(tmp_path, {"secret.txt": "not the shop's", "elsewhere/engine.yml": "engine: X\n"})
    (shop / "engines/E-1/log.yml").symlink_to(tmp_path / "secret.txt")
    (shop / "engines/E-2").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    (shop / "families/same.yml").symlink_to("twin.yml")
    (shop / "engines/loop").symlink_to(shop)
    return shop


WHY_LINK = "a symbolic link, which is never followed; put the file itself here"


def test_symbolic_links_are_not_followed_and_are_named(linked: Path) -> None:
    commit(linked)
    for source in (Folder(linked), Commit(linked, "HEAD")):
        assert tuple(source.paths()) == LISTED
        assert source.left_out() == tuple(
            LeftOut(path, WHY_LINK)
            for path in ("engines/E-1/log.yml", "engines/E-2", "engines/loop", "families/same.yml")
        )
        for path in ("engines/E-1/log.yml", "engines/E-2/engine.yml", "families/same.yml"):
            with pytest.raises(NoFile, match="no such file"):
                source.read(path)


def test_a_link_put_in_a_files_place_after_the_listing_is_not_followed(shop: Path, tmp_path: Path) -> None:
    folder = Folder(shop)
    write(tmp_path, {"secret.txt": "not the shop's"})
    (shop / "shop.yml").unlink()
    (shop / "shop.yml").symlink_to(tmp_path / "secret.txt")
    with pytest.raises(NoFile, match=r"shop\.yml: cannot be read"):
        folder.read("shop.yml")


@pytest.mark.parametrize("path", ["../secret.txt", "/etc/hostname", "engines/../shop.yml", "", ".", "engines", "a\0b"])
def test_only_what_is_listed_can_be_read(shop: Path, path: str) -> None:
    commit(shop)
    write(shop.parent, {"secret.txt": "not the shop's"})
    for source in (Folder(shop), Commit(shop, "HEAD")):
        with pytest.raises(NoFile):
            source.read(path)
        with pytest.raises(NoFile):
            source.size(path)


def test_a_name_that_is_not_utf_8_is_left_out_and_named(shop: Path) -> None:
    (shop / os.fsdecode(b"m\xfcller.yml")).write_text("x")
    commit(shop)
    for source in (Folder(shop), Commit(shop, "HEAD")):
        assert source.left_out() == (LeftOut("m\\udcfcller.yml", "its name is not UTF-8"),)
        assert tuple(source.paths()) == LISTED


def test_a_pipe_is_no_file(shop: Path) -> None:
    os.mkfifo(shop / "engines/pipe.yml")
    assert Folder(shop).left_out() == (LeftOut("engines/pipe.yml", "no plain file"),)


def test_a_repository_inside_a_commit_is_left_out_and_named(shop: Path, tmp_path: Path) -> None:
    write(tmp_path / "other", {"a.yml": "1"})
    other = commit(tmp_path / "other")
    commit(shop)
    git(shop, "update-index", "--add", "--cacheinfo", f"160000,{other},engines/inner")
    git(shop, "commit", "-q", "-m", "not read")
    source = Commit(shop, "HEAD")
    assert source.left_out() == (LeftOut("engines/inner", "another repository, which is not read"),)


def test_a_file_that_went_away_is_told(shop: Path) -> None:
    folder = Folder(shop)
    (shop / "shop.yml").unlink()
    with pytest.raises(NoFile, match=r"shop\.yml: cannot be read: No such file"):
        folder.read("shop.yml")
    with pytest.raises(NoFile, match=r"shop\.yml: cannot be read: No such file"):
        folder.size("shop.yml")


# ── no tree ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(NoTree, match="nowhere: there is no such folder"):
        Folder(tmp_path / "nowhere")
    with pytest.raises(NoTree, match="nowhere: there is no such folder"):
        Commit(tmp_path / "nowhere", "HEAD")


def test_a_file_is_no_folder(shop: Path) -> None:
    with pytest.raises(NoTree, match="there is no such folder"):
        Folder(shop / "shop.yml")


def test_a_commit_needs_a_repository(shop: Path) -> None:
    with pytest.raises(NoTree, match="the folder is in no git repository"):
        Commit(shop, "HEAD")


def test_a_commit_needs_git(shop: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    commit(shop)
    monkeypatch.setenv("PATH", str(tmp_path / "empty"))
    with pytest.raises(NoTree, match="git is not installed"):
        Commit(shop, "HEAD")


@pytest.mark.parametrize("revision", ["nosuch", "HEAD~7", "--all", "-h", "", "HEAD\n"])
def test_an_unknown_revision_is_named(shop: Path, revision: str) -> None:
    commit(shop)
    with pytest.raises(NoTree, match="no such revision"):
        Commit(shop, revision)


def test_a_repository_without_a_commit_has_no_revision(shop: Path) -> None:
    git(shop, "init", "-q")
    with pytest.raises(NoTree, match="HEAD: no such revision"):
        Commit(shop, "HEAD")


def test_a_commit_older_than_the_shop_is_told(shop: Path, tmp_path: Path) -> None:
    write(tmp_path / "repository", {"readme.txt": "1"})
    commit(tmp_path / "repository")
    shop.rename(tmp_path / "repository" / "shop")
    with pytest.raises(NoTree, match="the shop's folder is not in that commit"):
        Commit(tmp_path / "repository" / "shop", "HEAD")


def test_both_are_trees(shop: Path) -> None:
    commit(shop)
    sources: list[Tree] = [Folder(shop), Commit(shop, "HEAD")]
    assert [bool(source.label) for source in sources] == [True, True]


def test_a_path_is_shown_without_control_characters() -> None:
    assert shown("a\x1b[2J\nb\udcfc.yml") == "a\\u001b[2J\\u000ab\\udcfc.yml"
