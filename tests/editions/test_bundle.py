"""A bundle holds what its edition's table gives and nothing else, is the same each time, and shows damage."""

import io
import json
import posixpath
import re
import zipfile
from datetime import date
from html import unescape
from pathlib import Path

import numpy as np
import pytest
import yaml
from click.testing import CliRunner, Result
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import Image

from engine_pages.cli import main
from engine_pages.editions.edition import tell_whole
from engine_pages.editions.forbidden import Forbidden
from engine_pages.editions.manifest import NAME as MANIFEST
from engine_pages.editions.manifest import entry_of
from engine_pages.editions.records_yaml import Plain, _node, records_files, yaml_bytes
from engine_pages.pages.bare_shelf import BareShelf
from engine_pages.pages.cache import Cache
from engine_pages.pages.handed_records import handed_photos
from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked
from engine_pages.records.tree import Folder
from engine_pages.records.yaml_text import read_document

from .canaries import CREW, OUTSIDE, OWN, picture, word, write_shop

TODAY = date(2026, 11, 25)
NAME = OWN.split("/")[1]
DEMO = Path(__file__).parents[2] / "records"
READERS = ("owner", "buyer")


def made(shop: Path, edition: str, to: Path) -> Result:
    return CliRunner().invoke(main, ["bundle", NAME, "--records", str(shop), "--edition", edition, "--to", str(to)])


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_shop(tmp_path_factory.mktemp("shop") / "shop")
    (folder / OWN / "builds/2026-06-01.yml").write_text(
        f"engine: {NAME}\ndate: 2026-06-01\nnote: {word('uncommitted')}\nrest: as before\n", encoding="utf-8"
    )
    return folder


@pytest.fixture(scope="module")
def bundles(shop: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    top = tmp_path_factory.mktemp("bundles")
    for edition in READERS:
        done = made(shop, edition, top / f"{edition}.zip")
        assert done.exit_code == 0, done.output
    return {edition: top / f"{edition}.zip" for edition in READERS}


@pytest.fixture(scope="module")
def unzipped(bundles: dict[str, Path]) -> dict[str, dict[str, bytes]]:
    """The files of each bundle by their paths."""
    found = {}
    for edition, path in bundles.items():
        with zipfile.ZipFile(path) as archive:
            found[edition] = {name: archive.read(name) for name in archive.namelist()}
    return found


def text(files: dict[str, bytes], top: str = "") -> str:
    return "\n".join(f"{path}\n{one.decode('latin-1')}" for path, one in files.items() if path.startswith(top))


def written(files: dict[str, bytes], to: Path) -> Path:
    for path, content in files.items():
        (to / path).parent.mkdir(parents=True, exist_ok=True)
        (to / path).write_bytes(content)
    return to


# ── who sees what ────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("edition", READERS)
@pytest.mark.parametrize("field", sorted(OUTSIDE))
@pytest.mark.parametrize("top", ["", "records/"])
def test_a_bundle_and_its_records_hold_what_the_table_gives(
    unzipped: dict[str, dict[str, bytes]], edition: str, field: str, top: str
) -> None:
    assert (word(field) in text(unzipped[edition], top)) == (edition in OUTSIDE[field])


@pytest.mark.parametrize("edition", READERS)
@pytest.mark.parametrize("field", CREW)
def test_no_bundle_holds_what_stays_with_the_crew(
    unzipped: dict[str, dict[str, bytes]], edition: str, field: str
) -> None:
    assert word(field).casefold() not in text(unzipped[edition]).casefold()


def test_the_zip_itself_names_neither_a_machine_nor_a_time(bundles: dict[str, Path]) -> None:
    with zipfile.ZipFile(bundles["buyer"]) as archive:
        infos = archive.infolist()
    names = [one.filename for one in infos]
    assert names == [*sorted(names[:-1]), MANIFEST]
    assert {(one.date_time, one.extra, one.comment, one.create_system) for one in infos} == {
        ((1980, 1, 1, 0, 0, 0), b"", b"", 3)
    }


# ── records ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def read(folder: Path) -> Checked:
    checked = read_checked(Folder(folder), TODAY)
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    return checked


@pytest.mark.parametrize("edition", READERS)
def test_the_records_are_read_without_an_error(
    unzipped: dict[str, dict[str, bytes]], edition: str, tmp_path: Path
) -> None:
    checked = read(written(unzipped[edition], tmp_path) / "records")
    assert list(checked.shop.engines) == [NAME]
    assert len(checked.shop.engines[NAME].sheets) == 2
    assert (checked.shop.engines[NAME].plan is not None) == (edition == "owner")


def test_figures_stand_as_they_were_typed(unzipped: dict[str, dict[str, bytes]]) -> None:
    sheet = unzipped["buyer"][f"records/{OWN}/teardowns/2026-05-01/teardown.yml"].decode()
    assert "measured: {bore: 60.071}" in sheet
    assert "[812, 806, 815]" in sheet
    log = unzipped["buyer"][f"records/{OWN}/log.yml"].decode()
    assert log.startswith("- {date: 2026-03-10, kind: run, what: race, hours: 4.0")


@pytest.mark.parametrize("engine", ["K-05", "K-07", "Q-12"])
def test_records_of_the_demo_are_read_without_an_error_and_written_again_alike(engine: str, tmp_path: Path) -> None:
    checked = read_checked(Folder(DEMO), TODAY)
    told = tell_whole(checked, engine, "owner")
    photos = dict(handed_photos(told.records, engine, BareShelf(checked.shop.tree.read, Cache())))
    files = {path: made() for path, made in records_files(told.records, engine, told.forbidden, photos).items()}
    bare = {name: checked.shop.tree.read(path) for path, name in photos.items()}
    again = read(written(files | bare, tmp_path))
    assert photos
    names = dict(handed_photos(again, engine, BareShelf(again.shop.tree.read, Cache())))
    assert {path: made() for path, made in records_files(again, engine, Forbidden(frozenset()), names).items()} == files


def test_photos_keep_their_pixels_and_lose_their_notes(unzipped: dict[str, dict[str, bytes]]) -> None:
    records = {path: one for path, one in unzipped["buyer"].items() if path.startswith("records/")}
    photos = {path: one for path, one in records.items() if path.endswith(".jpg")}
    view = word("Photo.view")
    assert set(photos) == {
        f"records/{OWN}/picture-engine-01.jpg",
        f"records/{OWN}/teardowns/2026-05-01/engine-{view}-01.jpg",
    }
    for one in photos.values():
        assert not Image.open(io.BytesIO(one)).getexif()
        before = Image.open(io.BytesIO(picture("")))
        assert np.array_equal(np.asarray(Image.open(io.BytesIO(one))), np.asarray(before))


def test_what_is_reckoned_with_and_not_shown_is_not_written(tmp_path: Path) -> None:
    folder = write_shop(tmp_path / "shop")
    log, sheet = folder / OWN / "log.yml", folder / OWN / "teardowns/2026-05-01/teardown.yml"
    log.write_text(
        log.read_text() + "- {date: 2026-04-01, kind: run, what: race, hours: 1, over_revs: 1, above_redline: 4 s}\n"
        "- {date: 2026-04-02, kind: change, counter_was: 48.6 h, counter: 0.0 h}\n"
    )
    kept_back = f"photos: [{{file: {word('Photo.file')}.jpg, crew_only: yes, taken: 2026-05-01}}]\n    finding"
    sheet.write_text(sheet.read_text().replace("finding", kept_back, 1))
    told = tell_whole(read_checked(Folder(folder), TODAY), NAME, "owner")
    photos = dict(handed_photos(told.records, NAME, BareShelf(Folder(folder).read, Cache())))
    files = {path: made() for path, made in records_files(told.records, NAME, told.forbidden, photos).items()}
    assert b"over_revs: 1" in files[f"{OWN}/log.yml"]
    for key in (b"counter_was", b"above_redline", b"crew_only", b"taken", b"original"):
        assert not any(key in one for one in files.values()), key
    assert files[f"{OWN}/teardowns/2026-05-01/teardown.yml"].count(b"photos:") == 1  # not a trace of the one kept back


@given(st.text(st.characters(exclude_categories=["Cs"])), st.text(st.characters(categories=["L", "N", "P", "Zs"])))
@example("two\nlines # no comment", "- a: 'b'")
@example("", "no")
@example("null", "~")
@example("\x85", "a\u2028b")
def test_any_text_is_read_as_it_was_written(one: str, other: str) -> None:
    data: Plain = {"a": one, "b": [one, other], "c": {"d": other, "e": None}, "f": [{"g": one}, {"h": other}]}
    document, problems = read_document("x.yml", yaml_bytes(data))
    assert problems == []
    assert document.data == data
    by_python = yaml.serialize(_node(data, top=True), Dumper=yaml.BaseDumper, allow_unicode=True, width=1 << 20)
    assert yaml_bytes(data) == by_python.encode()  # a fingerprint hangs on no library that writes it sooner


# ── figures ──────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("edition", READERS)
def test_the_joint_summaries_are_those_that_the_figures_name(
    unzipped: dict[str, dict[str, bytes]], edition: str
) -> None:
    files = unzipped[edition]
    figures = files["figures/figures.json"].decode()
    assert json.loads(figures)["edition"] == edition
    named = set(re.findall(r'"joint_summary": "([0-9a-f]{64})"', figures))
    there = {path.split("/")[-1].removesuffix(".json"): one for path, one in files.items() if "joint-summaries" in path}
    assert set(there) == named
    assert named
    assert all(entry_of(content).sha256 == digest for digest, content in there.items())


# ── the site ─────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("edition", READERS)
def test_no_link_of_the_site_is_dead_and_none_leaves_it(unzipped: dict[str, dict[str, bytes]], edition: str) -> None:
    files = unzipped[edition]
    pages = {path: unescape(one.decode()) for path, one in files.items() if path.endswith(".html")}
    assert "site/index.html" in pages
    for path, page in pages.items():
        for way in re.findall(r'(?:href|src|data-index)="([^"#]+)', page):
            target = posixpath.normpath(posixpath.join(posixpath.dirname(path), way))
            assert way == "data:," or (target.startswith("site/") and target in files), f"{path}: {way}"


# ── the same each time, and known again ──────────────────────────────────────────────────────────────────────────────


def test_the_same_commit_gives_the_same_bytes(shop: Path, bundles: dict[str, Path], tmp_path: Path) -> None:
    assert made(shop, "buyer", tmp_path / "again.zip").exit_code == 0
    assert (tmp_path / "again.zip").read_bytes() == bundles["buyer"].read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["again.zip"]


def test_the_manifest_says_what_it_is_of_and_names_every_file(unzipped: dict[str, dict[str, bytes]]) -> None:
    files = dict(unzipped["buyer"])
    manifest = json.loads(files.pop(MANIFEST))
    assert (manifest["engine"], manifest["edition"], len(manifest["commit"])) == (NAME, "buyer", 7)
    assert manifest["files"] == {
        path: {"bytes": len(one), "sha256": entry_of(one).sha256} for path, one in sorted(files.items())
    }


def verified(path: Path) -> Result:
    return CliRunner().invoke(main, ["verify", str(path)])


def repacked(files: dict[str, bytes], to: Path) -> Path:
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return to


def test_a_whole_bundle_is_whole_and_forgery_is_not_ruled_out(bundles: dict[str, Path]) -> None:
    done = verified(bundles["owner"])
    assert done.exit_code == 0
    assert f"{NAME}, owner edition" in done.output
    assert "shows damage, not forgery" in done.output


def test_a_changed_a_missing_and_an_added_file_are_named(unzipped: dict[str, dict[str, bytes]], tmp_path: Path) -> None:
    files = dict(unzipped["buyer"])
    page, log = "site/index.html", f"records/{OWN}/log.yml"
    files[page] = files[page].replace(b"h", b"H", 1)  # of the same size
    del files[log]
    files["more.txt"] = b"more"
    done = verified(repacked(files, tmp_path / "odd.zip"))
    assert done.exit_code == 1
    for line in (f"changed: {page}", f"missing: {log}", "added: more.txt"):
        assert line in done.output.splitlines()


def test_a_zip_that_is_cut_off_is_no_bundle(bundles: dict[str, Path], tmp_path: Path) -> None:
    whole = bundles["buyer"].read_bytes()
    for length in (0, 10, len(whole) // 2, len(whole) - 1):
        (tmp_path / "cut.zip").write_bytes(whole[:length])
        done = verified(tmp_path / "cut.zip")
        assert done.exit_code == 1
        assert "is no whole zip" in done.output


def test_a_byte_that_flipped_anywhere_ends_in_words(bundles: dict[str, Path], tmp_path: Path) -> None:
    whole = bundles["buyer"].read_bytes()
    for at in range(7, len(whole), len(whole) // 150):
        bad = bytearray(whole)
        bad[at] ^= 0x5A
        (tmp_path / "bad.zip").write_bytes(bad)
        done = verified(tmp_path / "bad.zip")
        assert isinstance(done.exception, SystemExit | type(None)), (at, done.exception)
    for at in range(len(whole) - 400, len(whole)):  # the list of the zip itself
        (tmp_path / "bad.zip").write_bytes(whole[:at] + bytes((whole[at] ^ 0xFF,)) + whole[at + 1 :])
        done = verified(tmp_path / "bad.zip")
        assert isinstance(done.exception, SystemExit | type(None)), (at, done.exception)


def manifest_with(path: str = "a.txt", size: object = 1, sha256: object = "0" * 64, **more: object) -> bytes:
    about = {
        "format": "engine-pages bundle 1",
        "engine": "E",
        "edition": "buyer",
        "commit": "1234567",
        "made_with": "x",
        "tree": "0" * 40,
        "fingerprint": "abbey",
    }
    return json.dumps(about | {"files": {path: {"bytes": size, "sha256": sha256}}} | more).encode()


@pytest.mark.parametrize(
    "manifest",
    [
        *(b"", b"\xff\xfe", b"[]", b"{}", b"[" * 100_000, b"null"),
        *(manifest_with("/etc/passwd"), manifest_with("../up.txt"), manifest_with("C:x"), manifest_with("a\\b")),
        *(manifest_with(size=-1), manifest_with(size=True), manifest_with(size="1"), manifest_with(size=10**18)),
        *(manifest_with(sha256="abc"), manifest_with(sha256=7), manifest_with(engine=7), manifest_with(files=[])),
        *(manifest_with(engine="x" * 1000), manifest_with(format="another 2")),
    ],
    ids=lambda one: one[-40:].decode("latin-1"),
)  # fmt: skip
def test_a_manifest_that_is_not_ours_is_refused_with_words(manifest: bytes, tmp_path: Path) -> None:
    done = verified(repacked({MANIFEST: manifest, "a.txt": b"a"}, tmp_path / "odd.zip"))
    assert done.exit_code == 1
    assert "is no bundle" in done.output


def test_a_zip_without_a_list_or_with_two_is_no_bundle(tmp_path: Path) -> None:
    assert "it has no manifest.json" in verified(repacked({"a.txt": b"a"}, tmp_path / "none.zip")).output
    to = repacked({MANIFEST: manifest_with()}, tmp_path / "two.zip")
    with zipfile.ZipFile(to, "a") as archive, pytest.warns(UserWarning, match="Duplicate name"):
        archive.writestr(MANIFEST, manifest_with())
    done = verified(tmp_path / "two.zip")
    assert (done.exit_code, "it has 2 of manifest.json" in done.output) == (1, True)


def test_a_file_that_stands_there_twice_is_not_whole(unzipped: dict[str, dict[str, bytes]], tmp_path: Path) -> None:
    to = repacked(unzipped["buyer"], tmp_path / "twice.zip")
    with zipfile.ZipFile(to, "a") as archive, pytest.warns(UserWarning, match="Duplicate name"):
        archive.writestr("READ-ME.txt", unzipped["buyer"]["READ-ME.txt"])
    assert "changed: READ-ME.txt" in verified(to).output


def test_of_a_bomb_no_more_is_unpacked_than_the_list_names(tmp_path: Path) -> None:
    content = b"a" * 30_000_000
    to = repacked({"a.txt": content, "b.txt": content, MANIFEST: manifest_with(size=5)}, tmp_path / "bomb.zip")
    done = verified(to)
    assert done.exit_code == 1
    assert {"changed: a.txt", "added: b.txt"} <= set(done.output.splitlines())
    to = repacked({MANIFEST: b" " * 30_000_000}, tmp_path / "bomb.zip")
    assert "has over 16 MB" in verified(to).output


@pytest.mark.parametrize("name", ["/abs.txt", "../up.txt", "a\x1b[31m.txt", "C:\\x.txt"])
def test_a_name_that_leads_elsewhere_is_named_and_written_nowhere(name: str, tmp_path: Path) -> None:
    done = verified(repacked({MANIFEST: manifest_with(), "a.txt": b"a", name: b"x"}, tmp_path / "odd.zip"))
    assert done.exit_code == 1
    assert "added: " in done.output
    assert "\x1b" not in done.output
    assert [path.name for path in tmp_path.iterdir()] == ["odd.zip"]


def test_what_is_no_zip_is_said(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("a letter")
    for path in (tmp_path / "letter.txt", tmp_path / "nothing.zip"):
        done = verified(path)
        assert done.exit_code == 1
        assert str(path) in done.output


def test_a_file_that_is_no_bundle_is_not_written_over(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("mine")
    done = made(shop, "buyer", tmp_path / "letter.txt")
    assert (done.exit_code, "is no bundle" in done.output) == (1, True)
    assert (tmp_path / "letter.txt").read_text() == "mine"


def test_a_bundle_is_made_of_commits_and_of_engines_that_there_are(shop: Path, tmp_path: Path) -> None:
    to = ["--edition", "buyer", "--to", str(tmp_path / "x.zip")]
    for arguments, words in (
        (["no-engine", "--records", str(shop)], "there is no engine no-engine"),
        ([NAME, "--records", str(shop), "--at", "no-such"], "no such revision"),
    ):
        done = CliRunner().invoke(main, ["bundle", *arguments, *to])
        assert done.exit_code == 1
        assert words in done.output
    assert list(tmp_path.iterdir()) == []
