"""Checks of engines: each has its file and its family, its plan asks for something, its links lead to it."""

from collections.abc import Iterator

from ..source import Problem, Source, doubt, error, nearest
from .checked import Checked


def check_engine_files(checked: Checked) -> Iterator[Problem]:
    """A folder under engines/ holds engine.yml: without it nobody knows which family's limits count."""
    folders = {path.split("/")[1] for path in checked.shop.tree.paths() if path.count("/") > 1 and _in_engines(path)}
    for name in sorted(folders):
        records = checked.shop.engines.get(name)
        path = f"engines/{name}/engine.yml"
        if (records is None or records.file is None) and path not in checked.shop.unread:
            yield error(Source(path, 1, 1), f"engine {name} has no engine.yml; write engine: {name} and family: …")


def check_families(checked: Checked) -> Iterator[Problem]:
    """An engine's family has a file: positions, dimensions and limits stand there."""
    for records in checked.engines():
        if records.file is None:
            continue
        family = records.file.it.family
        if family not in checked.shop.families and f"families/{family}.yml" not in checked.shop.unread:
            message = f"family {family!r} has no file under families/; {nearest(family, sorted(checked.shop.families))}"
            yield error(records.file.place("family"), message)


def check_plans(checked: Checked) -> Iterator[Problem]:
    """An event to come asks for hours, km, starts or runs: one that asks for nothing wears nothing.

    That an event has passed is no problem: a plan grows old by itself, and nobody has mistyped anything.
    """
    for records in checked.engines():
        if records.plan is None:
            continue
        for index, event in enumerate(records.plan.it.events or ()):
            amounts = (event.hours, event.minutes, event.km, event.starts, event.runs)
            if all(amount is None for amount in amounts):
                name = event.name or str(event.date)
                message = f"{name} asks for no hours, km, starts or runs, and counts as nothing"
                yield doubt(records.plan.place("events", index), message)


def check_shares(checked: Checked) -> Iterator[Problem]:
    """A link shows an engine that there is, and ends after it was made."""
    shares = checked.shop.shares
    if shares is None:
        return
    for index, share in enumerate(shares.it.shares or ()):
        if share.engine not in checked.shop.engines:
            message = f"engine {share.engine!r} stands nowhere; {nearest(share.engine, sorted(checked.shop.engines))}"
            yield error(shares.place("shares", index, "engine"), message)
        if share.made and share.until and share.until.day < share.made.day:
            message = f"the link ends on {share.until} before it was made, on {share.made}"
            yield error(shares.place("shares", index, "until"), message)


def _in_engines(path: str) -> bool:
    return path.startswith("engines/")
