"""YAML as a person typed it: bytes in, plain text values with their places out, and every problem found.

Nothing is turned into a number, a date or a truth value here: a scalar stays the text that was written (`00123`,
`no`, `12:30`), and a key with nothing after it is None, "not looked at". Anchors, aliases, tags, merge keys and
repeated keys are refused, because each of them lets a file say something other than what a reader sees.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml
from yaml._yaml import CParser

from .source import Problem, Source, doubt, error

MAX_BYTES = 1 << 20  # a record typed by hand stays far below 1 MiB
MAX_DEPTH = 30  # levels of maps and lists

Plain = dict[str, Any] | list[Any] | str | None
# Where a value stands: its line and column in one number, and of a list or a map the spots inside it, of a map each
# with that of its key. None: a key with nothing after it.
Spot = int | tuple[int, "list[Spot] | dict[str, tuple[int, Spot]]"] | None
_COLUMN_BITS = 21  # a column is below MAX_BYTES, 2 to the power of 20
_COLUMN_MASK = (1 << _COLUMN_BITS) - 1
_FIRST = 1 << _COLUMN_BITS | 1

# Only where this is found can there be an anchor, an alias or a tag: each begins a node, behind a blank or a sign.
_SUSPECT = re.compile(r"(?:^|[\s\[{,:])(?:[&*](?=\S)|!)")
_CONFLICT = re.compile(r"^(<{7}|\|{7}|={7}|>{7})(?=[ \r]|$)", re.MULTILINE)
_TAB_INDENT = re.compile(r"^ *\t[ \t]*(?=\S)", re.MULTILINE)
# All but what YAML 1.1 calls printable: nothing of it belongs into a text file; nor do signs that turn the direction of
# what follows (U+202A to U+202E, U+2066 to U+2069), by which figures would be read the wrong way round.
_CONTROL = re.compile(
    r"[^\t\n\r\x20-\x7e\x85\xa0-\u2029\u202f-\u2065\u206a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)
_GLUED_COMMENT = re.compile(r"[ \t]+#(?=[^\s#!-])")


@dataclass(frozen=True, slots=True)
class Document:
    """One record file: `data` holds its plain values, `place` finds where a value is written.

    Places are kept as whole numbers, not as the parser's nodes: a shop of thousands of files is held at once.
    """

    path: str
    data: Plain
    _spot: Spot = field(default=None, repr=False, compare=False)

    def place(self, *steps: str | int) -> Source:
        """Where the value at `steps` (keys and indexes) is written; the deepest place reached if it is absent."""
        spot, at = self._spot, _at(self._spot) or _FIRST
        for step in steps:
            found = _child(spot, step)
            if found is None:
                break
            key, spot = found
            at = _at(spot) or key
        return self._source(at)

    def key_place(self, *steps: str | int) -> Source:
        """Where the last key of `steps` is written."""
        found: tuple[int, Spot] | None = (0, self._spot)
        for step in steps:
            found = _child(found[1], step) if found else None
        return self._source(found[0]) if found and found[0] else self.place(*steps)

    def has(self, *steps: str | int) -> bool:
        """Whether something is written at `steps`."""
        spot = self._spot
        for step in steps:
            found = _child(spot, step)
            if found is None:
                return False
            spot = found[1]
        return spot is not None

    def _source(self, at: int) -> Source:
        return Source(self.path, at >> _COLUMN_BITS, at & _COLUMN_MASK)


def _at(spot: Spot) -> int:
    """Line and column of a spot in one number, or 0 where nothing is written."""
    if spot is None:
        return 0
    return spot if isinstance(spot, int) else spot[0]


def _child(spot: Spot, step: str | int) -> tuple[int, Spot] | None:
    """Where the key of a step stands (of a list's item, the item), and the spot of its value."""
    inner = spot[1] if isinstance(spot, tuple) else None
    if isinstance(inner, dict) and isinstance(step, str):
        return inner.get(step)
    if isinstance(inner, list) and isinstance(step, int) and 0 <= step < len(inner):
        return _at(inner[step]), inner[step]
    return None


def read_document(path: str, raw: bytes) -> tuple[Document, list[Problem]]:
    """Read one file's bytes. Always gives a document; where there are errors its `data` may be None.

    Errors: over 1 MiB, not UTF-8, merge-conflict markers, tabs as indentation, YAML syntax, anchors, aliases, tags,
    merge and repeated keys, keys that are not text, more than 30 levels.
    """
    empty = Document(path, None)
    if len(raw) > MAX_BYTES:
        return empty, [too_large(path, len(raw))]
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as bad:
        before = bad.object[: bad.start].decode("utf-8")  # `object` is what stands behind a byte-order mark
        place = Source(path, before.count("\n") + 1, len(before) - before.rfind("\n"))
        return empty, [error(place, f"byte 0x{bad.object[bad.start]:02x} is not UTF-8; save the file as UTF-8")]
    problems = list(_conflict_markers(path, text))
    return (empty, problems) if problems else _compose(path, text)


def too_large(path: str, size: int) -> Problem:
    """The problem of a file that is not read for its size in bytes."""
    return error(Source(path, 1, 1), f"the file has {size} bytes; at most {MAX_BYTES} are read")


def _conflict_markers(path: str, text: str) -> Iterator[Problem]:
    for match in _CONFLICT.finditer(text):
        line = text.count("\n", 0, match.start()) + 1
        message = f"merge-conflict marker {match[1]}: settle the conflict and take the marker out"
        yield error(Source(path, line, 1), message)


def _compose(path: str, text: str) -> tuple[Document, list[Problem]]:
    tabs = list(_tab_indents(text)) if "\t" in text else []
    problems: list[Problem] = []
    root = None
    try:
        if _SUSPECT.search(text):
            problems.extend(_refused_events(path, text))
        if not problems:
            root = _root_of(text)
    except yaml.YAMLError as bad:
        # a tab at the head of a line is named for what it is: what YAML says of it misleads
        found = [*_control_characters(path, text), *_tab_problems(path, tabs)]
        problems.extend(found or [_syntax_problem(path, bad)])
    if problems or root is None:
        return Document(path, None), problems
    data, spot = _plain(root, path, problems, 1)
    if tabs:
        texts = [node for node in _scalars(root) if node.end_mark.line > node.start_mark.line]
        inside = {line for node in texts for line in range(node.start_mark.line + 2, node.end_mark.line + 2)}
        problems.extend(_tab_problems(path, [tab for tab in tabs if tab[0] not in inside]))
    if _GLUED_COMMENT.search(text):
        problems.extend(_glued_comments(path, text, root))
    return Document(path, data, spot), problems


class _Composer(CParser):
    """The C parser making nodes, without the resolving of tags: a scalar here is text, whatever it looks like."""

    def resolve(self, _kind: type[yaml.Node], _value: str | None, _implicit: tuple[bool, bool] | bool) -> str:
        return ""

    def descend_resolver(self, _node: yaml.Node | None, _index: yaml.Node | int | None) -> None:
        """Asked for by the parser on its way down; nothing depends on the way."""

    def ascend_resolver(self) -> None:
        """Asked for by the parser on its way up."""


def _root_of(text: str) -> yaml.Node | None:
    root: yaml.Node | None = _Composer(text).get_single_node()
    return root


def _tab_indents(text: str) -> Iterator[tuple[int, int]]:
    """Line and column of each tab that stands before the first sign of its line."""
    for match in _TAB_INDENT.finditer(text):
        yield text.count("\n", 0, match.start()) + 1, match[0].index("\t") + 1


def _tab_problems(path: str, tabs: list[tuple[int, int]]) -> list[Problem]:
    return [error(Source(path, line, column), "a tab as indentation; use blanks") for line, column in tabs]


def _refused_events(path: str, text: str) -> Iterator[Problem]:
    for event in yaml.parse(text, Loader=yaml.CBaseLoader):
        if not isinstance(event, yaml.NodeEvent):
            continue
        mark = event.start_mark
        place = Source(path, mark.line + 1, mark.column + 1) if mark else Source(path, 1, 1)
        if isinstance(event, yaml.AliasEvent):
            yield error(place, f"alias *{event.anchor}: write the text again; to begin with a star, put it in quotes")
            continue
        if event.anchor is not None:
            yield error(place, f"anchor &{event.anchor}: anchors are not used; to begin with &, put it in quotes")
        tag = getattr(event, "tag", None)
        if tag is not None:
            yield error(place, f"tag {tag}: tags are not used; to begin with an exclamation mark, put it in quotes")


# What the parser says, and what a builder can do about it.
_HINTS = (
    ("could not find expected ':'", "text that holds a colon or a # wants quotes"),
    ("mapping values are not allowed", "text that holds a colon wants quotes"),
    ("cannot start any token", "text that begins with this sign wants quotes"),
    ("expected ',' or", "a flow line wants its closing bracket, and quotes round text with , : # or brackets"),
    ("found unexpected ':'", "in a flow line a blank follows the colon, and text with a colon wants quotes"),
    ("another document", "one file holds one record"),
    ("<document start>", "a blank follows the colon of a key"),
    ("nesting depth", f"a record has {MAX_DEPTH} levels of maps and lists at most"),
    (
        "did not find expected key",
        "keys of one map begin in one column; text that goes on behind a quote or bracket wants quotes",
    ),
)


def _syntax_problem(path: str, bad: yaml.YAMLError) -> Problem:
    mark = getattr(bad, "problem_mark", None) or getattr(bad, "context_mark", None)
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    problem = getattr(bad, "problem", None) or str(bad)
    context = getattr(bad, "context", None)
    hint = next((f"; {says}" for words, says in _HINTS if words in problem), "")
    return error(Source(path, line, column), f"not YAML: {problem}{' ' + context if context else ''}{hint}")


def _control_characters(path: str, text: str) -> Iterator[Problem]:
    for match in _CONTROL.finditer(text):
        line = text.count("\n", 0, match.start()) + 1
        place = Source(path, line, match.start() - text.rfind("\n", 0, match.start()))
        yield error(place, f"a control character, U+{ord(match[0]):04X}; take it out")


def _plain(node: yaml.Node, path: str, problems: list[Problem], depth: int) -> tuple[Plain, Spot]:
    """The node as dict, list or text, with the places in it. A key seen before is an error; the first value stands."""
    at = _packed(node)
    if isinstance(node, yaml.ScalarNode):
        value: str = node.value
        return (value, at) if value or node.style else (None, None)
    if depth > MAX_DEPTH:
        problems.append(error(_source(path, node), f"more than {MAX_DEPTH} levels of maps and lists"))
        return None, at
    if isinstance(node, yaml.SequenceNode):
        pairs = [_plain(item, path, problems, depth + 1) for item in node.value]
        spots_in: list[Spot] = [spot or _packed(item) for (_, spot), item in zip(pairs, node.value, strict=True)]
        return [plain for plain, _ in pairs], (at, spots_in)
    assert isinstance(node, yaml.MappingNode)
    out: dict[str, Any] = {}
    spots: dict[str, tuple[int, Spot]] = {}
    for key, value_node in node.value:
        if not isinstance(key, yaml.ScalarNode):
            problems.append(error(_source(path, key), "a list or a map stands where a key is wanted"))
            continue
        name: str = key.value
        plain, spot = _plain(value_node, path, problems, depth + 1)
        if name in out or name == "<<" or (plain is None and node.flow_style and _is_bare(key, value_node)):
            problems.append(error(_source(path, key), _wrong_key(node, key, repeated=name in out)))
        else:
            out[name], spots[name] = plain, (_packed(key), spot)
    return out, (at, spots)


def _packed(node: yaml.Node) -> int:
    mark = node.start_mark
    packed: int = (mark.line + 1) << _COLUMN_BITS | (mark.column + 1)
    return packed


def _is_bare(key: yaml.Node, value: yaml.Node) -> bool:
    """Whether a key stands in a flow line with no colon: what an unquoted comma leaves behind."""
    return bool(value.start_mark.index == key.end_mark.index)


def _wrong_key(node: yaml.MappingNode, key: yaml.ScalarNode, *, repeated: bool) -> str:
    if repeated:
        first = next(other for other, _ in node.value if other.value == key.value)
        return f"{key.value} stands here a second time; the first is on line {first.start_mark.line + 1}"
    if key.value == "<<":
        return "merge key <<: write the lines out"
    return (
        f"{key.value!r} is a key with nothing after it: text that holds a comma wants quotes; a blank follows a colon"
    )


def _glued_comments(path: str, text: str, root: yaml.Node) -> Iterator[Problem]:
    """Plain text followed by a blank and `#word`: YAML drops the rest of the line without a word."""
    lines = text.splitlines()
    for node in _scalars(root):
        end = node.end_mark
        if node.style or end.line >= len(lines):
            continue
        rest = lines[end.line][end.column :]
        match = _GLUED_COMMENT.match(rest)
        if match:
            place = Source(path, end.line + 1, end.column + match.end())
            message = (
                f"{rest.strip()} is read as a comment and lost; put the whole text in quotes, or write a blank after #"
            )
            yield doubt(place, message)


def _scalars(root: yaml.Node) -> Iterator[yaml.ScalarNode]:
    waiting = [root]
    while waiting:
        node = waiting.pop()
        if isinstance(node, yaml.ScalarNode):
            yield node
        elif isinstance(node, yaml.SequenceNode):
            waiting.extend(reversed(node.value))
        elif isinstance(node, yaml.MappingNode):
            waiting.extend(part for pair in reversed(node.value) for part in reversed(pair))


def _source(path: str, node: yaml.Node) -> Source:
    return Source(path, node.start_mark.line + 1, node.start_mark.column + 1)
