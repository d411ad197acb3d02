"""Words as YAML that reads back as these words: plain where that is so, else in quotes. In: text. Out: text."""

import re
from typing import Final

_WANTS_QUOTES: Final = frozenset(",:#[]{}\"'&*!|>%@`?")
_NOT_FIRST: Final = "-<=~"
# What ends a line or shows nothing: in a text file it is written by its number.
_WANTS_NUMBER: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_SHORT: Final = {"\n": "\\n", "\r": "\\r", "\t": "\\t"}  # YAML 1.2.2, 5.7


def plain_or_quoted(words: str) -> str:
    r"""A value of a flow line or behind a key, quoted where YAML would read it otherwise.

    >>> print(plain_or_quoted("R-1"), plain_or_quoted("12 #3"), plain_or_quoted("hot\r\x85"))
    R-1 "12 #3" "hot\r\x85"
    """
    plain = words.strip() == words and words and not set(words) & _WANTS_QUOTES and words[0] not in _NOT_FIRST
    if plain and not _WANTS_NUMBER.search(words):
        return words
    escaped = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{_WANTS_NUMBER.sub(_by_number, escaped)}"'


def _by_number(found: re.Match[str]) -> str:
    number = ord(found[0])
    return _SHORT.get(found[0]) or (f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}")
