"""The command `engine-pages`: which commands there are, and where each is written."""

import sys
from collections.abc import Mapping
from importlib import import_module
from typing import Final

import click

from .garbage import collect_seldom
from .one_thread import count_with_one_thread

COMMANDS: Final[Mapping[str, str]] = {  # by the name that is typed: the module of `commands`, the function in it
    "bench": "bench.bench",
    "bundle": "handover.bundle",
    "check": "check.check",
    "compare": "figures.compare",
    "export": "handover.export",
    "figures": "figures.figures",
    "file": "bench.file_",
    "lock": "lock.lock",
    "log": "bench.log",
    "print": "handover.print_",
    "publish": "publish.publish",
    "review": "review.review",
    "schema": "schema.schema",
    "season": "figures.season",
    "share": "share.share",
    "sheet": "bench.sheet",
    "site": "site.site",
    "sold": "share.sold",
    "start": "bench.start",
    "take": "take.take",
    "trail": "trail.trail",
    "verify": "verify.verify",
}


class _Commands(click.Group):
    """Each command is loaded, with the rooms that it needs, when it is called."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        return sorted(COMMANDS)

    def get_command(self, _ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        collect_seldom()  # the rooms that a command needs are a hundred thousand objects and more
        count_with_one_thread()
        module, _, function = COMMANDS[name].partition(".")
        command: click.Command = getattr(import_module(f".commands.{module}", __package__), function)
        return command


@click.group(cls=_Commands)
@click.version_option(package_name="engine-pages")
def main() -> None:
    """Teardown histories of competition engines: check records, print figures, build the history site."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8")  # records hold µ and °, whatever the terminal's own encoding
