"""Texts that others may read and that name somebody: a doubt for each name, at the place of the text."""

from datetime import date
from pathlib import Path

import pytest

from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

FILES = {
    "shop.yml": "name: Shed\npeople: {TM: Tomas Mellingen, RK: Rikke Stone, AB: Abel}\n",
    "families/f.yml": "family: f\narchitecture: rotary\nexposure: hours\npositions: {rotor-1: rotor}\n"
    "kinds: {rotor: {}}\n",
    "engines/E-1/engine.yml": "engine: E-1\nfamily: f\nowners: [{name: Svana of Drellmark}]\n",
    "engines/E-2/engine.yml": "engine: E-2\nfamily: f\n",
}


def doubts(folder: Path, finding: str) -> list[str]:
    sheet = f'engine: E-1\ndate: 2026-03-01\nsheet: T-1\npositions:\n  rotor-1:\n    finding: "{finding}"\n'
    for path, text in (FILES | {"engines/E-1/teardowns/2026-03-01/teardown.yml": sheet}).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    found = [one for one in read_checked(Folder(folder), date(2026, 11, 25)).problems if "shared" in one.message]
    assert all(one.level == "doubt" and one.source.path.endswith("2026-03-01/teardown.yml") for one in found)
    return sorted(one.message.partition(",")[0] for one in found)


@pytest.mark.parametrize(
    ("finding", "said"),
    [
        ("dull", []),
        ("as on E-2, said Tomas Mellingen; E-2 was worse", ["names E-2", "names Tomas Mellingen"]),
        ("worn, says Tomas", ["Tomas is a word of the name Tomas Mellingen"]),
        ("worn, as Svana and Drellmark saw", [f"{one} is a word of the name Svana of Drellmark" for one in
                                              ("Drellmark", "Svana")]),
        ("worn. Stone dust in it; a stone, and of E-1 itself", []),  # begins a sentence; is no name; its own
        ("Stone dust", []),
        ("shown to Abel", ["names Abel"]),
        ("left by Tomas Mellingen, by nobody else", ["names Tomas Mellingen"]),
    ],
)  # fmt: skip
def test_each_name_and_each_word_of_a_persons_name_is_a_doubt(tmp_path: Path, finding: str, said: list[str]) -> None:
    assert doubts(tmp_path, finding) == said
