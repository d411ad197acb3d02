"""A log read line by line says what the whole file says, or is read whole."""

import random

import pytest

from engine_pages.records.log_pieces import LogPieces
from engine_pages.records.yaml_text import Plain, read_document

LOG = """# the run log

- {date: 2026-03-02, kind: run, what: dyno, hours: 2.4}   # first
- date: 2026-03-14
  kind: run
  note: >
    Over the limit once,
    - third gear.
# between
- {date: 2026-03-20, kind: service,
   did: [oil, filter]}
"""
ODD = (
    "- ", "\n- ", "\n", "\r\n", " ", "  ", "\t", ": ", "{", "}", "[", "]", ",", '"', "'", "#", " # ", "|\n", ">\n",
    "---\n", "...", "&a ", "*a", "!b ", "<<: ", "? ", "\ufeff", "<<<<<<< HEAD\n", "%YAML 1.1\n", "-", "\\", "\x07",
    "date", "\u2028", "\x85",
)  # fmt: skip


def whole(text: str) -> Plain | None:
    document, problems = read_document("log.yml", text.encode())
    return None if any(problem.level == "error" for problem in problems) else document.data


@pytest.mark.parametrize(
    "text", [LOG, LOG.replace("\n", "\r\n"), "\ufeff" + LOG, LOG.removeprefix("# the run log\n\n")]
)
def test_a_log_says_line_by_line_what_it_says_whole(text: str) -> None:
    found = LogPieces().read(text.encode())
    assert found is not None
    assert len(found) == 3
    assert found == whole(text)


def test_a_line_met_before_is_the_same_object() -> None:
    pieces = LogPieces()
    one, other = pieces.read(LOG.encode()), pieces.read((LOG + "- {date: 2026-04-01, kind: run}\n").encode())
    assert one is not None
    assert other is not None
    assert [a is b for a, b in zip(one, other, strict=False)] == [True, True, True]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "a: 1\n",
        "date: 1\n- a: 1\n",
        "---\n- a: 1\n",
        LOG + "- {date: \n",
        '- "a\n- b"\n',
        "- a: &x 1\n- b: *x\n",
        "- \n",
    ],
)
def test_what_is_no_plain_list_is_read_whole(text: str) -> None:
    assert LogPieces().read(text.encode()) is None


def test_whatever_stands_in_a_log_its_lines_never_say_otherwise_than_the_whole() -> None:
    """5,000 logs with odd signs put in at random: each is read alike, or given up."""
    rng = random.Random(20260314)
    given_up = 0
    for _ in range(5_000):
        text = LOG
        for _ in range(rng.randint(1, 3)):
            at = rng.randrange(len(text))
            text = text[:at] + rng.choice(ODD) + text[at + rng.choice((0, 0, 1, 5)) :]
        found = LogPieces().read(text.encode())
        given_up += found is None
        assert found is None or found == whole(text), text
    assert 500 < given_up < 4_500
