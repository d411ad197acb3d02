"""The reader of records: what was typed comes back as it was typed, and nothing that is typed makes it fall over."""

from datetime import date

import pytest
import yaml
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from written_shop import Written

from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked
from engine_pages.records.source import Problem
from engine_pages.records.yaml_text import MAX_BYTES, Document, read_document

TODAY = date(2026, 11, 5)
SHEET = "engines/K-07/teardowns/2026-10-12/teardown.yml"
SHOP = {
    "shop.yml": "people: {RK: R. Kestrel}\ninstruments: {bore-50-75: {resolution: 0.001 mm}}\n",
    "shares.yml": "shares:\n  - {engine: K-07, edition: owner, token: "
    "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa, made: 2026-11-02, until: 2027-12-31}\n",
    "families/twin-rotor.yml": """\
family: twin-rotor
architecture: rotary
exposure: hours
positions: {rotor-bearing-1: rotor-bearing, apex-seals-1: {kind: apex-seal, names: [a1, a2]}, engine: whole}
kinds:
  rotor-bearing:
    material: steel
    dimensions:
      inside_diameter: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.105}, source: Line 12}
    observe: [overlay]
    service: {replace: {hours: 60}, after: {over_rev: inspect}}
  apex-seal:
    dimensions:
      height: {unit: mm, stations: [top, end], loss: {difference: [top, end], limit: {max: 0.1}, source: Line 3}}
  whole: {whole: yes}
services: {oil: {hours: 5}}
fits: {clearance-1: {outer: rotor-bearing-1.inside_diameter, inner: apex-seals-1/a1.height@top}}
tests: {compression: {unit: kPa, at: 250 rpm, limit: {min: 680}, curve: [[200, 0.93], [250, 1.0]], source: Line 60}}
grades: {overlay: {0: run in only, 4: gone}}
""",
    "parts/RB-101.yml": "serial: RB-101\nkind: rotor-bearing\nprior: {hours: 12}\nsize: -0.25 mm\n",
    "engines/K-07/engine.yml": "engine: K-07\nfamily: twin-rotor\nowners: [{name: P. Larch, from: 2026-01-10}]\n",
    "engines/K-07/plan.yml": "events: [{date: 2027-04-18, hours: 1.6}]\nkeep: 0.9\n",
    "engines/K-07/review.yml": "answers: [{point: no-gauge, by: RK}]\n",
    "engines/K-07/log.yml": """\
- {date: 2026-03-02 09:00, kind: run, what: dyno, hours: 2.4, starts: 3, counter: 2.4 h}
- {date: 2026-03-20, kind: service, did: [oil], fluids: {oil: ester}}
- {date: 2026-05-02, kind: incident, what: over_rev, peak_rpm: 10400}
""",
    "engines/K-07/builds/2026-02-20.yml": """\
engine: K-07
date: 2026-02-20
rest: as before
positions: {rotor-bearing-1: {part: RB-101, origin: new}, apex-seals-1: {part: {a1: AS-1, a2: AS-2}}}
""",
    SHEET: """\
engine: K-07
date: 2026-10-12
by: RK
instruments: {inside_diameter: bore-50-75}
positions:
  rotor-bearing-1:
    measured: {inside_diameter: {value: [60.061, 60.062], instrument: bore-50-75, temperature: 24 °C}}
    observed: {overlay: 1}
    photos: [{file: loaded.png}]
    decision: reuse
  apex-seals-1: {measured: {height: {a1: {top: 7.97, end: 7.96}}}}
fits: {clearance-1: 0.05..0.08 mm}
work: [{part: RB-101, did: lapped, dimensions: [inside_diameter], size: 0.01 mm}]
tests: {compression: {rpm: 262, rotor-bearing-1: [812, 806]}}
fluids: {oil: ester}
""",
}
PATHS = sorted(SHOP)
fuzz = settings(max_examples=120, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


def _check(path: str, raw: bytes) -> Checked:
    """The shop with one file as given. It must not raise, and every problem must have a place in some file."""
    files = Written({name: text.encode() for name, text in SHOP.items()})
    files[path] = raw
    checked = read_checked(files, TODAY)
    for problem in checked.problems:
        lines = files.get(problem.source.path, b"").decode("utf-8", "replace").splitlines()
        assert 1 <= problem.source.line <= len(lines) + 1
        assert problem.source.column >= 1
        assert "\n" not in problem.source.path
        assert problem.message
    return checked


def _read(text: str) -> tuple[Document, list[Problem]]:
    return read_document("x.yml", text.encode())


# ---- nothing makes it fall over ----


def test_the_shop_that_is_broken_below_has_one_problem_before() -> None:
    checked = _check("shop.yml", SHOP["shop.yml"].encode())
    assert [problem.message for problem in checked.problems] == [
        "there is no photo 'loaded.png' in engines/K-07/teardowns/2026-10-12; "
        "if it is on the camera: engine-pages file engines/K-07/teardowns/2026-10-12/teardown.yml CAMERA-FOLDER"
    ]


@fuzz
@given(path=st.sampled_from(PATHS), raw=st.binary(max_size=200))
@example(path=SHEET, raw=b"")
@example(path=SHEET, raw=b"\xff\xfee\x00n\x00")
@example(path=SHEET, raw=b"\x00")
@example(path=SHEET, raw=b"[" * 100_000)
@example(path=SHEET, raw=b"a: " + b"{b: " * 900)
@example(path=SHEET, raw=b"- " * 3000)
@example(path=SHEET, raw=b"? " * 1500)
def test_any_bytes_are_read_or_named(path: str, raw: bytes) -> None:
    _check(path, raw)


@fuzz
@given(path=st.sampled_from(PATHS), text=st.text(max_size=200))
def test_any_text_is_read_or_named(path: str, text: str) -> None:
    _check(path, text.encode("utf-8", "surrogatepass"))


SIGNS = st.sampled_from(
    [*"\n \t:,#-[]{}\"'&*!%@`|>?~0.5", "\r\n", "null", "[]", "{}", "part: ", "..", "°", " #2", "\x85"]
)


@st.composite
def mutated(draw: st.DrawFn) -> tuple[str, bytes]:
    """A good record with a few signs put in, taken out or doubled."""
    path = draw(st.sampled_from(PATHS))
    text = SHOP[path]
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        length = draw(st.integers(0, 12))
        middle = draw(st.one_of(SIGNS, st.just(""), st.just(text[at : at + length] * 2)))
        text = text[:at] + middle + text[at + length :]
    return path, text.encode()


@settings(fuzz, max_examples=400)
@given(mutated())
def test_any_mutated_record_is_read_or_named(record: tuple[str, bytes]) -> None:
    _check(*record)


NAMES = st.sampled_from(["a1", "top", "value", "by", "unit", "kind", "max", "part", "difference"])
TEXTS = st.sampled_from(
    ["~", "1", "60.05 mm", "0.05..0.08 mm", "a1", "'x y'", "''", "2026-02-30", "rotor-bearing", "yes", "not measurable"]
)


def _flow_list(items: list[str]) -> str:
    return f"[{', '.join(items)}]"


def _flow_map(items: dict[str, str]) -> str:
    return f"{{{', '.join(f'{name}: {value}' for name, value in items.items())}}}"


YAML_VALUE: st.SearchStrategy[str] = st.recursive(
    TEXTS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(_flow_list), st.dictionaries(NAMES, inner, max_size=3).map(_flow_map)
    ),
    max_leaves=6,
)
VALUES = [(path, index) for path in PATHS for index, row in enumerate(SHOP[path].splitlines()) if ": " in row]


@settings(fuzz, max_examples=400)
@given(where=st.sampled_from(VALUES), value=YAML_VALUE)
def test_any_value_in_any_place_is_read_or_named(where: tuple[str, int], value: str) -> None:
    path, index = where
    rows = SHOP[path].splitlines()
    rows[index] = f"{rows[index].split(': ', 1)[0]}: {value}"
    _check(path, "\n".join(rows).encode())


# ---- what was typed comes back ----

TYPED = (
    *("00123", "no", "on", "yes", "12:30", "0.0610", "~", "null", "Null", "1_000", "+5", "0x1F", "0o17", "1e3", ".5"),
    *("2026-10-12", "NaN", "=", "-0.25 mm", "4 o'clock", "60.061  mm", "<0.05", "5 %"),
)


@pytest.mark.parametrize("typed", TYPED)
def test_plain_text_comes_back_unchanged(typed: str) -> None:
    document, problems = _read(f"serial: {typed}\nlist: [{typed}]\n{typed}: x\n")
    assert problems == []
    assert document.data == {"serial": typed, "list": [typed], typed: "x"}


@fuzz
@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"], exclude_characters="\ufeff")))
def test_quoted_text_comes_back_unchanged(text: str) -> None:
    if any(sign > "\ufffd" and ord(sign) < 0x10000 for sign in text):
        return  # two signs that are no characters, and that YAML does not take
    quoted = "'" + text.replace("'", "''") + "'"
    document, problems = _read(f"note: {quoted}\n")
    assert problems == []
    assert document.data == {"note": text}


def test_a_key_with_nothing_after_it_is_nothing_and_quotes_are_empty_text() -> None:
    assert _read("a:\nb: ''\nc: ~\n")[0].data == {"a": None, "b": "", "c": "~"}


def test_places_count_signs_not_bytes_from_1() -> None:
    document, _ = _read("# µ\nnote: «µm» 60\npositions:\n  rotor-1: {µ: [1, 22]}\n  rotor-2:\n")
    assert str(document.place("note")) == "x.yml:2:7"
    assert str(document.place("positions", "rotor-1", "µ", 1)) == "x.yml:4:20"
    assert str(document.key_place("positions", "rotor-1", "µ")) == "x.yml:4:13"
    assert str(document.place("positions", "rotor-2")) == "x.yml:5:3"
    assert str(document.place("positions", "rotor-1", "absent")) == "x.yml:4:12"


def test_a_blank_item_of_a_list_stands_where_it_is_blank() -> None:
    document, _ = _read("a:\n  - \n  - b\n  -\n")
    assert document.data == {"a": [None, "b", None]}
    assert [str(document.place("a", index)) for index in range(3)] == ["x.yml:2:4", "x.yml:3:5", "x.yml:4:4"]


# ---- what is refused ----


def _says(text: str | bytes, at: str, word: str) -> None:
    raw = text.encode() if isinstance(text, str) else text
    _, problems = read_document("x.yml", raw)
    assert [str(problem.source) for problem in problems if word in problem.message] == [f"x.yml:{at}"], problems


@pytest.mark.parametrize(
    ("text", "at", "word"),
    [
        ("a: &x 1\n", "1:4", "anchor &x"),
        ("a: 1\nb: *x\n", "2:4", "alias *x"),
        ("a: !late 1\n", "1:4", "tag !late"),
        ("a: !!int 1\n", "1:4", "tag"),
        ("a: ! 1\n", "1:4", "tag !"),
        ("a: {b: 1}\n<<: {c: 2}\n", "2:1", "merge key"),
        ("a: 1\nb: 2\na: 3\n", "3:1", "line 1"),
        ("a: {b: 1, b: 2}\n", "1:11", "b stands here a second time"),
        ("[a, b]: 1\n", "1:1", "where a key is wanted"),
        ("a:\n\tb: 1\n", "2:1", "tab"),
        ("a: {b: 1,\n  \tc: 2}\n", "2:3", "tab"),
        ("<<<<<<< ours\r\na: 1\r\n", "1:1", "merge-conflict"),
        ("a: 1\n=======\n", "2:1", "merge-conflict"),
        ("a: 1\n||||||| base\n", "2:1", "merge-conflict"),
        ("a: 1\n>>>>>>> theirs\n", "2:1", "merge-conflict"),
        ("a: b\0c\n", "1:5", "U+0000"),
        ("a: 1\nb: \x1b[0m\n", "2:4", "U+001B"),
        ("a: 1\n---\nb: 2\n", "2:1", "one file holds one record"),
        ("a: {b: x, c d}\n", "1:11", "comma"),
        ("[" * 31 + "]" * 31, "1:31", "30 levels"),
        ("[" * 5000, "1:1001", "30 levels"),
        (b"a: 1\nb: \xe9\n", "2:4", "UTF-8"),
        ("é: ".encode() + b"\xff\n", "1:4", "UTF-8"),
        (b"\xef\xbb\xbfa: \xff\n", "1:4", "UTF-8"),
        ("a: 1\n".encode("utf-16"), "1:1", "UTF-8"),
        (b"#" * (MAX_BYTES + 1), "1:1", str(MAX_BYTES)),
    ],
)  # fmt: skip
def test_what_says_other_than_a_reader_sees_is_refused(text: str | bytes, at: str, word: str) -> None:
    _says(text, at, word)


@fuzz
@given(st.lists(st.sampled_from([*"&*!x {}[],:-?'\n\"#|", ": ", "- ", "\n  "]), max_size=14).map("".join))
def test_no_anchor_alias_or_tag_slips_through(text: str) -> None:
    try:
        events = list(yaml.parse(f"a: {text}", Loader=yaml.CBaseLoader))
    except yaml.YAMLError:
        return  # no YAML at all
    hidden = [event for event in events if getattr(event, "anchor", None) or getattr(event, "tag", None)]
    _, problems = _read(f"a: {text}")
    assert bool(hidden) == any(problem.message.startswith(("anchor", "alias", "tag")) for problem in problems)


def test_all_anchors_aliases_and_tags_are_named_and_what_stops_the_reading() -> None:
    _, problems = _read("a: &x 1\nb: *x\nc: !y 2\nd: [\n")
    assert [problem.source.line for problem in problems] == [1, 2, 3, 5]


def test_thirty_levels_and_a_mebibyte_are_read() -> None:
    assert _read("[" * 30 + "]" * 30)[1] == []
    assert read_document("x.yml", b"#" * MAX_BYTES)[1] == []


def test_tabs_inside_text_are_text() -> None:
    document, problems = _read("a: |\n  one\n  \ttwo\nb: 'x\n\ty'\nc:\t1\n")
    assert problems == []
    assert document.data == {"a": "one\n\ttwo\n", "b": "x y", "c": "1"}


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("finding: went with #2 jet\n", "1:20"),
        ("finding: #2 jet\n", "1:10"),
        ("a: {b: x #2\n }\n", "1:10"),
        ("a:\n  - one #two\n", "2:9"),
    ],
)
def test_a_comment_glued_to_its_text_is_a_doubt(text: str, at: str) -> None:
    _, problems = _read(text)
    assert [(str(problem.source), problem.level) for problem in problems] == [(f"x.yml:{at}", "doubt")]


@pytest.mark.parametrize("text", ["a: x # spoken\n", "a: 'x #2'\n", "# a\na: x#2\n", "a: x\n#2 is a comment line\n"])
def test_a_comment_with_a_blank_and_a_quoted_one_are_no_problem(text: str) -> None:
    assert _read(text)[1] == []
