"""Every mistake that a record can hold is found, at its line and column, in words that help.

Each row breaks one thing in a small shop that has no problems.
"""

from datetime import date
from pathlib import Path

import pytest

from engine_pages.records.checks.all import read_checked
from engine_pages.records.source import Problem
from engine_pages.records.tree import Folder

TODAY = date(2026, 11, 5)
K = "engines/K-07"
TOKEN = "b" * 30 + "22"
E, L, PLAN, F, P = f"{K}/engine.yml", f"{K}/log.yml", f"{K}/plan.yml", "families/twin-rotor.yml", "parts/RB-101.yml"
B, T = f"{K}/builds/2026-02-20.yml", f"{K}/teardowns/2026-10-12/teardown.yml"
READ = "[60.061, 60.062, 60.060]"
Files = dict[str, str | bytes]


GOOD: dict[str, str] = {
    "shop.yml": """\
name: Third Bay
units: {length: mm, also: in}
confidence: 0.90
people: {RK: R. Kestrel, TM: T. Marlow}
instruments:
  bore-50-75: {name: Bore gauge 50–75 mm, resolution: 0.001 mm, repeat: 0.0015 mm, zero: 0.001 mm, material: steel}
  feeler: {name: Feeler leaves, resolution: 0.01 mm}
""",
    F: """\
family: twin-rotor
architecture: rotary
exposure: hours
redline: 9000 rpm
positions:
  rotor-1: rotor
  rotor-bearing-1: rotor-bearing
  rotor-bearing-2: {kind: rotor-bearing, row: 2}
  rotor-housing-1: rotor-housing
  eccentric-shaft: eccentric-shaft
  apex-seals-1: {kind: apex-seal, names: [a1, a2, a3]}
  engine: assembled-engine
kinds:
  rotor:
    dimensions:
      width: {unit: mm, wears: down, new: [79.970, 80.000]}
  rotor-bearing:
    material: steel
    serial: yes
    dimensions:
      inside_diameter:
        unit: mm
        wears: up
        new: [60.040, 60.060]
        limit: {max: 60.105}
        instrument: bore-50-75
        source: Limits sheet, line 12
    observe: [overlay, scoring]
    service: {replace: {hours: 60, months: 36}, after: {over_rev: inspect}}
  rotor-housing:
    material: aluminium
    dimensions:
      width:
        unit: mm
        stations: [plug-point, b-side, c-side]
        width_loss: {difference: [plug-point, smallest, [b-side, c-side]], limit: {max: 0.06}, source: Line 20}
        out_of_round: {limit: {max: 0.03}, source: Line 21}
  eccentric-shaft:
    dimensions:
      rotor_journal_1: {unit: mm, wears: down, new: [59.980, 60.000]}
  apex-seal:
    dimensions:
      height: {unit: mm, wears: down, new: [7.98, 8.00], limit: {min: 6.5}, source: Line 30}
    observe: [chipping]
  assembled-engine:
    whole: yes
    dimensions:
      end_play: {unit: mm, corrected: no, limit: {min: 0.04, max: 0.09}, source: Line 40}
services: {oil: {hours: 5, months: 6}, plugs: {starts: 60}}
fits:
  bearing-clearance-1:
    outer: rotor-bearing-1.inside_diameter
    inner: eccentric-shaft.rotor_journal_1
    limit: {min: 0.040, max: 0.100}
    source: Line 50
  side-clearance-1: {outer: rotor-housing-1.width@plug-point, inner: rotor-1.width, instrument: feeler}
tests:
  compression:
    unit: kPa
    at: 250 rpm
    limit: {min: 680}
    spread: {chambers: 150, rows: 100}
    curve: [[200, 0.93], [250, 1.0], [300, 1.05]]
    source: Line 60
grades:
  overlay: {0: run in only, 1: "light scratches, overlay whole", 4: lining exposed}
""",
    P: """\
serial: RB-101
kind: rotor-bearing
origin: used
prior: {hours: 12}
size: {inside_diameter: 0.00 mm}
""",
    E: """\
engine: K-07
family: twin-rotor
name: Blue car
owners: [{name: P. Larch, from: 2026-01-10}]
""",
    L: """\
- {date: 2026-03-02 09:00, kind: run, what: dyno, hours: 2.4, starts: 3, peak_rpm: 9100}
- {date: 2026-03-02 13:00, kind: run, what: practice, minutes: 35, km: 61, starts: 2, counter: 3.0 h}
- {date: 2026-03-20, kind: service, did: [oil]}
- {date: 2026-04-11, kind: change, fluids: {premix: "1:80 two-stroke ester"}, why: smoke}
- {date: 2026-05-02, kind: incident, what: over_rev, peak_rpm: 10400}
""",
    PLAN: """\
events:
  - {date: 2027-04-18, name: Round 1, hours: 1.6, starts: 6}
keep: 0.90
""",
    B: """\
engine: K-07
date: 2026-02-20
by: RK
temperature: 21 °C
positions:
  rotor-1: {part: R-1, origin: new}
  rotor-bearing-1: {part: RB-101, measured: {inside_diameter: 60.051}}
  rotor-bearing-2: {part: RB-102}
  rotor-housing-1:
  eccentric-shaft: {part: CS-88}
  apex-seals-1: {part: {a1: AS-31, a2: AS-32, a3: AS-33}}
fits: {side-clearance-1: 0.20..0.25 mm}
""",
    T: """\
engine: K-07
date: 2026-10-12 16:30
sheet: T-0412
reason: planned
by: RK
counter: 3.0 h
temperature: 21 °C
instruments: {rotor-bearing.inside_diameter: bore-50-75}
positions:
  rotor-bearing-1:
    part: RB-101
    measured: {inside_diameter: [60.061, 60.062, 60.060]}
    observed: {overlay: 1, scoring: 0}
    finding: Two light scratches, loaded side, 4 o'clock.
    decision: reuse
    because: precaution
  rotor-housing-1:
    measured: {width: {plug-point: 80.002, b-side: 79.990, c-side: 79.988}}
  apex-seals-1: {measured: {height: {a1: 7.97, a2: 7.96, a3: 7.98}}, observed: {chipping: {a2: 1}}, decision: reuse}
fits: {side-clearance-1: under 0.05 mm}
work:
  - {part: CS-88, did: ground, dimensions: [rotor_journal_1], size: -0.25 mm}
tests:
  compression: {rpm: 262, unit: kPa, rotor-1: [812, 806, 815], faces: marked}
  leak_down: {supply: 100 psi, rotor-1: 92 psi}
  oil_pressure: {rpm: 3000, temperature: 95 °C, engine: 4.6 bar}
torque: {main-caps: 68 Nm}
fluids: {oil: ester-15w50, premix: "1:100 two-stroke ester"}
""",
    "shares.yml": f"""\
shares:
  - {{engine: K-07, edition: owner, token: {TOKEN}, made: 2026-11-02,
     until: 2027-12-31}}
""",
    f"{K}/review.yml": """\
answers:
  - {point: no-instrument, where: builds/2026-02-20.yml, answer: Same gauge as 2026, by: RK, date: 2026-11-02}
""",
}


# fmt: off
ERRORS = (
    ("a merge-conflict marker", T, "reason: planned\n", "<<<<<<< HEAD\nreason: planned\n", "4:1", "merge-conflict"),
    ("a tab as indentation", T, "    decision: reuse\n    because", "\tdecision: reuse\n    because", "15:1", "tab"),
    ("a control character", T, "Two light", "Two\x07light", "14:17", "control character | U+0007"),
    ("an unquoted colon", T, "finding: Two light", "finding: Seen: two light", "14:18", "colon | quotes"),
    ("text that begins with %", T, "finding: Two light", "finding: %two light", "14:14", "quotes"),
    ("a flow line that is not closed", T, "{overlay: 1, scoring: 0}", "{overlay: 1, scoring: 0", "14:12", "not YAML"),
    ("an anchor", T, "reason: planned", "reason: &why planned", "4:9", "anchor &why"),
    ("an alias", T, "reason: planned", "reason: *why", "4:9", "alias *why"),
    ("a tag", T, "reason: planned", "reason: !late planned", "4:9", "tag !late"),
    ("a merge key", T, "reason: planned", "<<: {reason: planned}", "4:1", "merge key"),
    ("a key that stands twice", T, "by: RK\n", "by: RK\nby: TM\n", "6:1", "by stands here a second time | line 5"),
    ("deep nesting", T, "reason: planned", "note: " + "[" * 31 + "]" * 31, "4:36", "30 levels"),
    ("two records in one file", T, "sheet: T-0412\n", "---\nsheet: T-0412\n", "3:1", "one file holds one record"),
    ("an unquoted comma", T, "did: ground,", "did: ground, lapped,", "22:32", "lapped | comma | quotes"),
    ("an unknown key", T, "decision: reuse\n    because", "decison: reuse\n    because", "15:5", "decison ? decision"),
    ("a key that is missing", T, "sheet: T-0412", "engin: K-07", "3:1", "engin ? engine"),
    ("a word that is not known", T, "reason: planned", "reason: plannd", "4:9", "plannd ? planned"),
    ("a grade beyond 4", T, "{overlay: 1, scoring: 0}", "{overlay: 5, scoring: 0}", "13:25", "'5' is no grade"),
    ("a decimal comma", T, READ, '"60,061"', "12:33", "60,061 | 60.061"),
    ("the letter O in a number", T, READ, "60.O61", "12:33", "60.O61 | 60.061"),
    ("the letter l in a number", T, READ, "60.06l", "12:33", "60.06l | length"),
    ("not a number", T, READ, ".nan", "12:33", "nan"),
    ("infinity", T, READ, ".inf", "12:33", "inf"),
    ("a time for a number", L, "minutes: 35", 'minutes: "0:35"', "2:64", "0:35 | 35 min"),
    ("a range among repeats", T, READ, "[60.061, 60.06..60.07]", "12:42", "a range stands alone"),
    ("a bracket the wrong way round", T, "under 0.05 mm", "0.08..0.05 mm", "20:26", "wrong way round | 0.05..0.08"),
    ("an unknown unit", T, READ, "60.061 mmm", "12:33", "mmm | mm"),
    ("a unit of the wrong kind", T, READ, "[60.061, 60.062 bar]", "12:42", "60.062 bar | length"),
    ("a temperature in mm", T, "temperature: 21 °C", "temperature: 21 mm", "7:14", "21 mm | temperature | °C"),
    ("a reading's temperature in bar", T, READ, "{value: 60.061, temperature: 2 bar}", "12:62", "2 bar | temperature"),
    ("an unknown circumstance", T, READ, "{value: 60.061, gauge: bore-50-75}", "12:49", "gauge | beside value"),
    ("an instrument alone", T, READ, "{instrument: bore-50-75}", "12:34", "without a value"),
    ("hours below zero", L, "hours: 2.4", "hours: -2.4", "1:58", "-2.4 | below 0"),
    ("a half start", L, "starts: 3", "starts: 2.5", "1:71", "2.5 | whole number"),
    ("an impossible date", L, "date: 2026-03-20", "date: 2026-02-30", "3:10", "2026-02-30 | does not exist"),
    ("a date written another way", L, "date: 2026-03-20", "date: 20.3.2026", "3:10", "20.3.2026 | 2026-03-07"),
    ("a half-written time", L, "2026-03-02 09:00", "2026-03-02 9:00", "1:10", "9:00 | 09:40"),
    ("an id that is none", E, "engine: K-07", "engine: K 07", "1:9", "K 07 | no id"),
    ("a confidence over 1", "shop.yml", "confidence: 0.90", "confidence: 90", "3:13", "90 | between 0 and 1"),
    ("a keep over 1", PLAN, "keep: 0.90", "keep: 90 %", "3:7", "90 % | between 0 and 1"),
    ("an unknown length unit", "shop.yml", "length: mm", "length: cm", "2:17", "cm | allowed"),
    ("a gauge of no material", "shop.yml", "material: steel", "material: steal", "6:110", "steal ? steel"),
    ("a position of no kind", F, "rotor-1: rotor\n", "rotor-1: roter\n", "6:12", "roter ? rotor"),
    ("a row 0", F, "row: 2}", "row: 0}", "8:47", "row 0"),
    ("a member named as a circumstance", F, "names: [a1, a2, a3]", "names: [a1, a2, a3, by]", "11:42", "'by' | member"),
    ("a member named twice", F, "names: [a1, a2, a3]", "names: [a1, a2, a3, a3]", "11:42", "'a3' is named twice"),
    ("a station that bears a member's name", F,
     "height: {unit: mm, wears: down, new: [7.98, 8.00], limit: {min: 6.5}, source: Line 30}",
     "height: {unit: mm, limit: {min: 6.5}, source: Line 30, stations: [a1, end]}", "43:72", "'a1' | member"),
    ("a difference from nowhere", F, "[b-side, c-side]]", "[b-side, d-side]]", "36:66", "d-side ? b-side or c-side"),
    ("a difference that is none", F, "smallest, [b-side", "least, [b-side", "36:47", "least ? largest"),
    ("a fit from nowhere", F, "eccentric-shaft.rot", "eccentric-shft.rot", "53:12", "-shft ? eccentric-shaft"),
    ("a fit of no dimension", F, "inner: rotor-1.width", "inner: rotor-1.widht", "56:70", "widht ? width"),
    ("a fit at no station", F, "width@plug-point", "width@plug", "56:29", "'plug' | plug-point"),
    ("a fit from a set", F, "inner: rotor-1.width", "inner: apex-seals-1.height", "56:70", "apex-seals-1 is a set"),
    ("a fit side with no dimension", F, "inner: rotor-1.width", "inner: rotor-1", "56:70", "position.dimension"),
    ("an unknown unit of a dimension", F, "width: {unit: mm, wears", "width: {unit: mn, wears", "16:21", "'mn' ? mm"),
    ("a limit in bar", F, "limit: {max: 60.105}", "limit: {max: 60.105 bar}", "25:22", "60.105 bar | length"),
    ("a new range in degrees", F, "new: [60.040, 60.060]", "new: [60.040, 60.060 °C]", "24:23", "60.060 °C | length"),
    ("a spread in mm", F, "chambers: 150", "chambers: 150 mm", "62:24", "150 mm | pressure"),
    ("a new range wrong way round", F, "new: [60.040, 60.060]", "new: [60.060, 60.040]", "24:14", "wrong way round"),
    ("a new range wrong across units", F, "new: [59.980, 60.000]", "new: [2.3630 in, 60.000 mm]", "40:53", "wrong way"),
    ("a limit the wrong way round", F, "{min: 0.04, max: 0.09}", "{min: 0.09, max: 0.04}", "48:50", "wrong way round"),
    ("a limit wrong across units", F, "{min: 0.040, max: 0.100}", "{min: 0.040, max: 1 thou}", "54:12", "1 thou"),
    ("a curve that does not increase", F, "[300, 1.05]", "[250, 1.05]", "63:39", "increase | 250"),
    ("a curve with a factor of zero", F, "[200, 0.93]", "[200, 0]", "63:19", "above zero"),
    ("an interval of zero", F, "{hours: 60, months: 36}", "{hours: 0, months: 36}", "29:32", "above zero"),
    ("an interval in an unknown unit", F, "{hours: 60, months: 36}", "{hours: 60, weeks: 36}", "29:36", "weeks"),
    ("a rule after no incident", F, "{over_rev: inspect}", "{overrev: inspect}", "29:57", "overrev ? over_rev"),
    ("an instrument not in the shop", F, "bore-50-75", "bore-50-57", "26:21", "bore-50-57 ? bore-50-75"),
    ("a grade 5 explained", F, "4: lining exposed", "5: lining exposed", "66:66", "'5' is no grade"),
    ("an expansion without e-6", F, "    material: aluminium\n", "    expansion: 22\n", "31:16", "22 | 11.5e-6"),
    ("an engine of no family", E, "family: twin-rotor", "family: twin-rotors", "2:9", "twin-rotors ? twin-rotor"),
    ("an engine in another's folder", E, "engine: K-07", "engine: K-70", "1:9", "K-70 | K-07"),
    ("a link to an unknown engine", "shares.yml", "engine: K-07", "engine: K-77", "2:14", "K-77 ? K-07"),
    ("a link that ends too early", "shares.yml", "until: 2027", "until: 2025", "3:13", "2025-12-31 before"),
    ("a part file of no kind", P, "kind: rotor-bearing", "kind: rotor-baring", "2:7", "rotor-baring ? rotor-bearing"),
    ("a size of no dimension", P, "inside_diameter", "inside_dia", "5:8", "inside_dia ? inside_diameter"),
    ("a size in bar", P, "{inside_diameter: 0.00 mm}", "{inside_diameter: 1 bar}", "5:25", "1 bar | length"),
    ("a prior life in mm", P, "{hours: 12}", "{hours: 12 mm}", "4:16", "12 mm | time"),
    ("a prior life guessed at", P, "{hours: 12}", "about ten hours", "4:8", "about ten hours | unknown"),
    ("a serial of blanks", T, "    part: RB-101\n", '    part: " "\n', "11:11", "quotes"),
    ("a part in two places", B, "{part: RB-102}", "{part: RB-101}", "8:27", "RB-101 | two places"),
    ("taken out where it never was", T, "part: RB-101", "part: RB-102", "11:11", "RB-102 | never was"),
    ("a sheet of another engine", T, "engine: K-07", "engine: K-08", "1:9", "K-08 | K-07"),
    ("a sheet of another day", T, "date: 2026-10-12 16:30", "date: 2026-10-21 16:30", "2:7", "2026-10-21 | 2026-10-12"),
    ("an unknown position", T, "rotor-housing-1", "rotor-housing-3", "17:3", "-3 ? rotor-housing-1"),
    ("an unknown member", T, "{chipping: {a2: 1}}", "{chipping: {a4: 1}}", "19:92", "'a4' | apex-seals-1 | a1"),
    ("a dimension of another kind", T, "{inside_diameter: [", "{inside_dia: [", "12:16", "_dia ? inside_diameter"),
    ("an unknown station", T, "b-side: 79.990", "d-side: 79.990", "18:44", "d-side ? b-side or c-side"),
    ("no station", T, "{plug-point: 80.002, b-side: 79.990, c-side: 79.988}", "80.002", "18:23", "stations | c-side"),
    ("an unknown observation", T, "{overlay: 1, scoring: 0}", "{overlay: 1, scorng: 0}", "13:28", "scorng ? scoring"),
    ("an unknown fit", T, "side-clearance-1", "side-clearance-2", "20:8", "-2 ? side-clearance-1"),
    ("one serial for a set", B, "{a1: AS-31, a2: AS-32, a3: AS-33}", "AS-31", "11:24", "set of 3 | one a member"),
    ("the same thing said twice", T, "fits: {side", "  apex-seals-1/a2: {observed: {chipping: 1}}\nfits: {side",
     "20:42", "chipping of apex-seals-1/a2 | second time"),
    ("an unknown position opened", T, "positions:\n", "opened: [rotor-2]\npositions:\n", "9:10", "rotor-2 | rotor-1"),
    ("a reading's instrument", T, READ, "{value: 60.061, instrument: bore-50}", "12:61", "bore-50 ? bore-50-75"),
    ("a gauge for nothing", T, "{rotor-bearing.", "{rotor-baring.", "8:15", "baring ? rotor-bearing.inside_diameter"),
    ("work on an unknown part", T, "{part: CS-88, did", "{part: CS-89, did", "22:12", "CS-89 ? CS-88"),
    ("work on nothing", T, "{part: CS-88, did", "{did", "22:5", "part | position"),
    ("work on no dimension", T, "rotor_journal_1", "rotor_journal_2", "22:45", "_2 ? rotor_journal_1"),
    ("work of a size in degrees", T, "size: -0.25 mm", "size: -0.25 °C", "22:69", "-0.25 °C | length"),
    ("an unknown test", T, "  compression:", "  compresion:", "24:3", "compresion ? compression"),
    ("a test of a rowless position", T, "rotor-1: 92 psi", "eccentric-shaft: 92 psi", "25:32", "no row"),
    ("a test of nowhere", T, "rotor-1: 92 psi", "rotor-3: 92 psi", "25:32", "rotor-3 ? rotor-1"),
    ("a compression in degrees", T, "806, 815]", "806 °C, 815]", "24:53", "806 °C | pressure"),
    ("a test's unit that is none", T, "unit: kPa, rotor-1", "unit: kPaa, rotor-1", "24:33", "kPaa ? kPa"),
    ("a cranking speed in bar", T, "rpm: 262", "rpm: 262 bar", "24:22", "262 bar | speed"),
    ("an unknown incident", L, "what: over_rev", "what: overrev", "5:44", "overrev ? over_rev"),
    ("a run that is called an incident", L, "what: dyno", "what: overheat", "1:45", "overheat | dyno"),
)

DOUBTS = (
    ("a comment glued to its text", T, "Two light scratches", "went with #2 jet", "14:24", "#2 jet | lost | quotes"),
    ("out of round without axes", F,
     "stations: [plug-point, b-side, c-side]", "stations: [plug]", "37:9",
     "out_of_round | depth-axis"),
    ("a new part beyond its limit", F, "limit: {max: 60.105}", "limit: {max: 60.050}", "25:16",
     "60.060 | beyond the limit"),
    ("a limit with no source", F, "        source: Limits sheet, line 12\n", "", "25:9",
     "rotor-bearing.inside_diameter | source"),
    ("an event of nothing", PLAN, ", hours: 1.6, starts: 6", "", "2:5",
     "Round 1 | counts as nothing"),
    ("serials unlike in case alone", B, "rotor-bearing-2: {part: RB-102}", "rotor-bearing-2: {part: rb-101}", "8:27",
     "rb-101 | RB-101 | case"),
    ("unknown initials", T, "by: RK", "by: RX", "5:5", "RX | people"),
    ("more chambers than a rotor has", T, "[812, 806, 815]", "[812, 806, 815, 809]", "24:47", "4 chambers | 3"),
    ("what is left of an unknown supply", T, "{supply: 100 psi, rotor-1", "{rotor-1", "25:24", "supply"),
    ("log lines out of date order", L, "date: 2026-04-11", "date: 2026-03-11", "4:10", "2026-03-11 | date order"),
    ("runs that overlap", L, "2026-03-02 13:00", "2026-03-02 10:00", "2:10", "2026-03-02 10:00 | 11:24"),
    ("a run without hours or minutes", L, "hours: 2.4, ", "", "1:3", "without hours"),
    ("an unknown service", L, "did: [oil]", "did: [oil, plgs]", "3:48", "plgs ? plugs"),
    ("an incident without what", L, ", what: over_rev", "", "5:3", "incident without what | over_rev"),
)
# fmt: on


def _shop(root: Path, files: Files) -> Folder:
    for path, content in files.items():
        file = root / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content.encode() if isinstance(content, str) else content)
    return Folder(root)


def _problems(root: Path, changes: Files | None = None) -> tuple[Problem, ...]:
    return read_checked(_shop(root, {**GOOD, **(changes or {})}), TODAY).problems


def _found(problems: tuple[Problem, ...], at: str, level: str, words: str) -> None:
    """`wrote ? meant`: the message names what was written and offers the nearest spelling."""
    wrote, _, meant = words.partition(" ? ")
    wanted = [*wrote.split(" | "), *([f"did you mean {meant}?"] if meant else [])]
    here = [problem for problem in problems if str(problem.source) == at and problem.level == level]
    assert any(all(word in problem.message for word in wanted) for problem in here), "\n".join(map(str, problems))


def test_a_good_shop_has_no_problems(tmp_path: Path) -> None:
    assert _problems(tmp_path) == ()


@pytest.mark.parametrize(("path", "old", "new", "at", "words"), [row[1:] for row in ERRORS], ids=[r[0] for r in ERRORS])
def test_an_error_is_found_where_it_stands(tmp_path: Path, path: str, old: str, new: str, at: str, words: str) -> None:
    assert GOOD[path].count(old) == 1
    _found(_problems(tmp_path, {path: GOOD[path].replace(old, new)}), f"{path}:{at}", "error", words)


@pytest.mark.parametrize(("path", "old", "new", "at", "words"), [row[1:] for row in DOUBTS], ids=[r[0] for r in DOUBTS])
def test_what_can_be_true_is_a_doubt_and_nothing_else(
    tmp_path: Path, path: str, old: str, new: str, at: str, words: str
) -> None:
    assert GOOD[path].count(old) == 1
    problems = _problems(tmp_path, {path: GOOD[path].replace(old, new)})
    _found(problems, f"{path}:{at}", "doubt", words)


def test_five_mistakes_in_one_file_are_reported_at_once(tmp_path: Path) -> None:
    sheet = """\
engine: K-07
date: 2026-10-12
reson: planned
positions:
  rotor-bearing-1:
    measured: {inside_diameter: [60.061, "60,062", 6O.060], width: 12}
    observed: {overlay: 7}
  rotor-9:
"""
    problems = _problems(tmp_path, {T: sheet})
    assert [str(problem.source).removeprefix(f"{T}:") for problem in problems] == [
        *("3:1", "6:42", "6:52", "6:61", "7:25", "8:3")
    ]
    assert {problem.level for problem in problems} == {"error"}


def test_line_ends_a_byte_order_mark_and_trailing_blanks_are_no_problem(tmp_path: Path) -> None:
    changed = {path: "\ufeff" + text.replace("\n", "  \r\n") for path, text in GOOD.items()}
    assert _problems(tmp_path, changed) == ()


def test_problems_come_sorted_and_each_once(tmp_path: Path) -> None:
    problems = _problems(tmp_path, {T: GOOD[T].replace("RB-101", "RB-102"), L: GOOD[L].replace("hours", "hrs")})
    assert list(problems) == sorted(set(problems))


def test_a_family_that_has_errors_makes_no_errors_in_its_sheets(tmp_path: Path) -> None:
    problems = _problems(
        tmp_path, {F: GOOD[F].replace("      width: {unit: mm, wears: down", "      width: {wears: down")}
    )
    assert {problem.source.path for problem in problems} == {F}


def test_a_sheet_that_cannot_be_read_is_not_missed_as_well(tmp_path: Path) -> None:
    problems = _problems(tmp_path, {B: GOOD[B] + "  - [\n", E: GOOD[E] + ":::\n -"})
    assert {problem.source.path for problem in problems} == {B, E}
