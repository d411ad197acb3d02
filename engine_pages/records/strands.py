"""What the walk over the commits keeps of a record: what each commit holds of it, its versions, its file's fate."""

from typing import Final, Literal, NamedTuple

from msgspec import Struct, field

from .amendments import Field
from .commits import CommitFacts

PHOTO_EXCHANGED: Final = "photo exchanged"
What = Literal["moved", "removed", "restored", "unreadable", "left out", "photo exchanged"]


class Held(NamedTuple):
    """What a commit holds at a path: a blob, empty where the record is gone; and its last readable version, if any."""

    blob: str
    record: int
    readable: str


State = dict[str, Held]
Number = tuple[str, str]  # an engine's folder and a sheet's number: another engine may bear the same


class Turn(Struct, frozen=True):
    """What befell a record's file as a whole, or a photo beside it.

    path: of a photo that was exchanged the photo's own. was: the path before, of a move. why: what made it unreadable.
    field: of a photo, where the record names it.
    """

    what: What
    commit: CommitFacts
    path: str
    was: str = ""
    why: str = ""
    field: Field = ()

    @property
    def is_photo(self) -> bool:
        """Whether another picture came under a photo's name."""
        return self.what == PHOTO_EXCHANGED

    @property
    def withheld(self) -> bool:
        """Whether a reader is not given the photo: all that is left is that one was exchanged, and when."""
        return self.is_photo and not self.path


class Step(Struct):
    """A record's content before, as each parent of the commit held it, and after; by blob ids.

    `lost`: of a field whose new text did not come through a merge, the first such merge.
    """

    commit: CommitFacts
    path: str
    olds: tuple[str, ...]
    new: str
    lost: dict[Field, CommitFacts] = field(default_factory=dict)


class Strand(Struct):
    """One record through all its commits, oldest first. `number`: that its sheet bears, as last written.
    `blobs`: every version that can be read; `first`: the one that it began with, empty where that cannot be.

    `beside`: of a second file with one sheet's number, what its first version says otherwise than that sheet.
    `closed`: of a field, the ways from a merge to a parent by which its text did not come, with the merge.
    """

    recorded: CommitFacts
    last: CommitFacts
    paths: dict[str, None]
    number: Number | None = None
    blobs: dict[str, None] = field(default_factory=dict)
    first: str = ""
    steps: list[Step] = field(default_factory=list)
    turns: list[Turn] = field(default_factory=list)
    beside: Step | None = None
    closed: dict[Field, dict[tuple[str, str], CommitFacts]] = field(default_factory=dict)
