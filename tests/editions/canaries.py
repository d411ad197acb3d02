"""A shop in which every text has a word of its own, and the table of who may read it, written down once more.

The table is that of the record format's reference, "Who sees what", and is not taken from the code: a field of any
record model stands in one of `OUTSIDE`, `CREW` and `FIGURES`, or the test that walks the models fails.
"""

import hashlib
import io
import shutil
from pathlib import Path

from bench.handed import git
from PIL import Image

LETTERS = "bcdfghklmnprstvz"


def word(of: str) -> str:
    """The word of a field: eleven letters that stand nowhere else.

    >>> word("Sheet.note") == word("Sheet.note"), word("Sheet.note") == word("Sheet.why")
    (True, False)
    """
    return "q" + "".join(LETTERS[byte % 16] for byte in hashlib.sha256(of.encode()).digest()[:10])


BOTH, OWNER, BUYER = frozenset(("owner", "buyer")), frozenset(("owner",)), frozenset(("buyer",))
OUTSIDE = {
    **dict.fromkeys(
        (
            *("ShopFile.name", "Instrument.name", "EngineFile.engine", "EngineFile.name", "EngineFile.stamped"),
            *("EngineFile.use", "PartFile.serial", "PartFile.batch", "PartFile.note", "Sheet.sheet", "Sheet.note"),
            *("Photo.view", "Photo.caption", "PositionLine.finding", "PositionLine.why", "PositionLine.correction"),
            *("PositionLine.part", "Work.did", "Sheet.torque", "Sheet.correction", "Fluids.oil", "Fluids.fuel"),
            *("Fluids.premix", "Fluids.injected", "Fluids.coolant", "Fluids.filter", "LogLine.did", "LogLine.note"),
            *("LogLine.why", "Family.name", "Dimension.name", "Dimension.source", "Kind.name", "Place.name"),
            *("Fit.name", "Fit.source", "TestRule.name", "TestRule.source", "Family.grades", "Family.services"),
        ),
        BOTH,
    ),
    "PlanEvent.name": OWNER,
    "Answer.answer": BUYER,
}
# Every text that the table gives to nobody: it stood in its field at first, and stands in a line of the log now.
MOVED = (
    *("ShopFile.crew_note", "ShopFile.people", "EngineFile.built_for", "EngineFile.crew_note", "Owner.name"),
    *("Owner.contact", "PartFile.came_from", "PartFile.crew_note", "PartFile.cost", "PositionLine.crew_note"),
    *("Work.by", "Work.invoice", "Work.cost", "Work.note", "LogLine.crew_note", "LogLine.cost", "LogLine.invoice"),
    *("LogLine.correction", "Answer.why", "sheet signed in full", "other name"),
)
CREW = (
    *("ShopFile.crew_note", "ShopFile.people", "EngineFile.built_for", "EngineFile.crew_note"),
    *("Owner.name", "Owner.contact", "PartFile.came_from", "PartFile.crew_note", "PartFile.cost"),
    *("Sheet.crew_note", "PositionLine.crew_note", "Work.by", "Work.invoice", "Work.cost", "Work.note"),
    *("LogLine.crew_note", "LogLine.cost", "LogLine.invoice", "LogLine.correction", "Answer.why", "Answer.where"),
    *("Share.note", "Photo.file", "EngineFile.picture", "Photo.original", "Sheet.by"),
    *("other engine", "other name", "other serial", "other note", "other finding", "other batch", "other log"),
    *("other oil", "other sheet", "other view", "commit message", "author", "e-mail", "camera", "uncommitted"),
    *("was crew only", "was a note", "photo once crew only", "free text of an owner", "sheet signed in full"),
    *(f"{field} today" for field in MOVED),
    *("committer", "committer's e-mail", "branch", "tag", "sheet taken out", "photo taken out"),
)
# Fields without words of anybody's own: figures, days, names that a family gives, and chosen words.
FIGURES = {
    "ShopFile": "site units confidence instruments", "Units": "length also",
    "Instrument": "resolution repeat zero uncertainty material calibrated note",
    "EngineFile": "family owners", "Owner": "since",
    "PartFile": "kind family origin prior size",
    "Sheet": "engine date reason counter temperature instruments photos positions rest opened fits work tests fluids",
    "PositionLine": "origin size measured observed photos decision because",
    "Photo": "crew_only taken", "Work": "part position dimensions size",
    "LogLine": "date kind what hours minutes km starts runs peak_rpm over_revs above_redline oil_pressure_min "
               "water_max counter counter_was fluids",
    "Plan": "events keep", "PlanEvent": "date hours minutes km starts runs",
    "Review": "answers left_out", "Answer": "point by date",
    "Share": "engine edition token made until revoked", "Shares": "shares",
    "Family": "family architecture exposure redline source positions kinds fits tests",
    "Dimension": "unit wears new limit instrument stations judge corrected out_of_round taper differences",
    "LimitLine": "min max", "Form": "limit new source name", "Difference": "limit new source name difference",
    "Service": "replace inspect after", "Kind": "material expansion whole serial dimensions observe service apart",
    "Place": "kind row names", "Fit": "row outer inner unit new limit instrument",
    "Spread": "chambers rows", "TestRule": "unit at limit spread curve",
}  # fmt: skip


def picture(note: str) -> bytes:
    """A photo in whose metadata a word stands."""
    image, out = Image.new("RGB", (640, 480), (120, 110, 100)), io.BytesIO()
    exif = image.getexif()
    exif[0x010E] = note  # ImageDescription, Exif 2.32
    exif[0x0110] = word("camera")  # Model
    image.save(out, "JPEG", exif=exif)
    return out.getvalue()


FAMILY = f"""\
family: fam
name: {word("Family.name")}
architecture: rotary
exposure: hours
positions:
  bearing-1: {{kind: bearing, row: 1, name: {word("Place.name")}}}
  shaft: shaft
kinds:
  bearing:
    name: {word("Kind.name")}
    serial: yes
    observe: [overlay]
    dimensions:
      bore: {{name: {word("Dimension.name")}, unit: mm, wears: up, new: [60.04, 60.06], limit: {{max: 60.105}},
             source: {word("Dimension.source")}}}
  shaft:
    serial: yes
    dimensions:
      journal: {{unit: mm, wears: down, new: [59.98, 60.0], limit: {{min: 59.95}}, source: sheet 4}}
fits:
  clearance-1: {{name: {word("Fit.name")}, row: 1, outer: bearing-1.bore, inner: shaft.journal, unit: mm,
                limit: {{max: 0.14}}, source: {word("Fit.source")}}}
tests:
  compression: {{name: {word("TestRule.name")}, unit: kPa, limit: {{min: 650}}, source: {word("TestRule.source")}}}
services:
  {word("Family.services")}: {{hours: 5}}
grades:
  overlay: {{"0": clean, "2": {word("Family.grades")}}}
"""

TEARDOWN = f"""\
engine: {word("EngineFile.engine")}
date: 2026-05-01
sheet: {word("Sheet.sheet")}
by: {word("sheet signed in full")}
note: {word("Sheet.note")} after {word("other engine")}, {word("other serial")} and {word("free text of an owner")}
crew_note: {word("Sheet.crew_note")}
correction: {word("Sheet.correction")}
photos:
  - {{file: {word("Photo.file")}.jpg, view: {word("Photo.view")}, caption: {word("Photo.caption")}}}
  - {{file: {word("photo once crew only")}.jpg, view: {word("photo once crew only")}}}
positions:
  bearing-1:
    part: {word("PartFile.serial")}
    measured: {{bore: 60.071}}
    observed: {{overlay: 2}}
    finding: {word("PositionLine.finding")}
    decision: reuse
    why: {word("PositionLine.why")}
    correction: {word("PositionLine.correction")}
    crew_note: {word("PositionLine.crew_note")}
  shaft: {{part: {word("PositionLine.part")}, measured: {{journal: 59.985}}, finding: {word("was crew only")}}}
work:
  - {{part: {word("PositionLine.part")}, did: {word("Work.did")}, by: {word("Work.by")},
     invoice: {word("Work.invoice")}, cost: {word("Work.cost")}, note: {word("Work.note")}}}
torque: {{tension bolts: {word("Sheet.torque")}}}
tests:
  compression: {{unit: kPa, bearing-1: [812, 806, 815], by: {word("Sheet.by")}}}
fluids: {{oil: {word("Fluids.oil")}, fuel: {word("Fluids.fuel")}, premix: {word("Fluids.premix")},
         injected: {word("Fluids.injected")}, coolant: {word("Fluids.coolant")}, filter: {word("Fluids.filter")}}}
"""
OWN = f"engines/{word('EngineFile.engine')}"
OTHER = f"engines/{word('other engine')}"
FILES: dict[str, str | bytes] = {
    "shop.yml": f"""\
name: {word("ShopFile.name")}
site: https://history.example
people: {{RK: {word("ShopFile.people")}}}
instruments:
  mic: {{name: {word("Instrument.name")}, resolution: 0.001 mm}}
crew_note: {word("ShopFile.crew_note")}
""",
    "families/fam.yml": FAMILY,
    f"{OWN}/engine.yml": f"""\
engine: {word("EngineFile.engine")}
family: fam
name: {word("EngineFile.name")}
stamped: {word("EngineFile.stamped")}
picture: {word("EngineFile.picture")}.jpg
use: {word("EngineFile.use")}
built_for: {word("EngineFile.built_for")}
owners: [{{name: {word("free text of an owner")}}}, {{name: {word("Owner.name")}, contact: {word("Owner.contact")}}}]
crew_note: {word("EngineFile.crew_note")}
""",
    f"{OWN}/{word('EngineFile.picture')}.jpg": picture(word("camera")),
    f"parts/{word('PartFile.serial')}.yml": f"""\
serial: {word("PartFile.serial")}
kind: bearing
family: fam
from: {word("PartFile.came_from")}
batch: {word("PartFile.batch")}
note: {word("PartFile.note")}
crew_note: {word("PartFile.crew_note")}
cost: {word("PartFile.cost")}
""",
    f"parts/{word('other serial')}.yml": f"""\
serial: {word("other serial")}
kind: bearing
family: fam
batch: {word("other batch")}
""",
    f"{OTHER}/engine.yml": f"engine: {word('other engine')}\nfamily: fam\nname: {word('other name')}\n",
    f"{OTHER}/builds/2026-01-05.yml": f"""\
engine: {word("other engine")}
date: 2026-01-05
sheet: {word("other sheet")}
note: {word("other note")}
positions:
  bearing-1: {{part: {word("PartFile.serial")}, measured: {{bore: 60.050}}}}
""",
    f"{OTHER}/teardowns/2026-02-10/teardown.yml": f"""\
engine: {word("other engine")}
date: 2026-02-10
note: {word("other note")}
positions:
  bearing-1:
    part: {word("PartFile.serial")}
    measured: {{bore: 60.058}}
    finding: {word("other finding")}
    decision: reuse
    photos: [{{file: a.jpg, view: {word("other view")}}}]
""",
    f"{OTHER}/teardowns/2026-02-10/a.jpg": picture(word("other view")),
    f"{OTHER}/builds/2026-02-11.yml": f"""\
engine: {word("other engine")}
date: 2026-02-11
positions:
  bearing-1: {{part: {word("other serial")}, measured: {{bore: 60.050}}}}
""",
    f"{OTHER}/log.yml": f"""\
- {{date: 2026-01-20, kind: run, what: race, hours: 3.0, note: {word("other log")}}}
- {{date: 2026-01-21, kind: change, fluids: {{oil: {word("other oil")}}}}}
""",
    f"{OWN}/builds/2026-03-01.yml": f"""\
engine: {word("EngineFile.engine")}
date: 2026-03-01
by: RK
positions:
  bearing-1: {{part: {word("PartFile.serial")}}}
  shaft: {{part: {word("PositionLine.part")}, measured: {{journal: 59.99}}}}
""",
    f"{OWN}/log.yml": f"""\
- {{date: 2026-03-10, kind: run, what: race, hours: 4.0, note: {word("LogLine.note")}}}
- {{date: 2026-03-20, kind: service, did: [{word("Family.services")}, {word("LogLine.did")}],
   cost: {word("LogLine.cost")}, invoice: {word("LogLine.invoice")},
   crew_note: {word("LogLine.crew_note")}, correction: {word("LogLine.correction")}}}
- {{date: 2026-03-21, kind: change, fluids: {{oil: other}}, why: {word("LogLine.why")}}}
""",
    f"{OWN}/plan.yml": f"""\
events:
  - {{date: 2026-12-05, name: {word("PlanEvent.name")}, hours: 2.0}}
keep: 0.9
""",
    f"{OWN}/review.yml": f"""\
answers:
  - {{point: no-serial, where: {word("Answer.where")}, answer: it is stamped, why: {word("Answer.why")}, by: RK}}
  - {{point: no-torque, answer: "{word("Answer.answer")}", by: RK, date: 2026-06-01}}
left_out:
  - {{point: no-temperature, why: "{word("Answer.why")}", by: RK, date: 2026-06-01}}
""",
    f"{OWN}/teardowns/2026-05-01/teardown.yml": TEARDOWN,
    f"{OWN}/teardowns/2026-05-01/{word('Photo.file')}.jpg": picture(word("camera")),
    f"{OWN}/teardowns/2026-05-01/{word('photo once crew only')}.jpg": picture(word("photo once crew only")),
}
SHEET = f"{OWN}/teardowns/2026-05-01/teardown.yml"
TAKEN_OUT = f"{OWN}/teardowns/2026-04-01/teardown.yml"  # in the first commit alone
SHEET_TAKEN_OUT = f"""\
engine: {word("EngineFile.engine")}
date: 2026-04-01
note: {word("sheet taken out")}
photos: [{{file: b.jpg, view: {word("sheet taken out")}}}]
positions:
  shaft: {{part: {word("PositionLine.part")}, finding: {word("sheet taken out")}, decision: reuse}}
"""
# What the sheet said at first: a finding that was for the crew alone, a note that later became so, a photo kept back.
FIRST_SHEET = (
    TEARDOWN.replace(f"finding: {word('was crew only')}", f"crew_note: {word('was crew only')}")
    .replace(f"crew_note: {word('Sheet.crew_note')}\n", "")
    .replace(f"note: {word('Sheet.note')} after", f"note: {word('was a note')}, {word('Sheet.crew_note')}, after")
    .replace(f"view: {word('photo once crew only')}}}", f"view: {word('photo once crew only')}, crew_only: yes}}")
)


MOVED_TO = "".join(f"- {{date: 2026-03-22, kind: change, note: {word(field)}}}\n" for field in MOVED)


def without_what_moved(text: str) -> str:
    """A record of the last commit: another word stands in each field whose own went to the log."""
    for field in MOVED:
        text = text.replace(word(field), word(f"{field} today"))
    return text


def write_shop(folder: Path) -> Path:
    """The shop as a repository of two commits, by an author whose name must not leave it, and a file not committed.

    The second commit exchanges the photos of the sheet.
    """
    for path, content in FILES.items():
        place = folder / path
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(content if isinstance(content, bytes) else content.encode())
    git(folder, "init", "--quiet", "-b", word("branch"))
    for who, of in (("author", ""), ("committer", "committer's ")):
        git(folder, "config", f"{who}.name", word(who))
        git(folder, "config", f"{who}.email", f"{word(f'{of}e-mail')}@example.com")
    (folder / SHEET).write_text(FIRST_SHEET, encoding="utf-8")
    beside = SHEET.removesuffix("teardown.yml")
    photos = {path: it for path, it in FILES.items() if path.startswith(beside) and isinstance(it, bytes)}
    for path, content in photos.items():
        (folder / path).write_bytes(content + b"before")
    (folder / TAKEN_OUT).parent.mkdir()
    (folder / TAKEN_OUT).write_text(SHEET_TAKEN_OUT, encoding="utf-8")
    (folder / TAKEN_OUT).with_name("b.jpg").write_bytes(picture(word("photo taken out")))
    git(folder, "add", "-A")
    git(folder, "commit", "--quiet", "-m", word("commit message"))
    git(folder, "tag", "-a", word("tag"), "-m", word("commit message"))
    for path, content in photos.items():
        (folder / path).write_bytes(content)
    for path, content in FILES.items():
        if isinstance(content, str):
            (folder / path).write_text(without_what_moved(content), encoding="utf-8")
    with (folder / OWN / "log.yml").open("a", encoding="utf-8") as log:
        log.write(MOVED_TO)
    shutil.rmtree((folder / TAKEN_OUT).parent)
    git(folder, "commit", "--quiet", "-a", "-m", word("commit message"))
    return folder
