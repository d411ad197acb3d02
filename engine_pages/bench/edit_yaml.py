"""Change single values of a record's text, and no other byte of it: comments, order, quotes and digits stay as typed.

In: a file's text and the steps that lead to a map, with values to write into it. Out: the new text. Only texts that
YAML reads plainly are written.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import yaml
from msgspec import Struct

Steps = Sequence[str | int]
_PLAIN: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._:/-]*[A-Za-z0-9]", re.ASCII)


class MapEdit(Struct, frozen=True):
    """Values for a map's keys: one that is written there is exchanged, one that is not is added behind the first."""

    steps: Steps
    values: Mapping[str, str]


class _Splice(Struct, frozen=True):
    """Text in the place of what stands from `start` to `end`, counted in characters."""

    start: int
    end: int
    text: str


def edited(text: str, edits: Iterable[MapEdit]) -> str:
    """The text with these edits. KeyError where no map stands at an edit's steps, ValueError for a value that wants
    quotes; yaml.MarkedYAMLError for what is no YAML, and for a tab between words, which other readers let pass.

    >>> edited("photos:\\n  - {file: A.JPG, view: front} # ours\\n", [MapEdit(("photos", 0), {"file": "b.jpg"})])
    'photos:\\n  - {file: b.jpg, view: front} # ours\\n'
    """
    root = yaml.compose(text, Loader=yaml.SafeLoader)  # the C parser counts bytes where this one counts characters
    splices = [splice for edit in edits for splice in _splices(text, _map_at(root, edit.steps), edit.values)]
    for one in sorted(splices, key=lambda splice: splice.start, reverse=True):
        text = text[: one.start] + one.text + text[one.end :]
    return text


def _map_at(node: yaml.Node | None, steps: Steps) -> yaml.MappingNode:
    for step in steps:
        if isinstance(node, yaml.MappingNode):
            node = next((value for key, value in node.value if key.value == step), None)
        elif isinstance(node, yaml.SequenceNode) and isinstance(step, int):
            node = node.value[step]
        else:
            node = None
    if not isinstance(node, yaml.MappingNode) or not node.value:
        raise KeyError(f"no map stands at {'/'.join(map(str, steps))}")
    return node


def _splices(text: str, node: yaml.MappingNode, values: Mapping[str, str]) -> Iterable[_Splice]:
    unfit = [value for value in values.values() if not _PLAIN.fullmatch(value) or ": " in value]
    if unfit:
        raise ValueError(f"{unfit[0]!r} cannot be written without quotes")
    written = {key.value: value for key, value in node.value}
    for key, value in values.items():
        if key in written:
            start, end = written[key].start_mark.index, written[key].end_mark.index
            yield _Splice(start, end, f"{_gap(text, start)}{value}")
    added = {key: value for key, value in values.items() if key not in written}
    if added:
        yield _added(text, node, added)


def _gap(text: str, at: int) -> str:
    """The blank that what stands directly behind a colon wants: there a key has no value yet."""
    return " " if text[at - 1] == ":" else ""


def _added(text: str, node: yaml.MappingNode, values: Mapping[str, str]) -> _Splice:
    first_key, first = node.value[0]
    if node.flow_style:
        last = node.value[-1][1].end_mark.index
        added = "".join(f", {key}: {value}" for key, value in values.items())
        return _Splice(last, last, f"{_gap(text, last)}{added}")
    ending = "\r\n" if "\r\n" in text else "\n"
    lines = [" " * first_key.start_mark.column + f"{key}: {value}" for key, value in values.items()]
    line_end = text.find("\n", first.end_mark.index)
    if line_end < 0:
        return _Splice(len(text), len(text), "".join(ending + line for line in lines))
    return _Splice(line_end + 1, line_end + 1, "".join(line + ending for line in lines))
