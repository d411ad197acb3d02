"""Signed commits are shown as such, and by git's own finding; the checking program stands in for the real one here.

What git asks the program and reads from it: gnupg's doc/DETAILS, "Format of the --status-fd output".
"""

import os
import subprocess
from pathlib import Path

import pytest
from kept_history import KeptHistory

from engine_pages.records.commits import CommitFacts, read_commits, seals_of
from engine_pages.records.git import Repo, repository_of

KEY = "0123456789ABCDEF"
FINGERPRINT = f"{KEY * 2}01234567"
ANSWERS = {
    "good": f"GOODSIG {KEY} R. Kalverd\n[GNUPG:] VALIDSIG {FINGERPRINT} 2026-03-01 0 0 4 0 1 10 00 {FINGERPRINT}\n"
    "[GNUPG:] TRUST_ULTIMATE 0 pgp",
    "unknown signer": f"GOODSIG {KEY} R. Kalverd\n[GNUPG:] TRUST_UNDEFINED 0 pgp",
    "expired": f"EXPKEYSIG {KEY} R. Kalverd\n[GNUPG:] TRUST_ULTIMATE 0 pgp",
    "bad": f"BADSIG {KEY} R. Kalverd",
    "not checked": f"ERRSIG {KEY} 1 10 00 0 9 -\n[GNUPG:] NO_PUBKEY {KEY}",
}


def sign_last(history: KeptHistory) -> str:
    """Gives the last commit a signature, as git keeps one, and its new id."""
    written = history.git("cat-file", "commit", "HEAD")
    seal = "gpgsig -----BEGIN PGP SIGNATURE-----\n \n iQ==\n -----END PGP SIGNATURE-----\n"
    head, _, message = written.partition("\n\n")
    body = f"{head}\n{seal}\n{message}\n".encode()
    command = ["git", "-C", str(history.top), "hash-object", "-t", "commit", "-w", "--stdin"]
    made = subprocess.run(command, input=body, check=True, capture_output=True).stdout.decode().strip()
    history.git("update-ref", "HEAD", made)
    return made


def program(folder: Path, name: str, answer: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A program of that name, the first on the path, that answers so and leaves a trace."""
    folder.mkdir(exist_ok=True)
    place = folder / name
    lines = "\n".join(f"echo '{line}'" for line in f"[GNUPG:] {answer}".splitlines())
    place.write_text(f"#!/bin/sh\ntouch '{folder}/started'\ncat > /dev/null\n{lines}\n", encoding="utf-8")
    place.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")
    return folder / "started"


def commits(history: KeptHistory) -> tuple[Repo, list[CommitFacts]]:
    repo = repository_of(history.top)
    assert repo is not None
    head = repo.head()
    assert head is not None
    return repo, [one for one, _ in read_commits(repo, head)]


@pytest.mark.parametrize("seal", sorted(ANSWERS))
def test_a_signature_is_worth_what_git_finds(
    history: KeptHistory, seal: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = history.commit({"shop.yml": "name: A\n"})
    history.commit({"shop.yml": "name: B\n"})
    signed = sign_last(history)
    program(tmp_path / "programs", "gpg", ANSWERS[seal], monkeypatch)
    repo, found = commits(history)
    assert [(one.id, one.signed) for one in found] == [(plain, False), (signed, True)]
    assert seals_of(repo, found) == {plain: "none", signed: seal}


def test_where_nothing_is_signed_no_program_is_started(
    history: KeptHistory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    history.commit({"shop.yml": "name: A\n"})
    started = program(tmp_path / "programs", "gpg", ANSWERS["good"], monkeypatch)
    repo, found = commits(history)
    assert set(seals_of(repo, found).values()) == {"none"}
    assert not started.exists()


def test_a_program_that_the_repository_names_is_never_started(
    history: KeptHistory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    history.commit({"shop.yml": "name: A\n"})
    sign_last(history)
    started = program(tmp_path / "strange", "own-gpg", ANSWERS["good"], monkeypatch)
    for setting in ("gpg.program", "gpg.openpgp.program", "gpg.ssh.program", "gpg.x509.program"):
        history.git("config", setting, str(tmp_path / "strange" / "own-gpg"))
    program(tmp_path / "programs", "gpg", ANSWERS["bad"], monkeypatch)
    repo, found = commits(history)
    assert [*seals_of(repo, found).values()] == ["bad"]
    assert not started.exists()


def test_a_message_that_speaks_of_a_signature_is_none(history: KeptHistory) -> None:
    history.commit({"shop.yml": "name: A\n"}, "First\n\ngpgsig -----BEGIN PGP SIGNATURE-----")
    _, (commit,) = commits(history)
    assert not commit.signed
