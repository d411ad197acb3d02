"""A log read line by line, each line once: bytes in, the same data as from the whole file out.

A log grows by a line at a time, so git holds as many versions of it as it has lines; parsed whole, each version anew,
they take minutes. A line that was met before is the same object in every version.
"""

import re
from typing import Final

from .yaml_text import MAX_BYTES, Plain, read_document

_LINE: Final = re.compile(r"^- ", re.MULTILINE)


class LogPieces:
    """Remembers the lines that it has read."""

    __slots__ = ("_known",)

    def __init__(self) -> None:
        self._known: dict[str, Plain] = {}

    def read(self, raw: bytes) -> list[Plain] | None:
        """The lines of a log; None where it must be read whole: it has an error, or is no plain list.

        No line can go on where the next `- ` begins in the first column but within quotes or brackets, and then
        neither piece is YAML by itself.
        """
        if len(raw) > MAX_BYTES:
            return None
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            return None
        starts = [match.start() for match in _LINE.finditer(text)]
        if not starts or not _says_nothing(text[: starts[0]]):
            return None
        found: list[Plain] = []
        for start, end in zip(starts, [*starts[1:], len(text)], strict=True):
            line = self._line(text[start:end])
            if line is None:
                return None
            found.append(line)
        return found

    def _line(self, piece: str) -> Plain:
        if piece not in self._known:
            document, problems = read_document("log.yml", piece.encode())
            whole = isinstance(document.data, list) and len(document.data) == 1
            broken = not whole or any(problem.level == "error" for problem in problems)
            self._known[piece] = None if broken or not isinstance(document.data, list) else document.data[0]
        return self._known[piece]


def _says_nothing(text: str) -> bool:
    """Whether comments and blank lines alone stand there."""
    if not text:
        return True
    document, problems = read_document("log.yml", text.encode())
    return document.data is None and not problems and text.endswith("\n") and "---" not in text
