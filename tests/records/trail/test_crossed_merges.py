"""Histories at random, with merges across merges: the trail of a sheet always leads to what stands in it."""

import random
import subprocess
from dataclasses import dataclass, field

import pytest
from kept_history import KeptHistory

FIELDS = ("a", "b", "c")
PATHS = ("engines/K-07/builds/2026-01-01.yml", "engines/K-07/builds/2026-01-02.yml")


@dataclass
class Crossed:
    """Commits at random: what each holds, and every text that was newly written, with its commit's number."""

    rng: random.Random
    texts: list[dict[str, str]] = field(default_factory=lambda: [dict.fromkeys(FIELDS, "0")])
    paths: list[str] = field(default_factory=lambda: [PATHS[0]])
    parents: list[list[int]] = field(default_factory=lambda: [[]])
    pasts: list[set[int]] = field(default_factory=lambda: [{0}])
    written: list[tuple[str, str, str]] = field(default_factory=list)

    def grow(self, size: int) -> "Crossed":
        for at in range(1, size):
            near = range(max(0, at - 5), at)
            self._commit(self.rng.sample(near, min(self.rng.choice((1, 1, 2)), len(near))))
        self._commit([at for at in range(size) if not any(at in parents for parents in self.parents)])
        return self

    def _commit(self, wanted: list[int]) -> None:
        at = len(self.texts)
        parents = [one for one in wanted if not any(one != other and one in self.pasts[other] for other in wanted)]
        texts = {key: self.rng.choice([self.texts[one][key] for one in parents]) for key in FIELDS}
        path = self.paths[self.rng.choice(parents)]
        if len(parents) == 1:
            new = self.rng.sample(FIELDS, self.rng.randint(1, 2))
            path = self.rng.choice((path, path, *PATHS))
        else:
            new = [key for key in FIELDS if self.rng.random() < 0.1]
        for key in new:
            texts[key] = f"{key}{at}"
            self.written.append((key, texts[key], f"hand {at}"))
        self.texts.append(texts)
        self.paths.append(path)
        self.parents.append(parents)
        self.pasts.append({at}.union(*(self.pasts[one] for one in parents)))

    def stream(self) -> bytes:
        parts = []
        for at, parents in enumerate(self.parents):
            content = "engine: K-07\nsheet: B-1\n" + "".join(f"{key}: {self.texts[at][key]}\n" for key in FIELDS)
            lines = [f"commit refs/heads/b{at}", f"mark :{at + 1}"]
            lines += [
                f"{role} hand {at} <h@shop.example> {1_700_000_000 + at * 3600} +0000"
                for role in ("author", "committer")
            ]
            lines += ["data 1", "x", *(f"{'merge' if nth else 'from'} :{one + 1}" for nth, one in enumerate(parents))]
            parts.append(
                "\n".join([*lines, "deleteall", f"M 100644 inline {self.paths[at]}", f"data {len(content)}", content])
            )
        return "\n".join([*parts, "reset refs/heads/main", f"from :{len(self.texts)}", "", ""]).encode()


@pytest.mark.parametrize("seed", range(30))
def test_what_stands_is_what_was_amended_last_and_not_left_out(history: KeptHistory, seed: int) -> None:
    rng = random.Random(seed)
    crossed = Crossed(rng).grow(rng.randint(4, 16))
    command = ["git", "-C", str(history.top), "fast-import", "--quiet"]
    subprocess.run(command, input=crossed.stream(), check=True, capture_output=True)
    (record,) = history.trail("main").records
    assert (record.here, record.path) == (True, crossed.paths[-1])
    for key in FIELDS:
        standing = [one for one in record.amendments if one.field == (key,) and one.left_out is None]
        assert (standing[-1].new if standing else "0") == crossed.texts[-1][key]
    told = [(one.field[0], one.new, one.commit.author) for one in record.amendments]
    assert sorted(told) == sorted(crossed.written)
