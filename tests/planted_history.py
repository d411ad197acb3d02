"""A repository of invented sheets whose every amendment is known: a seed in, a stream for git and the list of them out.

Side branches are merged, picked commit by commit, squashed or rebased; sheets move when their date is corrected; files
are spelt anew without saying anything else. What counts is planted here, act by act, by the rules of the trail.
"""

import random
from collections import Counter
from dataclasses import dataclass, field, replace

HANDS = ("RK", "TM", "JO")
BEARINGS = (1, 2, 3, 4)
NEW_SHEET, SPELLING, MOVE, BRANCH = 0.4, 0.04, 0.03, 0.04  # the share of each act; the rest are amendments
START, HOUR = 1_500_000_000, 3_600  # s since the epoch; one commit an hour

Field = tuple[str, ...]
Planted = tuple[str, Field, str, str | None, str | None, str]
"""Name of the record, field, kind, old, new, author."""


@dataclass(frozen=True)
class Paper:
    """One sheet: its name here, its path, its texts, and how its file spells them."""

    name: str
    path: str
    texts: dict[Field, str]
    spelling: int = 0

    def content(self) -> bytes:
        """As a shop writes it. `spelling`: 0 plain, then other orders, quotes, line ends, comments."""
        groups: dict[str, list[str]] = {}
        quote = '"' if self.spelling & 1 else ""
        for keys, text in self.texts.items():
            value = f"{quote}{text}{quote}"
            if len(keys) == 1:
                groups.setdefault(keys[0], []).append(f"{keys[0]}: {value}")
            elif len(keys) == 3:
                groups.setdefault(keys[1], []).append(f"    {keys[2]}: {value}")
            else:
                groups.setdefault(keys[1], []).append(f"    {keys[2]}: {{{keys[3]}: {value}}}")
        head = [group for name, group in groups.items() if not name.startswith("rotor-bearing")]
        places = [[f"  {name}:", *group] for name, group in groups.items() if name.startswith("rotor-bearing")]
        if self.spelling & 2:
            head.reverse()
            places = [[place, *reversed(rest)] for place, *rest in places]
        if self.spelling & 4:
            head.append([f"# spelt anew, {self.spelling}"])
        lines = [line for group in [*head, ["positions:"], *places] for line in group]
        return ("\r\n" if self.spelling & 8 else "\n").join([*lines, ""]).encode()


Papers = dict[str, Paper]


@dataclass
class Branch:
    """Where a branch stands: its last commit's mark and its sheets."""

    mark: int
    papers: Papers


@dataclass
class PlantedHistory:
    """Call `grow`; then `stream` is for `git fast-import`, `planted` counts every amendment."""

    files: int
    commits: int
    seed: int = 7
    merges: bool = True
    planted: Counter[Planted] = field(default_factory=Counter)
    moves: int = 0

    def __post_init__(self) -> None:
        self._rng = random.Random(self.seed)
        self._parts: list[bytes] = []
        self._made = 0
        self._numbers = 0

    @property
    def stream(self) -> bytes:
        return b"".join(self._parts)

    def grow(self) -> "PlantedHistory":
        main = Branch(0, {})
        while self._made < self.commits:
            chance = self._rng.random()
            room = self._numbers < self.files
            if (
                not main.papers
                or (room and chance < NEW_SHEET)
                or self.files - self._numbers >= self.commits - self._made
            ):
                self._record(main)
            elif self.merges and chance > 1 - BRANCH and self.commits - self._made > 12:
                self._branch(main)
            elif chance > 1 - BRANCH - MOVE:
                self._move(main)
            elif chance > 1 - BRANCH - MOVE - SPELLING:
                self._respell(main)
            else:
                self._amend(main, self._pick())
        return self

    # ── acts ─────────────────────────────────────────────────────────────────────────────────────────────────────

    def _record(self, branch: Branch) -> None:
        number = self._numbers
        self._numbers += 1
        engine, day = f"K-{number % 40:02}", f"{2000 + number // 320}-{1 + number % 12:02}-{1 + number % 28:02}"
        name = f"sheet {number}"
        texts: dict[Field, str] = {
            ("engine",): engine,
            ("date",): day,
            ("by",): "RK",
            ("counter",): f"{number % 60}.5 h",
        }
        if number % 3:
            texts[("sheet",)] = f"T-{number:05}"
        texts[("note",)] = f"Filter cut open and laid out, nothing in it, run {number}."
        for bearing in BEARINGS:
            place = f"rotor-bearing-{bearing}"
            step = (number * 7 + bearing) % 40
            texts |= {
                ("positions", place, "part"): f"RB-{number}{bearing}",
                ("positions", place, "measured", "inside_diameter"): f"60.0{41 + step}",
                (
                    "positions",
                    place,
                    "finding",
                ): f"Two light scratches, loaded side, sheet {number} place {bearing}".replace(",", ""),
                ("positions", place, "decision"): "reuse",
            }
        path = f"engines/{engine}/teardowns/{day}-{number}/teardown.yml"
        self._commit(branch, name, [Paper(name, path, texts)], "RK")

    def _amend(self, branch: Branch, name: str, hand: str | None = None) -> tuple[str, list[tuple[Field, str | None]]]:
        """One to three fields changed, added or removed; what each became."""
        paper = branch.papers[name]
        texts = dict(paper.texts)
        hand = hand or self._rng.choice(HANDS)
        became: list[tuple[Field, str | None]] = []
        for bearing in self._rng.sample(BEARINGS, self._rng.randint(1, 3)):
            place = ("positions", f"rotor-bearing-{bearing}")
            if self._rng.random() < 0.6:
                became.append(((*place, "measured", "inside_diameter"), f"60.{self._rng.randint(100, 99_999):05}"))
            elif (*place, "finding") in texts:
                became.append(((*place, "finding"), None))
            else:
                became.append(((*place, "finding"), f"Scored on the trailing edge {self._rng.randint(0, 10**9)}"))
        for keys, text in became:
            self._plant(name, keys, texts.get(keys), text, hand)
            texts = (
                {**texts, keys: text} if text is not None else {one: old for one, old in texts.items() if one != keys}
            )
        self._commit(branch, f"amend {name}", [replace(paper, texts=texts)], hand)
        return hand, became

    def _move(self, branch: Branch) -> None:
        """The date corrected and the folder with it; or the folder's name spelt in other capitals."""
        paper = branch.papers[self._pick()]
        self.moves += 1
        hand = self._rng.choice(HANDS)
        if self._rng.random() < 0.2 and "/K-" in paper.path:
            self._commit(branch, "capitals", [replace(paper, path=paper.path.replace("/K-", "/k-"))], hand)
            return
        day = f"2031-{self._rng.randint(1, 12):02}-{self._rng.randint(1, 28):02}"
        folder = paper.path.split("/")
        folder[3] = f"{day}-{self._made}"
        self._plant(paper.name, ("date",), paper.texts[("date",)], day, hand)
        texts = {**paper.texts, ("date",): day}
        self._commit(branch, "date", [replace(paper, path="/".join(folder), texts=texts)], hand)

    def _respell(self, branch: Branch) -> None:
        paper = branch.papers[self._pick()]
        spelling = paper.spelling ^ self._rng.choice((1, 2, 4, 8, 15))
        self._commit(branch, "spelt anew", [replace(paper, spelling=spelling)], "TM")

    def _branch(self, main: Branch) -> None:
        """A side branch of a few commits, beside a few on main, brought together in one of four ways."""
        side, fork = Branch(main.mark, dict(main.papers)), dict(main.papers)
        way = self._rng.choice(("merge", "merge", "edited merge", "squash", "rebase", "picked"))
        names = self._rng.sample(sorted(fork), min(4, len(fork)))
        before = self.planted.copy()
        ours = [self._act(side, name) for name in names[: len(names) // 2]]
        planted = self.planted - before
        if way == "squash":  # every step of the side is forgotten; what is left of it is the squasher's
            self.planted = before
        for name in names[len(names) // 2 :]:
            self._amend(main, name)
        if self._rng.random() < 0.4 and len(names) > 1:  # the same file on both sides, in fields of its own
            self._note(main, names[0])
        changed = {name: paper for name, paper in side.papers.items() if paper is not fork.get(name)}
        merged = [self._joined(fork[name], main.papers[name], paper) for name, paper in changed.items()]
        if way == "squash":
            for name, paper in changed.items():
                self._plant_between(name, fork[name].texts, paper.texts, "JO")
            self._commit(main, "squashed", merged, "JO")
        elif way == "rebase":
            for at, hand, name in ours:
                self._commit(main, f"amend {name}", [one for one in merged if one.name == name], hand, authored=at)
        else:
            if way == "picked" and ours:
                at, hand, name = ours[0]
                self._commit(main, f"picked {name}", [one for one in merged if one.name == name], hand, authored=at)
            if way == "edited merge" and merged:
                paper = merged[0]
                text = f"Settled in the merge {self._made}."
                self._plant(paper.name, ("note",), paper.texts.get(("note",)), text, "JO")
                merged[0] = replace(paper, texts={**paper.texts, ("note",): text})
            self._commit(main, "merge", merged, "JO", merge=side.mark)
        assert planted or way != "squash" or not changed

    def _act(self, branch: Branch, name: str) -> tuple[int, str, str]:
        at = START + HOUR * (self._made + 1)
        hand, _ = self._amend(branch, name)
        return at, hand, name

    def _note(self, branch: Branch, name: str) -> None:
        paper = branch.papers[name]
        text = f"Owner was there {self._made}."
        self._plant(name, ("by",), paper.texts[("by",)], text, "TM")
        self._commit(branch, "by", [replace(paper, texts={**paper.texts, ("by",): text})], "TM")

    @staticmethod
    def _joined(fork: Paper, ours: Paper, theirs: Paper) -> Paper:
        """A file changed on both sides, field by field."""
        keys = [*ours.texts, *(key for key in theirs.texts if key not in ours.texts)]
        texts = {}
        for key in keys:
            text = theirs.texts.get(key) if theirs.texts.get(key) != fork.texts.get(key) else ours.texts.get(key)
            if text is not None:
                texts[key] = text
        return replace(ours, texts=texts)

    # ── the stream ───────────────────────────────────────────────────────────────────────────────────────────────

    def _pick(self) -> str:
        return f"sheet {self._rng.randrange(self._numbers)}"

    def _plant(self, name: str, keys: Field, old: str | None, new: str | None, hand: str) -> None:
        kind = "added" if old is None else "removed" if new is None else "changed"
        self.planted[name, keys, kind, old, new, hand] += 1

    def _plant_between(self, name: str, old: dict[Field, str], new: dict[Field, str], hand: str) -> None:
        for keys in {**old, **new}:
            if old.get(keys) != new.get(keys):
                self._plant(name, keys, old.get(keys), new.get(keys), hand)

    def _commit(
        self, branch: Branch, message: str, papers: list[Paper], hand: str, *, authored: int | None = None,
        merge: int | None = None,
    ) -> None:  # fmt: skip
        """A commit on a branch. A merge names the other side's commit; its files are given whole."""
        self._made += 1
        at = START + HOUR * self._made
        lines = [f"commit refs/heads/b{self._made}", f"mark :{self._made}"]
        lines += [f"author {hand} <{hand}@shop.example> {authored or at} +0000"]
        lines += [f"committer {hand} <{hand}@shop.example> {at} +0000", f"data {len(message)}", message]
        lines += [f"from :{branch.mark}"] if branch.mark else []
        lines += [f"merge :{merge}"] if merge is not None else []
        parts = ["\n".join([*lines, ""]).encode()]
        for paper in papers:
            old = branch.papers.get(paper.name)
            if old is not None and old.path != paper.path:
                parts.append(f"D {old.path}\n".encode())
            content = paper.content()
            parts.append(f"M 100644 inline {paper.path}\ndata {len(content)}\n".encode() + content + b"\n")
            branch.papers[paper.name] = paper
        self._parts += [*parts, f"reset refs/heads/main\nfrom :{self._made}\n\n".encode()]
        branch.mark = self._made
