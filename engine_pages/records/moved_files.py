"""Which file that came is one that went, within one commit: paths with sheet numbers in, pairs of paths out.

A sheet is known by its number, in its own engine before another; else a file by its place, by its place but for
capitals, and last by git's finding that it is mostly the same as one that the same commit took away.
"""

from collections.abc import Iterator, Mapping

from .load import record_kind

Numbers = Mapping[str, str | None]


def moved_files(gone: Numbers, come: Numbers, renamed: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """(old path, new path). `gone` and `come`: path → the sheet's number; `renamed`: new path → old, as git found.

    >>> sheet = "engines/E-1/builds/{}.yml".format
    >>> list(moved_files({sheet("a"): "B-1", sheet("b"): None}, {sheet("b"): "B-1"}, {sheet("b"): sheet("a")}))
    [('engines/E-1/builds/a.yml', 'engines/E-1/builds/b.yml')]
    """
    went, came = dict(sorted(gone.items())), dict(sorted(come.items()))
    of_engine = {(folder_of(path), number): path for path, number in reversed(went.items()) if number}
    of_number = {number: path for path, number in reversed(went.items()) if number}
    of_folded = {path.casefold(): path for path in reversed(went)}
    guesses = (
        {path: of_engine.get((folder_of(path), number or ""), "") for path, number in came.items()},
        {path: of_number[number] for path, number in came.items() if number in of_number},
        {path: path for path in came},
        {path: of_folded.get(path.casefold(), "") for path in came},
        renamed,
    )
    for guess in guesses:
        for new in list(came):
            old = guess.get(new, "")
            if old in went and _can_be_one(old, went[old], new, came[new]):
                yield old, new
                del went[old], came[new]


def folder_of(path: str) -> str:
    """The engine in whose folder a file lies, or what else the shop keeps it under.

    >>> folder_of("engines/K-07/log.yml"), folder_of("parts/RB-1042.yml")
    ('engines/K-07', 'parts')
    """
    steps = path.split("/")[:-1]
    return "/".join(steps[:2]) if steps[:1] == ["engines"] else "/".join(steps[:1])


def _can_be_one(old: str, before: str | None, new: str, after: str | None) -> bool:
    """Whether two files can be one record: of one number where both bear one, else of one kind."""
    if before and after:
        return before == after or old == new
    return record_kind(old) == record_kind(new)
