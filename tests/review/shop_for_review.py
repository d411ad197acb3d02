"""A shop on disk under git in which nothing is open, so that each test of the review can plant one thing in it.

Files are texts by path; a photo is drawn where a sheet names one, each another picture.
"""

import os
import re
import subprocess
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from textwrap import dedent

from PIL import Image

from engine_pages.history.told_review import ReviewStory
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Folder
from engine_pages.review.asked import ask_review

TODAY = date(2026, 6, 1)
BUILD, STRIP = "engines/E1/builds/2026-03-07.yml", "engines/E1/teardowns/2026-05-02/teardown.yml"
REBUILD, LOG = "engines/E1/builds/2026-05-09.yml", "engines/E1/log.yml"
CLEAN = {
    "shop.yml": """
        name: The shop
        people: {RK: Rikke Kalverd}
        instruments:
          bore: {name: bore gauge, resolution: 0.001 mm, uncertainty: 0.002 mm}
        """,
    "families/single.yml": """
        family: single
        architecture: rotary
        exposure: hours
        positions: {bearing: bearing, seal: {kind: seal, names: [a1, a2, a3, a4]}, rotor-1: rotor}
        kinds:
          bearing:
            serial: yes
            service: {replace: {hours: 30}, after: {over_rev: inspect}}
            dimensions:
              inside:
                {unit: mm, wears: up, new: [60.000, 60.020], limit: {max: 60.100}, source: manual, instrument: bore}
          seal: {observe: [chipping]}
          rotor: {observe: [scoring]}
        grades: {chipping: {0: none, 4: gone}, scoring: {0: none, 4: deep}}
        tests: {compression: {unit: kPa, at: 250 rpm, limit: {min: 600}, source: manual}}
        services: {oil: {hours: 20}}
        """,
    "engines/E1/engine.yml": "engine: E1\nfamily: single\nstamped: ORW 0001\n",
    "parts/B-1.yml": "serial: B-1\nkind: bearing\norigin: new\n",
    BUILD: """
        engine: E1
        date: 2026-03-07
        by: RK
        temperature: 20
        positions:
          bearing: {part: B-1, measured: {inside: 60.011}, photos: [{file: bearing.jpg, view: whole}]}
          seal:
          rotor-1:
        torque: {tension_bolt: 40 Nm}
        fluids: {oil: ester-15w50}
        """,
    LOG: "- {date: 2026-03-14, kind: run, what: race, hours: 2.0}\n- {date: 2026-04-11, kind: run, hours: 1.5}\n",
    STRIP: """
        engine: E1
        date: 2026-05-02
        by: RK
        temperature: 19
        reason: planned
        positions:
          bearing: {measured: {inside: 60.023}, decision: reuse}
          seal: {observed: {chipping: 1}, decision: replace, because: hours}
          rotor-1: {observed: {scoring: 1}, decision: reuse}
        """,
    REBUILD: """
        engine: E1
        date: 2026-05-09
        by: RK
        temperature: 20
        positions: {bearing: {part: B-1}, seal: , rotor-1: }
        torque: {tension_bolt: 40 Nm}
        tests: {compression: {rpm: 250, rotor-1: [800, 790, 810]}}
        """,
}
PHOTO = "engines/E1/builds/2026-03-07/bearing.jpg"
_PHOTO = re.compile(r"file: ([\w.-]+\.jpg)")


class Shop:
    """A shop's folder under git. `day` is when what was written last was committed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir()
        self._git("init", "-q", "-b", "main")

    def write(self, files: Mapping[str, str | None]) -> "Shop":
        """Write files whole; None takes one away. Photos that a sheet names are drawn where none lies yet; a photo that
        is written itself is drawn anew, by its text."""
        for path, text in files.items():
            place = self.folder / path
            if text is None:
                place.unlink()
                continue
            if place.suffix == ".jpg":
                place.unlink(missing_ok=True)
                draw(place, text)
                continue
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(dedent(text).lstrip("\n"), encoding="utf-8")
            for name in _PHOTO.findall(text):
                beside = place.parent if place.name == "teardown.yml" else place.with_suffix("")
                draw(beside / name, name)
        return self

    def commit(self, day: str, message: str = "As written", committed: str | None = None) -> "Shop":
        """`committed`: the commit's own day, where that is not the author's."""
        at, then = (f"{one}T12:00:00+00:00" for one in (day, committed or day))
        self._git("add", "-A")
        self._git("commit", "--allow-empty", "-qm", message, GIT_AUTHOR_DATE=at, GIT_COMMITTER_DATE=then)
        return self

    def review(self, engine: str = "E1") -> ReviewStory:
        checked = read_checked(Folder(self.folder), TODAY, repository_of(self.folder))
        wrong = [str(problem) for problem in checked.problems if problem.level == "error"]
        assert not wrong, wrong
        return ask_review(checked, engine)

    def _git(self, *words: str, **settings: str) -> None:
        who = {"NAME": "Rikke Kalverd", "EMAIL": "rk@shop.example"}
        people = {f"GIT_{role}_{key}": value for role in ("AUTHOR", "COMMITTER") for key, value in who.items()}
        env = {**os.environ, **people, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull, **settings}
        subprocess.run(["git", *words], cwd=self.folder, env=env, check=True, capture_output=True)


def draw(path: Path, seed: str) -> None:
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        shade = sum(seed.encode()) % 256
        Image.new("RGB", (40, 30), (shade, 255 - shade, 90)).save(path, quality=90)


def clean_shop(folder: Path) -> Shop:
    """The clean shop as it was written: each sheet and log line committed the day after."""
    shop = Shop(folder)
    first = {path: text for path, text in CLEAN.items() if path not in (LOG, STRIP, REBUILD)}
    shop.write(first).commit("2026-03-08")
    shop.write({LOG: CLEAN[LOG].splitlines(keepends=True)[0]}).commit("2026-03-15")
    shop.write({LOG: CLEAN[LOG]}).commit("2026-04-12")
    shop.write({STRIP: CLEAN[STRIP]}).commit("2026-05-03")
    return shop.write({REBUILD: CLEAN[REBUILD]}).commit("2026-05-10")


def open_points(review: ReviewStory) -> dict[tuple[str, str], str]:
    """What is open: kind and where → what."""
    return {(one.point.kind, one.point.where): one.point.what for one in review.in_state("open")}
