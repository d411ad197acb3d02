"""How long reading takes: 2,000 teardown sheets, read here and by the ordinary safe loader, side by side.

Prints the time of each and their ratio. Both read the same files, in turns, so that a busy machine slows both alike;
the median of the turns counts. Run it with the interpreter that has the project installed:

    python tests/speed/reading_records.py [--sheets 2000] [--turns 7]
"""

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import yaml

from engine_pages.records.model import read_model
from engine_pages.records.sheet import Sheet
from engine_pages.records.yaml_text import read_document

TARGET = 1.3  # times what the ordinary loader takes, which turns `no` into false and says nothing of a repeated key
BEARINGS = (1, 2, 3, 4)


def teardown(number: int) -> str:
    """A teardown sheet of about 2.5 kB, each with other figures, as a shop writes them: block form, some flow lines."""
    day = f"20{10 + number % 17:02}-{1 + number % 12:02}-{1 + number % 28:02}"
    lines = [
        f"engine: K-{number % 40:02}",
        f"date: {day}",
        f"sheet: T-{number:04}",
        "reason: planned",
        "by: RK",
        f"counter: {10 + number % 60}.{number % 10} h",
        "temperature: 21 °C",
        "instruments: {rotor-bearing.inside_diameter: bore-50-75}",
        "note: Seen by the owner. Oil was clean, filter cut open & laid out.",
        "positions:",
    ]
    for bearing in BEARINGS:
        step = (number * 7 + bearing) % 40
        lines += [
            f"  rotor-bearing-{bearing}:",
            f"    part: RB-{1000 + number % 700 + bearing}",
            f"    measured: {{inside_diameter: [60.0{41 + step}, 60.0{42 + step}, 60.0{40 + step}]}}",
            "    observed: {overlay: 1, scoring: 1, deposit: 0}",
            "    finding: Two light scratches, loaded side, 4 o'clock.",
            "    photos:",
            f"      - {{file: rb{bearing}-loaded.jpg, view: loaded side, caption: After cleaning, crew_only: no}}",
            "    decision: reuse",
        ]
    for rotor in (1, 2):
        lines += [
            f"  apex-seals-{rotor}:",
            f"    part: {{a1: AS-{number % 900}1, a2: AS-{number % 900}2, a3: AS-{number % 900}3}}",
            "    measured: {height: {a1: 7.98, a2: 7.97, a3: 7.99}}",
            "    observed: {chipping: {a2: 1}, wear_step: 0}",
            "    decision: replace",
            "    because: set",
            f"  rotor-housing-{rotor}:",
            "    measured:",
            f"      width: {{plug-point: 80.00{number % 9}, b: 79.99{number % 9}, c: 79.988, d: 79.991}}",
            "    finding: Even witness band, no flaking.",
        ]
    lines += [
        "fits: {rotor-bearing-clearance-1: 0.05..0.06 mm, side-clearance-1: under 0.15 mm}",
        "work:",
        "  - {part: CS-88, did: polished, dimensions: [main_journal_1], by: outside shop}",
        "tests:",
        f"  compression: {{rpm: 262, unit: kPa, rotor-1: [812, 80{number % 10}, 815], rotor-2: [790, 801, 795]}}",
        'fluids: {oil: ester-15w50, fuel: e85, premix: "1:100 two-stroke ester"}',
    ]
    return "\n".join(lines) + "\n"


def read_here(files: list[tuple[str, bytes]]) -> None:
    """As the records are read: text and places, then the sheet's model. The sheets have no problem."""
    for path, raw in files:
        document, problems = read_document(path, raw)
        _, found = read_model(Sheet, document, document.data)
        if problems or found:
            raise SystemExit(f"the sheets of this script are not read: {(problems + found)[0]}")


def read_plainly(files: list[tuple[str, bytes]]) -> None:
    """As most programs read YAML: into numbers, dates and truth values, with no places."""
    for _, raw in files:
        yaml.load(raw, yaml.CSafeLoader)


def seconds(read: Callable[[list[tuple[str, bytes]]], None], paths: list[Path]) -> float:
    """Wall time of reading every file, from the disk on."""
    begun = time.perf_counter()
    read([(str(path), path.read_bytes()) for path in paths])
    return time.perf_counter() - begun


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--sheets", type=int, default=2000)
    parser.add_argument("--turns", type=int, default=7)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{number:05}.yml" for number in range(wanted.sheets)]
        for number, path in enumerate(paths):
            path.write_text(teardown(number), encoding="utf-8")
        size = sum(path.stat().st_size for path in paths) / len(paths)
        times = [(seconds(read_here, paths), seconds(read_plainly, paths)) for _ in range(wanted.turns)]
    here, plainly = (statistics.median(column) for column in zip(*times, strict=True))
    ratio = statistics.median(one / other for one, other in times)
    print(f"{wanted.sheets} sheets of {size:.0f} bytes, median of {wanted.turns} turns")
    print(f"records {here:.2f} s, plain YAML {plainly:.2f} s, ratio {ratio:.2f} (target: at most {TARGET})")


if __name__ == "__main__":
    main()
