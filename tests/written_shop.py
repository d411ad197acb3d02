"""A shop's files as the tests of records write them down."""

from collections.abc import Sequence


class Written(dict[str, bytes]):
    """A shop's files as they stand in a test."""

    label = "a test"

    def paths(self) -> Sequence[str]:
        return sorted(self)

    def read(self, path: str) -> bytes:
        return self[path]

    def size(self, path: str) -> int:
        return len(self[path])
