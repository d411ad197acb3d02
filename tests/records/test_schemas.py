"""What an editor is told of a record agrees with its reader: good records are taken, and what turns red is wrong.

A record is read here as an editor reads it: by a YAML 1.2 reader (core schema, YAML 1.2.2 section 10.3), which makes
numbers of `60.061` and `00123`; then it is held against its schema by a validator of draft 7.
"""

import json
import re
import shutil
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft7Validator
from ruamel.yaml import YAML

from engine_pages.cli import main
from engine_pages.records.checks.all import read_checked
from engine_pages.records.descriptions import DESCRIPTIONS
from engine_pages.records.model import GATHERED, Model
from engine_pages.records.schemas import KINDS, file_name, schema_of, schema_text

DEMO = Path(__file__).parents[2] / "records"
RECORDS = {
    "shop": "shop.yml",
    "family": "families/*.yml",
    "part": "parts/*.yml",
    "engine": "engines/*/engine.yml",
    "log": "engines/*/log.yml",
    "plan": "engines/*/plan.yml",
    "build": "engines/*/builds/*.yml",
    "inspection": "engines/*/inspections/*.yml",
    "teardown": "engines/*/teardowns/*/teardown.yml",
}
SHEETS = sorted(
    (kind, str(path.relative_to(DEMO)))
    for kind in ("build", "inspection", "teardown")
    for path in DEMO.glob(RECORDS[kind])
)
PATHS = {
    "shop": "shop.yml",
    "shares": "shares.yml",
    "family": "families/twin-rotor.yml",
    "part": "parts/RB-101.yml",
    "engine": "engines/K-07/engine.yml",
    "plan": "engines/K-07/plan.yml",
    "review": "engines/K-07/review.yml",
    "log": "engines/K-07/log.yml",
    "build": "engines/K-07/builds/2026-02-20.yml",
    "inspection": "engines/K-07/inspections/2026-06-20.yml",
    "teardown": "engines/K-07/teardowns/2026-10-12/teardown.yml",
}
GOOD = {
    "shop": """\
name: Third Bay
units: {length: mm, also: in}
confidence: 0.90
people: {RK: R. Kestrel}
instruments:
  bore-50-75: {name: Bore gauge, resolution: 0.001 mm, repeat: 0.0015 mm, material: steel, calibrated: 2026-01-15}
""",
    "shares": "shares:\n  - {engine: K-07, edition: owner, made: 2026-11-02, until: 2027-12-31}\n",
    "family": """\
family: twin-rotor
architecture: rotary
exposure: hours
redline: 9000 rpm
positions:
  rotor-bearing-1: rotor-bearing
  rotor-bearing-2: {kind: rotor-bearing, row: 2}
  apex-seals-1: {kind: apex-seal, names: [a1, a2]}
  engine: whole
kinds:
  rotor-bearing:
    material: steel
    serial: yes
    dimensions:
      inside_diameter: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.105}, source: Line 12}
    observe: [overlay]
    service: {replace: {hours: 60, months: 36}, after: {over_rev: inspect}}
  apex-seal:
    dimensions:
      height:
        unit: mm
        stations: [top, mid, end]
        judge: smallest
        loss: {difference: [top, end], limit: {max: 0.1}, source: Line 3}
        dip: {difference: [mid, smallest, [top, end]], limit: {max: 0.1}, source: Line 4}
  whole:
    whole: yes
services: {oil: {hours: 5 h}, plugs: {}}
fits: {clearance-1: {outer: rotor-bearing-1.inside_diameter, inner: apex-seals-1/a1.height@top}}
tests:
  compression: {unit: kPa, at: 250 rpm, limit: {min: 680}, spread: {rows: 100}, curve: [[200, 0.93], [250, 1.0]]}
grades: {overlay: {0: run in only, 4: gone}}
""",
    "part": "serial: RB-101\nkind: rotor-bearing\norigin: used\nprior: {hours: 12}\nsize: -0.25 mm\n",
    "engine": "engine: K-07\nfamily: twin-rotor\nstamped: 00123\nowners: [{name: P. Larch, from: 2026-01-10}]\n",
    "plan": "events:\n  - {date: 2027-04-18, name: Round 1, hours: 1.6, starts: 6}\nkeep: 0.90\n",
    "review": "answers:\n  - {point: no-gauge, where: builds/2026-02-20.yml, answer: Same gauge, by: RK}\n",
    "log": """\
- {date: 2026-03-02 09:00, kind: run, what: dyno, hours: 2.4, starts: 3, peak_rpm: 9100}
- {date: 2026-03-20, kind: service, did: [oil], fluids: {oil: ester}}
- {date: 2026-04-11, kind: change, fluids: {premix: "1:80 two-stroke ester"}, why: smoke}
- {date: 2026-05-02, kind: incident, what: over_rev, peak_rpm: 10400}
""",
    "build": """\
engine: K-07
date: 2026-02-20
positions:
  rotor-bearing-1: {part: RB-101, measured: {inside_diameter: 60.051}}
  rotor-bearing-2:
  apex-seals-1: {part: {a1: AS-1, a2: 00123}}
""",
    "inspection": """\
engine: K-07
date: 2026-06-20
tests: {compression: {rpm: 262, unit: kPa, faces: marked, temperature: 80 °C, rotor-bearing-1: [812, 806]}}
""",
    "teardown": """\
engine: K-07
date: 2026-10-12 16:30
sheet: T-0412
reason: planned
counter: 41.6 h
temperature: 21 °C
instruments: {inside_diameter: bore-50-75}
opened:
positions:
  rotor-bearing-1:
    part: RB-101
    measured:
      inside_diameter: {value: [60.061, 60.062], instrument: bore-50-75, temperature: 24 °C, by: RK}
    observed: {overlay: 1}
    finding:
    decision: reuse
    because: precaution
    correction: [Wrong line read., The gauge said 60.061.]
  rotor-bearing-2: {measured: {inside_diameter: under 2.37 in}, decision: replace, because: worn}
  apex-seals-1:
    part: {a1: AS-1, a2: 00123}
    measured: {height: {a1: {top: 7.97, end: 7.95..7.97 mm}, a2: {top: not measurable}}}
fits: {clearance-1: 0.05..0.08 mm}
work: [{part: RB-101, did: lapped, dimensions: [inside_diameter], size: 0.01 mm}]
torque: {main-caps: 68 Nm}
fluids: {oil: ester}
""",
}
WRONG = [
    # a key that is misspelt or stands in the wrong place
    ("shop", "people:", "poeple:"),
    ("shop", "resolution:", "resolutoin:"),
    ("shares", "until:", "untill:"),
    ("family", "positions:", "positons:"),
    ("family", "    material:", "    materiel:"),
    ("family", "limit: {max: 60.105}", "limit: {maximum: 60.105}"),
    ("family", "loss: {difference: [top, end]", "loss: {diference: [top, end]"),
    ("family", "hours: 60,", "hour: 60,"),
    ("part", "origin:", "orgin:"),
    ("engine", "stamped:", "stampd:"),
    ("plan", "starts:", "start:"),
    ("review", "answer:", "anser:"),
    ("log", "peak_rpm: 9100", "peak: 9100"),
    ("log", "fluids: {premix:", "fluids: {premixed:"),
    ("build", "date:", "data:"),
    ("inspection", "tests:", "test:"),
    ("teardown", "decision: reuse", "descision: reuse"),
    ("teardown", "instrument: bore-50-75,", "gauge: bore-50-75,"),
    ("teardown", "{value: [60.061, 60.062],", "{"),
    # a word that is not among the allowed ones; yes and no are words
    ("shop", "material: steel", "material: steal"),
    ("shares", "edition: owner", "edition: seller"),
    ("family", "architecture: rotary", "architecture: wankler"),
    ("family", "wears: up", "wears: upwards"),
    ("family", "over_rev: inspect", "over_reving: inspect"),
    ("family", "serial: yes", "serial: true"),
    ("family", "whole: yes", "whole: 1"),
    ("family", "[mid, smallest,", "[mid, least,"),
    ("part", "prior: {hours: 12}", "prior: unknwon"),
    ("log", "what: dyno", "what: over_rev"),
    ("log", "what: over_rev", "what: race"),
    ("log", "kind: service", "kind: servce"),
    ("inspection", "faces: marked", "faces: painted"),
    ("teardown", "reason: planned", "reason: plan"),
    ("teardown", "because: worn", "because: old"),
    # a day, a number, a unit, a grade, an id
    ("engine", "from: 2026-01-10", "from: 10.01.2026"),
    ("log", "date: 2026-03-20", "date: 2026-06-31"),
    ("teardown", "16:30", "24:30"),
    ("shop", "confidence: 0.90", "confidence: 90"),
    ("plan", "keep: 0.90", "keep: 1.0"),
    ("plan", "starts: 6", "starts: 6.5"),
    ("plan", "hours: 1.6", "hours: 1,6 h"),
    ("plan", "hours: 1.6", "hours: 1.6 km"),
    ("log", "hours: 2.4", "hours: -2.4"),
    ("family", "redline: 9000 rpm", "redline: 9000 bar"),
    ("family", "hours: 60,", "hours: 0,"),
    ("teardown", "temperature: 21 °C", "temperature: 21 C"),
    ("teardown", "0.05..0.08 mm", "0.05...0.08 mm"),
    ("teardown", "under 2.37 in", "below 2.37 in"),
    ("teardown", "overlay: 1", "overlay: 5"),
    ("build", "engine: K-07", "engine: K 07"),
    # a map, a list or one value in the place of another; nothing where something must stand
    ("family", "new: [60.040, 60.060]", "new: [60.040]"),
    ("family", "curve: [[200, 0.93], [250, 1.0]]", "curve: [200, 0.93]"),
    ("family", "  apex-seals-1: {kind: apex-seal, names: [a1, a2]}", "  apex-seals-1: {names: [a1, a2]}"),
    ("shares", "engine: K-07", "engine:"),
    ("teardown", "observed: {overlay: 1}", "observed: 1"),
    ("teardown", "[60.061, 60.062]", "[]"),
    ("teardown", "[60.061, 60.062]", "[60.061, 60.05..60.06]"),
    ("teardown", "work: [{part", "work: {first: {part"),
    ("build", "part: RB-101", 'part: " "'),
    ("inspection", "tests: {compression: {rpm: 262", "tests: {oil_pressure: 4.6 bar, compression: {rpm: 262"),
]


class Written(dict[str, bytes]):
    """A shop's files as they stand in a test."""

    label = "a test"

    def paths(self) -> Sequence[str]:
        return sorted(self)

    def read(self, path: str) -> bytes:
        return self[path]

    def size(self, path: str) -> int:
        return len(self[path])


def in_editor(text: str) -> Any:
    """A record as an editor has it before it looks at a schema: YAML 1.2, days as texts, keys as texts."""
    reader = YAML(typ="safe", pure=True)
    reader.version = (1, 2)
    # the core schema of YAML 1.2 knows no days; this reader keeps them from YAML 1.1
    days = "tag:yaml.org,2002:timestamp"
    reader.constructor.add_constructor(days, lambda maker, node: maker.construct_scalar(node))
    return _with_text_keys(reader.load(text))


def _with_text_keys(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _with_text_keys(inner) for key, inner in value.items()}
    return [_with_text_keys(inner) for inner in value] if isinstance(value, list) else value


def red(kind: str, text: str) -> list[str]:
    """What an editor complains of."""
    return [error.message for error in Draft7Validator(schema_of(kind)).iter_errors(in_editor(text))]


def refused(kind: str, text: str) -> list[str]:
    """The errors that our own reader finds in one file of a shop that has none."""
    files = Written({path: GOOD[name].encode() for name, path in PATHS.items()})
    files[PATHS[kind]] = text.encode()
    checked = read_checked(files, date(2026, 11, 5))
    return [str(one) for one in checked.problems if one.level == "error" and one.source.path == PATHS[kind]]


# ---- the schemas themselves ----


@pytest.mark.parametrize("kind", KINDS)
def test_every_schema_is_one_of_draft_7_and_asks_no_other_host(kind: str) -> None:
    schema = schema_of(kind)
    Draft7Validator.check_schema(schema)
    assert re.findall(r"https?://[^\"]*", schema_text(kind)) == ["http://json-schema.org/draft-07/schema#"]
    assert schema["$id"] == file_name(kind)


@pytest.mark.parametrize("kind", KINDS)
def test_every_pattern_is_written_as_editors_want_it(kind: str) -> None:
    # ECMA 262 with the u flag: outside of a class only its own signs and a few letters may stand behind a backslash
    patterns = [value for key, value in _pairs(schema_of(kind)) if key == "pattern"]
    outside = [re.sub(r"\[(?:[^\]\\]|\\.)*\]", "", pattern) for pattern in patterns]
    assert all(re.fullmatch(r"(?:[^\\]|\\[\^$.*+?()\[\]{}|/sS]|\\u[0-9a-f]{4})*", one) for one in outside)
    assert not any("(?i" in one or "(?<" in one or "\\A" in one or "\\Z" in one for one in outside)


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_says_what_it_means(kind: str) -> None:
    maps = [value for key, value in _pairs(schema_of(kind)) if key == "properties"]
    for name, form in [(name, form) for one in maps for name, form in one.items()]:
        # what a run is called and what an incident is are rules beside the key, which is told of once
        assert form.get("description") or name == "kind" or set(form) == {"enum"}, name


def test_no_description_is_left_of_a_key_that_is_gone() -> None:
    models = {model.__name__: model for model in _models(Model)}
    assert set(DESCRIPTIONS) == set(models)
    for name, model in models.items():
        keys = {field.alias or key for key, field in model.model_fields.items()} - {GATHERED}
        assert set(DESCRIPTIONS[name]) == keys, name


def _pairs(value: Any) -> list[tuple[str, Any]]:
    if isinstance(value, list):
        return [pair for inner in value for pair in _pairs(inner)]
    if not isinstance(value, dict):
        return []
    return [*value.items(), *(pair for inner in value.values() for pair in _pairs(inner))]


def _models(base: type[Model]) -> list[type[Model]]:
    return [found for model in base.__subclasses__() for found in (model, *_models(model))]


# ---- good records are accepted, wrong ones refused by both ----


@pytest.mark.parametrize("kind", RECORDS)
def test_every_record_of_the_demo_is_accepted(kind: str) -> None:
    paths = sorted(DEMO.glob(RECORDS[kind]))
    assert paths
    assert {path.name: red(kind, path.read_text(encoding="utf-8")) for path in paths} == {
        path.name: [] for path in paths
    }


@pytest.mark.parametrize("kind", KINDS)
def test_the_shop_that_is_broken_below_is_accepted(kind: str) -> None:
    assert red(kind, GOOD[kind]) == []
    assert refused(kind, GOOD[kind]) == []


@pytest.mark.parametrize(("kind", "right", "wrong"), WRONG)
def test_what_is_wrong_is_red_in_the_editor_and_refused_by_the_reader(kind: str, right: str, wrong: str) -> None:
    text = GOOD[kind].replace(right, wrong, 1)
    assert text != GOOD[kind]
    if wrong.startswith("work: {"):
        text = text.replace("size: 0.01 mm}]", "size: 0.01 mm}}")
    assert red(kind, text)
    assert refused(kind, text)


@pytest.mark.parametrize(("number", "sheet"), list(enumerate(SHEETS)))
def test_a_sheet_of_the_demo_with_one_key_misspelt_is_red_and_refused(number: int, sheet: tuple[str, str]) -> None:
    kind, path = sheet
    text = (DEMO / path).read_text(encoding="utf-8")
    keys = sorted({*DESCRIPTIONS["Sheet"], *DESCRIPTIONS["PositionLine"]} - {"fits", "part"})
    there = [key for key in keys if re.search(rf"^ *{key}:", text, re.MULTILINE)]
    key = there[number * 5 % len(there)]
    misspelt = re.sub(rf"^( *){key}:", rf"\g<1>{key[:-1]}{key[-1] * 2}:", text, count=1, flags=re.MULTILINE)
    assert red(kind, misspelt)
    checked = read_checked(Written({path: misspelt.encode()}), date(2026, 11, 25))
    assert [one.message for one in checked.problems if f"unknown key '{key}" in one.message]


@pytest.mark.parametrize("engine", ["K-07", "Q-12"])
@pytest.mark.parametrize("kind", ["teardown", "inspection", "build"])
def test_a_blank_sheet_is_accepted(tmp_path: Path, kind: str, engine: str) -> None:
    shop = shutil.copytree(DEMO, tmp_path / "shop", ignore=shutil.ignore_patterns("site"))
    told = CliRunner().invoke(main, ["sheet", kind, engine, "--date", "2026-11-20", "--records", str(shop)])
    assert told.exit_code == 0, told.output
    blank = Path(told.output.removeprefix("The blank sheet is ").strip())
    assert red(kind, blank.read_text(encoding="utf-8")) == []


# ---- the command ----


def test_the_command_prints_a_schema_or_the_names_or_writes_them_all(tmp_path: Path) -> None:
    run = CliRunner()
    assert json.loads(run.invoke(main, ["schema", "teardown"]).output) == schema_of("teardown")
    names = run.invoke(main, ["schema"]).output.splitlines()
    assert [line.split() for line in names] == [[name, kind.path] for name, kind in KINDS.items()]
    assert run.invoke(main, ["schema", "--to", str(tmp_path / "out")]).exit_code == 0
    written = {path.name: path.read_text(encoding="utf-8") for path in (tmp_path / "out").iterdir()}
    assert written == {file_name(kind): schema_text(kind) for kind in KINDS}
    assert run.invoke(main, ["schema", "plan", "--to", str(tmp_path / "one")]).exit_code == 0
    assert [path.name for path in (tmp_path / "one").iterdir()] == ["plan.schema.json"]


def test_a_kind_that_is_not_known_and_a_place_that_cannot_be_written_are_told(tmp_path: Path) -> None:
    run = CliRunner()
    assert "teardwn" in run.invoke(main, ["schema", "teardwn"]).output
    (tmp_path / "file").write_text("", encoding="utf-8")
    told = run.invoke(main, ["schema", "--to", str(tmp_path / "file" / "inside")])
    assert told.exit_code == 1
    assert told.output.startswith("Error: the schemas could not be written")
