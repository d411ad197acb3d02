"""A publishing that stays publishes each commit that follows, by itself, until it is told to end."""

import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import click
import pytest
from bench.handed import git
from click.testing import CliRunner

from engine_pages.cli import main
from engine_pages.commands import publish as publish_command
from engine_pages.commands import staying
from engine_pages.commands.staying import Passing, stay
from engine_pages.editions.registry import make_link

from .canaries import OWN, SHEET, word, write_shop

NAME = OWN.split("/")[1]
# Who was begun in the background is deaf to Ctrl-C, and so is all that it begins.
HEARS = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
RUN = f"{HEARS}from engine_pages.cli import main; main(prog_name='engine-pages')"
NOTE = f"note: {word('Sheet.note')}"
SOON = 120  # seconds: far more than it takes


@dataclass
class Staying:
    """A publishing that stays, its shop, its tree, and what it says line by line."""

    shop: Path
    tree: Path
    process: subprocess.Popen[str]
    said: "queue.Queue[str]"

    def until(self, words: str) -> str:
        while words not in (line := self.said.get(timeout=SOON)):
            pass
        return line

    def commit(self, change: Callable[[str], str], path: str = SHEET) -> None:
        file = self.shop / path
        file.write_text(change(file.read_text(encoding="utf-8")), encoding="utf-8")
        git(self.shop, "-c", "user.name=A", "-c", "user.email=a@x.example", "commit", "-qam", "a change")

    def pages(self) -> str:
        return "".join(page.read_text(encoding="utf-8") for page in sorted(self.tree.rglob("*.html")))


@pytest.fixture(scope="module")
def staying_one(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Staying]:
    top = tmp_path_factory.mktemp("stays")
    shop = write_shop(top / "shop")
    make_link(shop, NAME, "owner", date(2026, 11, 25), None, None)
    env = {**os.environ, "XDG_CACHE_HOME": str(top / "cache")}
    command = [sys.executable, "-u", "-c", RUN, "publish", "--records", str(shop), "--to", str(top / "tree"), "--stay"]
    said: queue.Queue[str] = queue.Queue()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=env) as process:
        threading.Thread(target=lambda: [said.put(line) for line in process.stdout or ()], daemon=True).start()
        one = Staying(shop, top / "tree", process, said)
        one.until("It stays")
        yield one
        process.kill()


def test_a_commit_is_published_by_itself(staying_one: Staying) -> None:
    assert "a line of the next day" not in staying_one.pages()
    staying_one.commit(lambda text: text.replace(NOTE, f"{NOTE}, a line of the next day,", 1))
    commit = git(staying_one.shop, "rev-parse", "--short=7", "HEAD").strip()
    assert commit in staying_one.until("is commit")
    assert "a line of the next day" in staying_one.pages()


def test_what_is_wrong_is_said_and_the_commit_that_mends_it_is_published(staying_one: Staying) -> None:
    stood = staying_one.pages()
    staying_one.commit(lambda text: f"{text}\nno_such_field: 1\n")
    assert "no_such_field" in staying_one.until("Left as it was") + staying_one.until("nothing was published")
    assert staying_one.pages() == stood
    staying_one.commit(lambda text: text.replace("\nno_such_field: 1\n", ""))
    commit = git(staying_one.shop, "rev-parse", "--short=7", "HEAD").strip()
    assert commit in staying_one.until("is commit")


def test_it_ends_when_it_is_told_to(staying_one: Staying) -> None:
    staying_one.process.send_signal(signal.SIGINT)
    assert staying_one.until("Ended")
    assert staying_one.process.wait(SOON) == 0


def test_another_day_is_a_change_too(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    days = [date(2026, 12, 31), date(2026, 12, 31), date(2027, 1, 1), date(2027, 1, 1)]
    done: list[date] = []

    class Clock:
        @staticmethod
        def now() -> "Clock":
            return Clock()

        def date(self) -> date:
            if not days:
                raise KeyboardInterrupt
            return days[0]

    monkeypatch.setattr(publish_command, "datetime", Clock)
    monkeypatch.setattr(staying, "LOOKS_EVERY", 0.0)
    monkeypatch.setattr(staying.time, "sleep", lambda _: days.pop(0))
    repo = publish_command.repository_of(tmp_path)
    stay(lambda: publish_command._state(repo), lambda: done.append(days[0]), "stays")
    assert done == [date(2026, 12, 31), date(2027, 1, 1)]


def test_what_may_pass_is_tried_again_and_what_is_wrong_is_not(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(staying, "LOOKS_EVERY", 0.0)
    monkeypatch.setattr(staying, "TRIES_AGAIN_AFTER", 0.0)
    states = iter([0, 1, 1, 1, 2, 2, 2])  # one look a number, until there are no more
    outcomes: list[click.ClickException | None] = [
        None, Passing("another hand is at work"), Passing("the disk is full"), None, click.ClickException("wrong"),
    ]  # fmt: skip
    done: list[str] = []

    def state() -> int:
        try:
            return next(states)
        except StopIteration:
            raise KeyboardInterrupt from None

    def do() -> None:
        outcome = outcomes[len(done)]
        done.append(str(outcome))
        if outcome is not None:
            raise outcome

    stay(state, do, "stays")
    assert done == [str(one) for one in outcomes]


def test_a_helper_that_was_killed_is_one_line_and_no_end(staying_one: Staying, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise BrokenProcessPool

    monkeypatch.setattr(publish_command, "publish_tree", broken)
    command = ["publish", "--records", str(staying_one.shop), "--to", str(staying_one.tree)]
    found = CliRunner().invoke(main, command)
    assert (found.exit_code, "a process that helped was ended from outside" in found.output) == (1, True)


def test_what_keeps_the_first_from_being_done_ends_it() -> None:
    def fails() -> None:
        raise click.ClickException("no commit yet")

    with pytest.raises(click.ClickException, match="no commit yet"):
        stay(lambda: 0, fails, "stays")


def test_it_follows_the_last_commit_and_no_other(tmp_path: Path) -> None:
    command = ["publish", "--records", str(tmp_path), "--to", str(tmp_path / "tree"), "--at", "HEAD~1", "--stay"]
    found = CliRunner().invoke(main, command)
    assert (found.exit_code, "leave out --at" in found.output) == (2, True)


def test_ended_in_the_middle_of_its_work_it_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(staying, "LOOKS_EVERY", 0.0)
    states, done = iter([0, 1]), []

    def do() -> None:
        if done:
            raise KeyboardInterrupt
        done.append("once")

    stay(lambda: next(states), do, "stays")
    assert capsys.readouterr().out.splitlines() == ["stays", staying.CUT_OFF]
