"""What a part looks like, in words and numbers: grades by mark, and how much of each mark a grade stands for.

In: grades as a sheet names them. Out: a `Look`, from which the drawing takes shares of an area and numbers of lines,
specks and pits. The steps are those of the demo shop's own grading sheet, so that a picture can be held against the
words beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

# What the demo shop's grading sheet counts at grades 0…4, and what is drawn for it.
WORN_THROUGH = (0.0, 0.0, 0.07, 0.28, 0.64)  # share of the area: under 10 %, 10 to 50 %, over half
LINES = (0, 3, 7, 12, 22)  # score marks: up to 3, over 3, then felt with a nail
FELT = (0.0, 0.38, 0.48, 1.0, 1.3)  # how deep they look
SPECKS = (0, 4, 14, 34, 60)  # specks and pits: up to 5, 6 to 20, over 20
STAINED = (0.0, 0.10, 0.20, 0.34, 0.55)  # rust stain; the pits within cover about a third of it
HEATED = (0.0, 0.22, 0.42, 0.62, 0.95)  # straw and beyond
COVERED = (0.0, 0.30, 0.62, 0.78, 0.92)  # deposit on what the gas reaches
HONED_OFF = (0.0, 0.07, 0.20, 0.45, 0.72)  # hone pattern gone: under 10 %, to 30 %, to 60 %, over 60 %

# What a builder may call a thing, and the mark it is drawn as.
SAME_MARK = {
    "heat": "discolour",
    "bluing": "discolour",
    "discoloration": "discolour",
    "discolouration": "discolour",
    "carbon": "deposit",
    "deposits": "deposit",
    "varnish": "deposit",
    "lacquer": "deposit",
    "sludge": "deposit",
    "chips": "chipping",
    "chip": "chipping",
    "wear": "polish",
    "polishing": "polish",
    "glaze": "polish",
    "step": "wear_step",
    "side_contact": "contact",
    "contact_marks": "contact",
    "interference": "contact",
    "scuff": "scuffing",
    "wiping": "scuffing",
    "pits": "pitting",
    "erosion": "pitting",
    "rust": "corrosion",
    "fatigue": "flaking",
    "peeling": "flaking",
    "filter_metal": "flecks",
    "debris": "flecks",
    "metal": "flecks",
    "particles": "flecks",
    "seat_wear": "wear_step",
    "recession": "wear_step",
}
KNOWN = frozenset(SAME_MARK.values()) | {
    "overlay",
    "scoring",
    "embedment",
    "chatter",
    "crack",
    "tooth_wear",
    "scratches",
}


class Look(Struct, frozen=True):
    """What a part looks like: its view, its grades by mark, and the seed of its pattern.

    A set's member may have a grade of its own under `mark/2` (the second from the top); `mark %` is a share of the
    area and `mark #` a number of them, where the sheet says so in words.
    """

    view: str
    grades: Mapping[str, int]
    seed: str

    def grade(self, mark: str, member: int | None = None) -> int:
        """The grade of a mark, 0 where nobody gave one; of a set's member, its own if it has one."""
        if member is not None and any(key.startswith(f"{mark}/") for key in self.grades):
            return self.grades.get(f"{mark}/{member}", 0)
        return self.grades.get(mark, 0)

    def of_member(self, member: int, seed: str) -> Look:
        """The same part of a set, with its own grades where it has any."""
        own = {
            mark: self.grade(mark, member) for mark in self.grades if not mark.endswith(("%", "#")) and "/" not in mark
        }
        return Look(self.view, own, seed)

    def share(self, mark: str, usual: Sequence[float]) -> float:
        """The share of the area, 0…1: what the sheet says in words, else what is usual for the grade."""
        said = self.grades.get(f"{mark} %")
        return usual[self.grade(mark)] if said is None else min(0.98, max(0, said) / 100)

    def count(self, mark: str, usual: Sequence[int]) -> int:
        """How many there are: what the sheet counts in words, else what is usual for the grade."""
        return self.grades.get(f"{mark} #", usual[self.grade(mark)])


def as_marks(observed: Mapping[str, int]) -> dict[str, int]:
    """Grades by the marks that can be drawn; what has no mark of its own becomes scratches. Grades are held within 0…4.

    >>> as_marks({"Heat": 2, "fretting": 1, "chipping/2": 7, "glaze %": 15})
    {'discolour': 2, 'scratches': 1, 'chipping/2': 4, 'polish %': 15}
    """
    marks: dict[str, int] = {}
    for name, grade in observed.items():
        base, bar, rest = _parts(name.strip().lower())
        plain = base.replace(" ", "_").replace("-", "_")
        mark = SAME_MARK.get(plain, plain if plain in KNOWN else "scratches") + bar + rest
        held = grade if bar == " " else min(4, max(0, grade))
        marks[mark] = max(marks.get(mark, 0), held)
    return marks


def _parts(name: str) -> tuple[str, str, str]:
    """A name, and after a blank its `%` or `#`, or after a stroke its member."""
    if name.endswith((" %", " #")):
        return name[:-2], " ", name[-1]
    return name.partition("/")
