"""Shops drawn at any size, for measuring how publishing grows: engines of a few families, as a git repository.

In: a folder and how many engines. Out: a bare-handed shop in it, committed with `git fast-import`. Every engine has 8
sheets, 60 parts and 20 photos; photos are one of a few pictures. Every tenth engine once took a rotor from the one
before it. All figures are drawn by the engine's number, so that an engine is the same in a shop of any size.
"""

import random
import subprocess
from collections.abc import Collection, Iterable, Iterator
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path
from typing import Final

from PIL import Image, ImageDraw

FAMILIES: Final = ("two-rotor-a", "two-rotor-b", "two-rotor-c", "two-rotor-d")
PICTURES: Final = 5
MOVED_EVERY: Final = 10  # one engine in so many took a part from its neighbour
FIRST_DAY: Final = date(2022, 2, 5)
TODAY: Final = date(2026, 11, 25)  # later than anything that is written
SEASON: Final = timedelta(days=364)
SEASONS: Final = 4
RUNS: Final = 10  # a season
DEMO: Final = Path(__file__).parents[2] / "records"
MAIL: Final = "Bench <bench@shop.example>"
LAST_COMMIT: Final = 1_793_000_000  # s since the epoch, October 2026

# Position: serial's beginning, and at which build (0 to 3) another is fitted.
PARTS: Final = {
    **{f"rotor-{row}": ("R", (0,)) for row in (1, 2)},
    **{f"rotor-bearing-{row}": ("RB", (0, 2)) for row in (1, 2)},
    **{f"apex-seals-{row}": ("AS", (0, 1, 2, 3)) for row in (1, 2)},
    **{f"apex-springs-{row}": ("SP", (0, 1, 2, 3)) for row in (1, 2)},
    **{f"side-seals-{row}": ("SS", (0, 1, 2, 3)) for row in (1, 2)},
    **{f"rotor-housing-{row}": ("RH", (0,)) for row in (1, 2)},
    **{f"stationary-gear-{row}": ("SG", (0,)) for row in (1, 2)},
    **{f"main-bearing-{row}": ("MB", (0, 2)) for row in (1, 2)},
    **{f"{name}-housing": ("SH", (0,)) for name in ("front", "middle", "rear")},
    "eccentric-shaft": ("ES", (0,)),
    "oil-pump": ("OP", (0, 2)),
}
PHOTOGRAPHED: Final = ("rotor-1", "rotor-bearing-1", "rotor-bearing-2", "apex-seals-2", "rotor-housing-1")
WITH_A_FILE: Final = ("rotor-1", "rotor-2", "rotor-housing-1", "rotor-housing-2", "eccentric-shaft")


def engine_id(number: int) -> str:
    return f"E-{number:04}"


def family_of(number: int) -> str:
    return FAMILIES[number // MOVED_EVERY % len(FAMILIES)]


def day_of(number: int, season: int, days: int = 0) -> date:
    return FIRST_DAY + timedelta(days=number % 14) + SEASON * season + timedelta(days=days)


def serial(number: int, place: str, build: int) -> str:
    """The part in a place since a build; a set is named by its first."""
    begun = max(one for one in PARTS[place][1] if one <= build)
    if place == "rotor-2" and number % MOVED_EVERY == MOVED_EVERY - 1 and build >= 2:
        number, begun = number - 1, 0  # the neighbour's, which took its own out for another
    elif place == "rotor-2" and number % MOVED_EVERY == MOVED_EVERY - 2 and build >= 1:
        begun = 1
    row = place[-1] if place[-1].isdigit() else place[0].upper()
    return f"{PARTS[place][0]}{number:04}-{row}{begun}"


def _of_set(name: str) -> str:
    return "{" + ", ".join(f"a{one}: {name}{one}" for one in (1, 2, 3)) + "}"


def _part(number: int, place: str, build: int) -> str:
    name = serial(number, place, build)
    return _of_set(name) if place.startswith("apex-seals") else name


def _hours(number: int, season: int) -> list[float]:
    draw = random.Random(f"hours {number} {season}")
    return [round(draw.uniform(0.6, 1.4), 1) for _ in range(RUNS)]


def _ran(number: int, place: str, season: int) -> float:
    """What the part in a place has run by the end of a season, in hours, near enough for its wear."""
    begun = max(one for one in PARTS[place][1] if one <= season)
    return sum(sum(_hours(number, one)) for one in range(begun, season + 1))


def _measured(number: int, place: str, season: int) -> str:
    """What a strip reads: the middle of new, worn by the hours, each part at its own pace."""
    draw = random.Random(f"read {number} {place} {season}")
    own = random.Random(f"part {serial(number, place, season)}")
    hours, start, pace = _ran(number, place, season), own.gauss(0.0, 1.0), own.gauss(1.0, 0.25)

    def at(middle: float, spread: float, rate: float, decimals: int = 3) -> float:
        return round(middle + spread * start + rate * pace * hours + draw.gauss(0.0, 0.0015), decimals)

    def three(middle: float, spread: float, rate: float) -> str:
        return str([at(middle, spread, rate) for _ in range(3)])

    said = {
        "rotor": lambda: (
            f"width: {three(79.865, 0.003, -0.0003)}, "
            f"apex_groove: {{g1: {at(3.012, 0.002, 0.0005)}, g2: {at(3.013, 0.002, 0.0005)}, g3: 3.015}}"
        ),
        "rotor-bearing": lambda: f"inside_diameter: {three(60.05, 0.002, 0.0005)}",
        "apex-seals": lambda: "height: {" + ", ".join(f"a{n}: {at(7.99, 0.003, -0.011)}" for n in (1, 2, 3)) + "}",
        "apex-springs": lambda: f"free_height: {round(5.4 - 0.012 * hours, 2)}",
        "side-seals": lambda: f"gap: {round(0.07 + 0.004 * hours, 2)}",
        "rotor-housing": lambda: (
            f"width: {{plug-point: {at(80.0, 0.002, -0.0006)}, b: {at(80.0, 0.002, -0.0003)}, "
            f"c: {at(80.0, 0.002, -0.0003)}, d: {at(80.0, 0.002, -0.0003)}}}"
        ),
        "main-bearing": lambda: f"inside_diameter: {three(43.05, 0.002, 0.0003)}",
        "eccentric-shaft": lambda: (
            f"rotor_journal_1: {at(59.992, 0.001, -0.0001)}, rotor_journal_2: {at(59.992, 0.001, -0.0001)}, "
            f"main_journal_1: {at(42.992, 0.001, -0.0001)}, main_journal_2: {at(42.993, 0.001, -0.0001)}, runout: 0.012"
        ),
        "front-housing": lambda: f"seal_step: {max(0.0, at(0.003, 0.0, 0.0001))}",
        "middle-housing": lambda: f"seal_step: {max(0.0, at(0.003, 0.0, 0.0002))}",
        "rear-housing": lambda: f"seal_step: {max(0.0, at(0.003, 0.0, 0.0001))}",
        "oil-pump": lambda: f"tip_clearance: {round(0.08 + 0.0005 * hours, 2)}",
    }
    written = said.get(place) or said.get(place.rstrip("12").rstrip("-"))
    return f"measured: {{{written()}}}, " if written is not None else ""


def build_sheet(number: int, season: int) -> str:
    lines = [f"engine: {engine_id(number)}", f"date: {day_of(number, season)}", f"sheet: B-{number:04}-{season}"]
    lines += ["by: RK", "temperature: 20 °C", "positions:"]
    lines += [f"  {place}: {{part: {_part(number, place, season)}}}" for place in PARTS]
    lines += ["torque: {tension-bolts: 34 Nm}", "fluids: {oil: mineral-10w60, fuel: unleaded-102}"]
    return "\n".join(lines) + "\n"


def teardown_sheet(number: int, season: int) -> str:
    lines = [f"engine: {engine_id(number)}", f"date: {day_of(number, season, 280)}", f"sheet: T-{number:04}-{season}"]
    lines += [f"reason: {'incident' if number % 17 == season else 'planned'}", "by: RK", "temperature: 21 °C"]
    lines += ["note: Stripped at the end of the season. Nothing out of the ordinary.", "positions:"]
    lines += [f"  engine: {{measured: {{end_play: 0.05{number % 7}}}}}"]
    for place in PARTS:
        stays = serial(number, place, season) == serial(number, place, min(season + 1, SEASONS - 1))
        decision = "decision: reuse" if stays else "decision: replace, because: hours"
        if place.startswith(("apex-seals", "side-seals")) and not stays and number % 3 == 0:
            decision = "decision: replace, because: worn"
        photos = f"photos: [{{file: {place}.jpg, view: loaded side, caption: After cleaning}}], "
        finding = "finding: Two light lines on the loaded side, "
        seen = f"{finding if place in PHOTOGRAPHED else ''}{photos if place in PHOTOGRAPHED else ''}"
        part = _part(number, place, season)
        lines += [f"  {place}: {{part: {part}, {_measured(number, place, season)}{seen}{decision}}}"]
    lines += ["tests:", f"  compression: {{rpm: 250, unit: kPa, rotor-1: [812, 806, 81{number % 9}],"]
    lines += [f"    rotor-2: [790, 801, 79{number % 9}], faces: marked}}"]
    return "\n".join(lines) + "\n"


def log(number: int) -> str:
    out = []
    for season in range(SEASONS):
        for run, hours in enumerate(_hours(number, season)):
            day = day_of(number, season, 20 + 20 * run)
            out.append(f"- {{date: {day}, kind: run, what: race, hours: {hours}, starts: 3, peak_rpm: 8900}}")
        out.append(f"- {{date: {day_of(number, season, 275)}, kind: service, did: [oil, filter]}}")
    return "\n".join(out) + "\n"


def files_of_engine(number: int, seasons: int = SEASONS) -> Iterator[tuple[str, str | int]]:
    """Path and text of every file of an engine; of a photo which picture it is."""
    top = f"engines/{engine_id(number)}"
    family = family_of(number)
    yield f"{top}/engine.yml", f"engine: {engine_id(number)}\nfamily: {family}\nname: Car {number}\nuse: hill climb\n"
    yield f"{top}/log.yml", log(number)
    yield (
        f"{top}/plan.yml",
        "events:\n  - {date: 2027-04-11, name: Round 1, hours: 1.6, starts: 6}\n"
        "  - {date: 2027-05-02, name: Round 2, hours: 1.8, starts: 6}\nkeep: 0.90\n",
    )
    for season in range(SEASONS):
        yield f"{top}/builds/{day_of(number, season)}.yml", build_sheet(number, season)
        if season < seasons:
            yield from files_of_teardown(number, season)
    for place in WITH_A_FILE:
        name = serial(number, place, 0)
        kind = place.rstrip("12").rstrip("-")
        yield f"parts/{name}.yml", f"serial: {name}\nkind: {kind}\nfamily: {family}\norigin: new\n"


def files_of_teardown(number: int, season: int) -> Iterator[tuple[str, str | int]]:
    folder = f"engines/{engine_id(number)}/teardowns/{day_of(number, season, 280)}"
    yield f"{folder}/teardown.yml", teardown_sheet(number, season)
    for nth, place in enumerate(PHOTOGRAPHED):
        yield f"{folder}/{place}.jpg", (number + nth + season) % PICTURES


def files_of_shop(linked: Iterable[int]) -> Iterator[tuple[str, str]]:
    """What the whole shop shares, and an owner's link for each engine that has one."""
    yield "shop.yml", (DEMO / "shop.yml").read_text(encoding="utf-8")
    family = (DEMO / "families/twin-rotor.yml").read_text(encoding="utf-8")
    for name in FAMILIES:
        yield f"families/{name}.yml", family.replace("family: twin-rotor", f"family: {name}")
    links = [
        f"  - {{engine: {engine_id(number)}, edition: owner, token: {token(number)}, made: 2026-11-01}}"
        for number in linked
    ]
    yield "shares.yml", "shares:\n" + "\n".join(links) + "\n"


def token(number: int) -> str:
    return "owner" + "".join("abcdefghij"[int(digit)] for digit in f"{number:027}")


def picture(number: int) -> bytes:
    """One of the few pictures: a gradient with a mark, as large as a phone's photo that was shrunk on import."""
    image = Image.linear_gradient("L").resize((1600, 1200)).convert("RGB")
    ImageDraw.Draw(image).ellipse((200 + 150 * number, 300, 600 + 150 * number, 700), fill=(120, 60 + 30 * number, 40))
    out = BytesIO()
    image.save(out, "JPEG", quality=85)
    return out.getvalue()


def write_shop(folder: Path, engines: int, missing: Collection[int] = (), linked: Iterable[int] | None = None) -> Path:
    """A shop of so many engines as a repository, one commit a tenth of it; those in `missing` lack their last teardown.

    `linked`: which engines have an owner's link; None is all of them.
    """
    folder.mkdir(parents=True)
    linked = range(engines) if linked is None else linked
    _git(folder, "init", "-q", "-b", "main")
    stream = subprocess.Popen(["git", "-C", str(folder), "fast-import", "--quiet"], stdin=subprocess.PIPE)
    assert stream.stdin is not None
    put = stream.stdin.write
    for number in range(PICTURES):
        content = picture(number)
        put(f"blob\nmark :{number + 1}\ndata {len(content)}\n".encode() + content + b"\n")
    step = max(engines // 10, 1)
    for first in range(0, engines, step):
        message = b"Engines taken in"
        at = LAST_COMMIT - engines + first
        put(f"commit refs/heads/main\ncommitter {MAIL} {at} +0000\ndata {len(message)}\n".encode() + message + b"\n")
        files: list[tuple[str, str | int]] = list(files_of_shop(linked)) if first == 0 else []
        for number in range(first, min(first + step, engines)):
            files += files_of_engine(number, SEASONS - (number in missing))
        for path, text in files:
            put(_change(path, text))
    stream.stdin.close()
    if stream.wait() != 0:
        raise SystemExit("git fast-import failed")
    _git(folder, "reset", "-q", "--hard")
    return folder


def _change(path: str, content: str | int) -> bytes:
    if isinstance(content, int):
        return f"M 100644 :{content + 1} {path}\n".encode()
    data = content.encode()
    return f"M 100644 inline {path}\ndata {len(data)}\n".encode() + data + b"\n"


def file_teardown(folder: Path, number: int) -> None:
    """File the last teardown of an engine, as a bench does: written, and committed."""
    for path, content in files_of_teardown(number, SEASONS - 1):
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content.encode() if isinstance(content, str) else picture(content))
    _git(folder, "add", "-A")
    _git(folder, "-c", "user.name=Bench", "-c", "user.email=bench@shop.example", "commit", "-q", "-m", "A teardown")


def _git(folder: Path, *arguments: str) -> None:
    subprocess.run(["git", "-C", str(folder), *arguments], check=True)
