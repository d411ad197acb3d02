"""A shop from texts: what the tests of history write down, told as one story.

A test gives the files of a shop, path → YAML. An engine's own file may be left out where the shop has one family.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from textwrap import dedent

from engine_pages.history.story import DimensionStory, EngineStory, PartStory, ReadingStory, ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import NoFile

TODAY = date(2030, 1, 1)  # later than every day in these tests, so that none of them is still to come


@dataclass(frozen=True)
class Texts:
    """Files that lie in memory."""

    files: Mapping[str, str]

    @property
    def label(self) -> str:
        return "texts of a test"

    def paths(self) -> Sequence[str]:
        return sorted(self.files)

    def read(self, path: str) -> bytes:
        if path not in self.files:
            raise NoFile(path)
        return self.files[path].encode("utf-8")

    def size(self, path: str) -> int:
        return len(self.read(path))


def texts(files: Mapping[str, str]) -> Texts:
    """The files as a tree; engines that have no file of their own are of the shop's one family."""
    whole = {path: dedent(text).lstrip("\n") for path, text in files.items()}
    families = [path.split("/")[1].removesuffix(".yml") for path in whole if path.startswith("families/")]
    for engine in sorted({path.split("/")[1] for path in whole if path.startswith("engines/")}):
        whole.setdefault(f"engines/{engine}/engine.yml", f"engine: {engine}\nfamily: {families[0]}\n")
    return Texts(whole)


def told(files: Mapping[str, str], day: date | None = None, *, errors: bool = False) -> ShopStory:
    """The story of a shop. A test that writes an error without meaning to is told so."""
    checked = read_checked(texts(files), TODAY)
    wrong = [str(problem) for problem in checked.problems if problem.level == "error"]
    assert errors or not wrong, wrong
    return tell_shop(checked, day)


def sheet(day: str, positions: str, more: str = "", of: str = "E1") -> str:
    """A sheet's text: its head, what it says of places (a flow map without its braces), and further lines."""
    return f"engine: {of}\ndate: {day}\npositions: {{{positions}}}\n{more}"


def engine(story: ShopStory, name: str = "E1") -> EngineStory:
    return next(one for one in story.engines if one.id == name)


def part(story: ShopStory, name: str) -> PartStory:
    return next(one for one in story.parts if one.id == name)


def row(story: ShopStory, name: str, dimension: str) -> DimensionStory:
    """A part's figures of one dimension."""
    return next(one for one in part(story, name).dimensions if one.id == dimension)


def fit(story: ShopStory, name: str, of: str = "E1") -> DimensionStory:
    return next(one.dimension for one in engine(story, of).fits if one.id == name)


def last(dimension: DimensionStory) -> ReadingStory:
    reading = dimension.last
    assert reading is not None
    return reading


def doubts(story: ShopStory) -> list[str]:
    """What is doubted, without the doubts that a family in a test has no sources."""
    messages = [problem.message for problem in story.problems if problem.level == "doubt"]
    return [message for message in messages if "has no source" not in message]
