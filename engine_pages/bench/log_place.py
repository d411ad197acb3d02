"""Put a line into the text of a log, every byte that a person typed left as it is.

In: the file's bytes, the new line, the entry before which it goes. Out: the bytes with it, and its number as YAML
counts lines: U+0085, U+2028 and U+2029 end one too.
"""

import re
from typing import Final

import yaml

_MARK: Final = b"\xef\xbb\xbf"  # a byte-order mark stays first
_AFTER_A_LINE: Final = re.compile("(?<=[\n\x85\u2028\u2029])|(?<=\r)(?!\n)")  # YAML 1.1, 4.1.4
_REST_OF_LINE: Final = re.compile(r"\A[ \t]*(?:\r?\n)?")


class ListInBracketsError(Exception):
    """The log is written as one list in brackets, which has no lines of its own to stand between."""


def with_line(content: bytes, line: str, before: int | None) -> tuple[bytes, int]:
    """The content with a line in front of the entry that begins at a line's number, or at its end; and its number.

    The content holds a list, or nothing. Raises ListInBracketsError; UnicodeEncodeError where the line is no text.

    >>> with_line(b"# 2026\\r\\n[] # none yet\\r\\n", "- {date: 2026-02-01}", None)
    (b'# 2026\\r\\n# none yet\\r\\n- {date: 2026-02-01}\\r\\n', 3)
    """
    mark = _MARK if content.startswith(_MARK) else b""
    text, column = _list_in(content.removeprefix(mark).decode("utf-8"))
    lines = [one for one in _AFTER_A_LINE.split(text) if one]
    ending = "\r\n" if content.find(b"\r\n") >= 0 else "\n"
    if lines and not lines[-1].endswith(("\n", "\r")):
        lines[-1] += ending
    at = _dash(lines, column, before - 1) if before is not None else len(lines)
    lines.insert(at, f"{' ' * column}{line}{ending}")
    return mark + "".join(lines).encode("utf-8"), at + 1


def _list_in(text: str) -> tuple[str, int]:
    """The text without the brackets of an empty list, and the column in which the dashes of its list stand."""
    root = yaml.compose(text, Loader=yaml.CSafeLoader)
    if not isinstance(root, yaml.SequenceNode):
        return text if text.strip() else "", 0
    if not root.flow_style:
        return text, root.start_mark.column
    if root.value:
        raise ListInBracketsError
    left = text[: root.start_mark.index] + _REST_OF_LINE.sub("", text[root.end_mark.index :])
    return left if left.strip() else "", 0


def _dash(lines: list[str], column: int, at: int) -> int:
    """The line of an entry's dash, which may stand above the entry by itself."""
    return next(line for line in range(at, -1, -1) if lines[line][column : column + 1] == "-")
