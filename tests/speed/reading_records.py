"""How long it takes to read 2,000 teardown sheets, beside what PyYAML's C safe loader takes for the same files.

Run by hand: `python tests/speed/reading_records.py`. Both read the same files from the same folder, in turns, in one
run; the figure is the ratio, the median of the rounds. Ours also checks every key and keeps every place.
"""

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import yaml

from engine_pages.records.model import read_model
from engine_pages.records.sheet import Sheet
from engine_pages.records.yaml_text import read_document

FILES, POSITIONS, ROUNDS = 2000, 8, 7
ALLOWED = 1.3

HEAD = """engine: K-07
date: 2026-10-12
sheet: T-{number:04d}
reason: planned
by: RK
counter: 41.6 h
temperature: 21 °C
positions:
"""
POSITION = """  rotor-bearing-{place}:
    part: RB-{number}{place}
    measured: {{inside_diameter: [60.061, 60.062, 60.060]}}
    observed: {{overlay: 1, scoring: 1, deposit: 0}}
    finding: Two light scratches, loaded side, near the oil hole.
    photos:
      - {{file: rb{place}-loaded.jpg, view: loaded side, caption: "After cleaning"}}
    decision: reuse
"""


def write_sheets(folder: Path) -> list[Path]:
    """The files, about 2.5 kB each."""
    paths = []
    for number in range(FILES):
        places = "".join(POSITION.format(place=place, number=number) for place in range(1, POSITIONS + 1))
        path = folder / f"{number}.yml"
        path.write_text(HEAD.format(number=number) + places, encoding="utf-8")
        paths.append(path)
    return paths


def by_us(paths: list[Path]) -> None:
    """Text with places, checked against the model."""
    for path in paths:
        document, problems = read_document(path.name, path.read_bytes())
        sheet, wrong = read_model(Sheet, document, document.data)
        assert sheet is not None
        assert not problems
        assert not wrong


def by_the_plain_loader(paths: list[Path]) -> None:
    """Values alone."""
    for path in paths:
        yaml.load(path.read_bytes(), Loader=yaml.CSafeLoader)


def seconds(work: Callable[[list[Path]], None], paths: list[Path]) -> float:
    begun = time.perf_counter()
    work(paths)
    return time.perf_counter() - begun


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        paths = write_sheets(Path(folder))
        size = paths[0].stat().st_size
        seconds(by_us, paths[:100])
        pairs = [(seconds(by_the_plain_loader, paths), seconds(by_us, paths)) for _ in range(ROUNDS)]
    plain, ours = (statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = statistics.median(own / other for other, own in pairs)
    print(f"{FILES} files of {size} bytes: plain loader {plain:.2f} s, with places and checks {ours:.2f} s")
    print(f"ratio {ratio:.2f}, at most {ALLOWED} is asked for")


if __name__ == "__main__":
    main()
