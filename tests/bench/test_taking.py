"""What the bench page hands over comes in whole, once, and never over another sheet."""

import io
import stat
import zipfile
from datetime import date
from pathlib import Path

import pytest
from bench.handed import BUILD, FILES, SHEET, STRIP, git, photo, shop_in, teardown, zipped
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from engine_pages.bench.handed_over import ZipRefusedError, checksum, read_handed_over, receipt_of
from engine_pages.bench.settling import settle
from engine_pages.bench.taking import take
from engine_pages.cli import main
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import GitFailed
from engine_pages.records.tree import Commit

TODAY = date(2026, 3, 2)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


def everything(shop: Path) -> dict[str, bytes]:
    """Every file of the shop but git's own."""
    files = (path for path in shop.rglob("*") if path.is_file() and ".git" not in path.parts)
    return {str(path.relative_to(shop)): path.read_bytes() for path in files}


def test_a_sheet_and_its_photos_are_put_in_their_place_and_committed(shop: Path) -> None:
    taken = take(shop, zipped(teardown()), TODAY)
    assert (taken.outcome, taken.path) == ("taken in", f"{STRIP}/teardown.yml")
    assert {path: (shop / path).read_bytes() for path in teardown()} == teardown()
    assert git(shop, "status", "--porcelain") == ""
    assert git(shop, "show", "--name-only", "--format=", "HEAD").split() == sorted(teardown())


def test_digits_stay_as_typed(shop: Path) -> None:
    take(shop, zipped(teardown()), TODAY)
    assert "width: 79.9610}" in (shop / STRIP / "teardown.yml").read_text(encoding="utf-8")


def test_the_receipt_is_the_first_forty_bits_of_the_checksum_against_rfc_4648() -> None:
    # RFC 4648, section 10: BASE32("fooba") = "MZXW6YTB"
    assert receipt_of(b"fooba".hex() + "00" * 27) == "mzxw-6ytb"


def test_the_receipt_is_of_the_content_and_not_of_the_zip() -> None:
    stored, packed = zipped(teardown()), zipped(dict(reversed(teardown().items())), zipfile.ZIP_DEFLATED)
    assert stored != packed
    assert read_handed_over(stored).receipt == read_handed_over(packed).receipt == receipt_of(checksum(teardown()))


def test_the_same_zip_again_is_already_there(shop: Path) -> None:
    first = take(shop, zipped(teardown()), TODAY)
    again = take(shop, zipped(teardown()), TODAY)
    assert (again.outcome, again.receipt, again.commit) == ("already there", first.receipt, first.commit)
    assert git(shop, "rev-list", "--count", "HEAD").strip() == "2"


def test_the_same_zip_is_known_again_after_the_builder_has_corrected_the_sheet(shop: Path) -> None:
    take(shop, zipped(teardown()), TODAY)
    (shop / STRIP / "teardown.yml").write_text(SHEET.replace("79.9610", "79.9160"), encoding="utf-8")
    git(shop, "commit", "-qam", "a digit")
    assert take(shop, zipped(teardown()), TODAY).outcome == "already there"
    assert "79.9160" in (shop / STRIP / "teardown.yml").read_text(encoding="utf-8")


def test_a_sheet_that_is_there_is_never_overwritten_and_the_difference_is_shown(shop: Path) -> None:
    take(shop, zipped(teardown()), TODAY)
    other = take(shop, zipped(teardown(SHEET.replace("79.9610", "79.9580"))), TODAY)
    assert other.outcome == "kept in the inbox"
    assert "-    measured: {width: 79.9610}" in other.difference
    assert "+    measured: {width: 79.9580}" in other.difference
    assert "79.9610" in (shop / STRIP / "teardown.yml").read_text(encoding="utf-8")
    assert "79.9580" in (shop / other.path).read_text(encoding="utf-8")


def test_a_draft_that_does_not_check_yet_is_kept_with_its_problems(shop: Path) -> None:
    taken = take(shop, zipped(teardown(SHEET.replace("79.9610", "79,961"))), TODAY)
    assert taken.outcome == "kept in the inbox"
    folder = (shop / taken.path).parent
    assert sorted(path.name for path in folder.iterdir()) == ["problems.txt", "rotor-1-face.jpg", "sheet.yml"]
    assert f"{taken.path}:6:26: error: " in (folder / "problems.txt").read_text(encoding="utf-8")
    assert not (shop / STRIP).exists()
    assert git(shop, "status", "--porcelain") == ""
    assert CliRunner().invoke(main, ["check", "--records", str(shop)]).exit_code == 0  # a draft spoils no shop
    assert take(shop, zipped(teardown(SHEET.replace("79.9610", "79,961"))), TODAY).outcome == "already there"


def test_errors_that_were_there_before_keep_no_sheet_out(shop: Path) -> None:
    (shop / "engines/E1/log.yml").write_text("- {date: 2026-02-01, knd: run}\n", encoding="utf-8")
    assert take(shop, zipped(teardown()), TODAY).outcome == "taken in"


def test_what_else_is_staged_stays_staged_and_is_not_committed(shop: Path) -> None:
    (shop / "shop.yml").write_text("name: Barn\n", encoding="utf-8")
    git(shop, "add", "shop.yml")
    take(shop, zipped(teardown()), TODAY)
    assert git(shop, "status", "--porcelain") == "M  shop.yml\n"


def test_a_build_has_its_photos_in_a_folder_of_its_name(shop: Path) -> None:
    sheet = BUILD.replace("2026-01-01", "2026-03-05") + "photos: [{file: stand.jpg, view: front}]\n"
    files = {
        "engines/E1/builds/2026-03-05.yml": sheet.encode(),
        "engines/E1/builds/2026-03-05/stand.jpg": photo(),
    }
    assert take(shop, zipped({**teardown()}), TODAY).outcome == "taken in"
    assert take(shop, zipped(files), TODAY).outcome == "taken in"
    assert (shop / "engines/E1/builds/2026-03-05/stand.jpg").exists()


@pytest.mark.parametrize("kind", ["inspections", "builds"])
def test_the_first_sheet_of_its_kind_comes_in_with_its_photos(shop: Path, kind: str) -> None:
    git(shop, "rm", "-rq", "engines/E1/builds")
    git(shop, "commit", "-qm", "no build yet")
    sheet = BUILD.replace("2026-01-01", "2026-03-01") + "photos: [{file: stand.jpg, view: front}]\n"
    place = f"engines/E1/{kind}/2026-03-01"
    files = {f"{place}.yml": sheet.encode(), f"{place}/stand.jpg": photo()}
    assert take(shop, zipped(files), TODAY).outcome == "taken in"
    assert git(shop, "show", "--name-only", "--format=", "HEAD").split() == sorted(files)
    assert git(shop, "status", "--porcelain") == ""


def test_a_folder_that_is_no_repository_takes_sheets_too(tmp_path: Path) -> None:
    for path, text in FILES.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    taken = take(tmp_path, zipped(teardown()), TODAY)
    assert (taken.outcome, taken.commit) == ("taken in", None)
    assert take(tmp_path, zipped(teardown()), TODAY).outcome == "already there"


def test_a_sheet_whose_commit_was_cut_off_is_committed_by_the_same_zip(shop: Path) -> None:
    for path, content in teardown().items():
        (shop / path).parent.mkdir(parents=True, exist_ok=True)
        (shop / path).write_bytes(content)
    taken = take(shop, zipped(teardown()), TODAY)
    assert (taken.outcome, git(shop, "status", "--porcelain")) == ("already there", "")


def link(name: str, target: str) -> bytes:
    entry = zipfile.ZipInfo(name)
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    out = io.BytesIO(zipped(teardown()))
    with zipfile.ZipFile(out, "a") as written:
        written.writestr(entry, target)
    return out.getvalue()


def marked(at: int, value: int) -> bytes:
    """A zip whose list of contents says something else of its first file, at an offset of APPNOTE 4.3.12."""
    data = bytearray(zipped(teardown()))
    data[data.index(b"PK\x01\x02") + at] = value
    return bytes(data)


def damaged(method: int) -> bytes:
    data = bytearray(zipped(teardown(), method))
    data[data.index(b"teardown.yml") + len("teardown.yml") + 4] = 0xFF
    return bytes(data)


BOMB = zipped({**teardown(), f"{STRIP}/flat.jpg": b"\xff\xd8\xff" + bytes(60_000_000)}, zipfile.ZIP_DEFLATED)
ATTACKS: dict[str, tuple[bytes, str]] = {
    "a way out": (zipped({**teardown(), f"{STRIP}/../../../../x.jpg": photo()}), "lies outside"),
    "an absolute path": (zipped({**teardown(), "/etc/x.jpg": photo()}), "lies outside"),
    "a drive": (zipped({**teardown(), "C:\\x.jpg": photo()}), "lies outside"),
    "a link": (link(f"{STRIP}/l.jpg", "/etc/passwd"), "is no plain file"),
    "a bomb": (BOMB, "is larger than 40 MB"),
    "ten thousand files": (
        zipped({**teardown(), **{f"{STRIP}/{n}.jpg": b"" for n in range(10_000)}}),
        "10002 files are in the zip",
    ),
    "a program": (zipped({**teardown(), f"{STRIP}/run.exe": b"MZ"}), "photos alone"),
    "a hook": (zipped({**teardown(), f"{STRIP}/.git/hooks/pre-commit": b"x"}), "lies outside"),
    "a web page called a photo": (zipped({**teardown(), f"{STRIP}/x.jpg": b"<html>"}), "text, not a picture"),
    "two files of one name by case": (zipped({**teardown(), f"{STRIP}/ROTOR-1-face.jpg": photo()}), "one file on most"),
    "a device of Windows": (zipped({**teardown(), f"{STRIP}/nul.jpg": photo()}), "it is a device there"),
    "two sheets": (zipped({**teardown(), "engines/E1/builds/2026-03-05.yml": b"x"}), "here are 2"),
    "no sheet": (zipped({f"{STRIP}/x.jpg": photo()}), "here are none"),
    "a file without a name": (
        zipped({**teardown(), "?nameless": b"x"}).replace(b"?nameless", b"\0nameless"),
        "lies outside",
    ),
    "a folder that holds something": (zipped({**teardown(), f"{STRIP}/x/": b"x"}), "is no plain file"),
    "LZMA": (zipped(teardown(), zipfile.ZIP_LZMA), "packed in a way that is not read here"),
    "bzip2": (zipped(teardown(), zipfile.ZIP_BZIP2), "packed in a way that is not read here"),
    "LZMA, damaged": (damaged(zipfile.ZIP_LZMA), "packed in a way that is not read here"),
    "Zstandard": (marked(at=10, value=93), "packed in a way that is not read here"),  # APPNOTE 4.4.5: method 93
    "a password": (marked(at=8, value=1), "locked with a password"),  # APPNOTE 4.4.4: bit 0 of the flags
    "another engine's sheet": (zipped(teardown(SHEET.replace("E1", "E2"))), "is of engine 'E2'"),
    "an engine that is not there": (
        zipped({path.replace("E1", "E9"): content for path, content in teardown(SHEET).items()}),
        "there is no engine E9",
    ),
    "no zip": (b"PK\x03\x04 and nothing more", "no zip that can be read"),
    "a list cut short by a damaged length": (  # APPNOTE 4.3.12: the length of the first file's comment, its high byte
        marked(at=33, value=1),
        "says that it lists 2 files, and lists 1",
    ),
    "nothing": (b"", "no zip that can be read"),
    "a day that is none": (zipped({"engines/E1/builds/soon.yml": b"x"}), "is no day"),
}  # fmt: skip


@pytest.mark.parametrize("attack", ATTACKS)
def test_an_attack_is_refused_with_a_clear_word_and_nothing_is_written(shop: Path, attack: str) -> None:
    data, words = ATTACKS[attack]
    before = everything(shop)
    with pytest.raises(ZipRefusedError, match=words):
        take(shop, data, TODAY)
    assert everything(shop) == before
    assert git(shop, "rev-list", "--count", "HEAD").strip() == "1"


def test_a_zip_that_a_computer_made_again_of_the_folders_has_the_same_receipt(shop: Path) -> None:
    steps = STRIP.split("/")
    folders = {f"{'/'.join(steps[:length])}/": b"" for length in range(1, len(steps) + 1)}
    again = zipped({**folders, f"{STRIP}/photos/": b"", **teardown()}, zipfile.ZIP_DEFLATED)
    assert read_handed_over(again).receipt == read_handed_over(zipped(teardown())).receipt
    assert take(shop, again, TODAY).outcome == "taken in"


def test_a_zip_that_a_mac_made_again_has_the_same_receipt(shop: Path) -> None:
    # what a Mac adds to a zip, from memory: the folder's view, and each file's own notes under __MACOSX
    notes = {f"__MACOSX/{'/'.join(path.split('/')[:-1])}/._{path.split('/')[-1]}": b"\0\5\x16\7" for path in teardown()}
    again = zipped({"engines/.DS_Store": b"\0\0\0\1Bud1", f"{STRIP}/.DS_Store": b"", **teardown(), **notes})
    assert take(shop, again, TODAY).receipt == read_handed_over(zipped(teardown())).receipt
    assert set(everything(shop)) == {*FILES, *teardown()}


@given(at=st.integers(0, 10_000), byte=st.integers(0, 255))
def test_a_zip_with_a_wrong_byte_is_refused_or_is_the_same_content(at: int, byte: int) -> None:
    data = bytearray(zipped(teardown()))
    data[at % len(data)] = byte
    try:
        handed = read_handed_over(bytes(data))
    except ZipRefusedError:
        return
    assert dict(handed.files) == teardown()


def test_the_command_prints_the_receipt_and_says_what_was_refused(shop: Path, tmp_path: Path) -> None:
    good, bad = tmp_path / "E1.zip", tmp_path / "bad.zip"
    good.write_bytes(zipped(teardown()))
    bad.write_bytes(b"no zip")
    done = CliRunner().invoke(main, ["take", str(bad), str(good), "--records", str(shop)])
    assert done.exit_code == 1
    assert f"receipt: {receipt_of(checksum(teardown()))}" in done.output
    assert "bad.zip: not taken in: this is no zip that can be read" in done.output


def test_without_a_name_for_commits_nothing_is_taken_in_and_it_is_said_what_to_do(
    shop: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    git(shop, "config", "--unset", "user.name")
    git(shop, "config", "--unset", "user.email")
    git(shop, "config", "user.useConfigOnly", "true")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    (tmp_path / "E1.zip").write_bytes(zipped(teardown()))
    ask = ["take", str(tmp_path / "E1.zip"), "--records", str(shop)]
    before = everything(shop)
    refused = CliRunner().invoke(main, ask)
    assert refused.exit_code == 1
    assert 'git config user.name "Your Name"\n  git config user.email you@your.shop' in refused.output
    assert everything(shop) == before
    assert git(shop, "status", "--porcelain") == ""
    git(shop, "config", "user.name", "Shed")
    git(shop, "config", "user.email", "shed@shop.example")
    assert "taken in" in CliRunner().invoke(main, ask).output


def test_where_commits_cannot_be_signed_nothing_is_taken_in_and_it_is_said_what_to_do(shop: Path) -> None:
    git(shop, "config", "commit.gpgSign", "true")
    git(shop, "config", "gpg.program", "no-such-program")
    before = everything(shop)
    with pytest.raises(GitFailed, match="or end signing with `git config commit"):
        take(shop, zipped(teardown()), TODAY)
    assert everything(shop) == before
    assert git(shop, "status", "--porcelain") == ""
    git(shop, "config", "commit.gpgSign", "false")
    assert take(shop, zipped(teardown()), TODAY).outcome == "taken in"


def test_a_draft_that_waits_is_named_by_check_and_ends_take_with_1(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "E1.zip").write_bytes(zipped(teardown(SHEET.replace("79.9610", "79,961"))))
    ask = ["take", str(tmp_path / "E1.zip"), "--records", str(shop)]
    for said in ("E1.zip: kept in the inbox: ", "E1.zip: already there: inbox/"):
        done = CliRunner().invoke(main, ask)
        assert (done.exit_code, said in done.output) == (1, True)
        assert "1 of 1 not in its place" in done.output
    checked = CliRunner().invoke(main, ["check", "--records", str(shop)])
    assert checked.exit_code == 0
    waits = git(shop, "ls-files", "inbox").split()[-1]
    assert f"1 draft to be settled:\n  {waits.removesuffix('/sheet.yml')}: {waits}:6:26: error: " in checked.output


def test_a_sheet_in_its_place_ends_take_with_0(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "E1.zip").write_bytes(zipped(teardown()))
    ask = ["take", str(tmp_path / "E1.zip"), "--records", str(shop)]
    assert [CliRunner().invoke(main, ask).exit_code for _ in range(2)] == [0, 0]
    assert "draft" not in CliRunner().invoke(main, ["check", "--records", str(shop)]).output


def test_a_zip_that_counts_its_files_in_the_large_record_is_taken_in(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(zipfile, "ZIP_FILECOUNT_LIMIT", 1)  # more, and it writes the record of APPNOTE 4.3.14
    large = zipped(teardown())
    assert b"PK\x06\x06" in large
    assert take(shop, large, TODAY).receipt == read_handed_over(zipped(teardown())).receipt


@pytest.mark.parametrize("by", ["take", "file"])
def test_a_sheet_of_an_engine_that_is_in_no_commit_takes_along_what_it_leans_on(tmp_path: Path, by: str) -> None:
    shop = shop_in(tmp_path / "new")
    git(shop, "rm", "-q", "--cached", "engines/E1/engine.yml", "families/single.yml")
    git(shop, "commit", "-qm", "the engine is in no commit")
    if by == "take":
        assert take(shop, zipped(teardown()), TODAY).outcome == "taken in"
    else:
        sheet = shop / take(shop, zipped(teardown(SHEET.replace("79.9610", "79,9610"))), TODAY).path
        sheet.write_text(SHEET, encoding="utf-8")
        settle(shop, sheet.parent.relative_to(shop).as_posix(), TODAY)
    assert git(shop, "status", "--porcelain") == ""
    problems = read_checked(Commit(shop, "HEAD"), TODAY).problems
    assert [str(one) for one in problems if one.level == "error"] == []


def test_a_sheet_that_leans_on_a_family_with_an_error_in_no_commit_waits_for_that(tmp_path: Path) -> None:
    shop = shop_in(tmp_path / "new")
    git(shop, "rm", "-q", "--cached", "families/single.yml")
    git(shop, "commit", "-qm", "the family is in no commit")
    family = shop / "families/single.yml"
    family.write_text(family.read_text(encoding="utf-8") + "half: a thought\n", encoding="utf-8")
    taken = take(shop, zipped(teardown()), TODAY)
    assert taken.outcome == "kept in the inbox"
    assert "families/single.yml" in str(taken.problems[0])
