"""Members of a set as one line under the set's name: what falls due together, what stops the engine together.

In: dues or stoppers in the order in which they are to stand. Out: the same, each set at the place of its first member.
A member is known by its place, `Apex seals 1, a2`.
"""

from collections.abc import Hashable, Sequence

from msgspec.structs import replace

from engine_pages.history.story import DueStory, Stopper


def set_of(slot_name: str | None) -> str:
    """The set that a place is a member of; empty where it stands alone.

    >>> set_of("Apex seals 1, a2"), set_of("Rotor bearing 2")
    ('Apex seals 1', '')
    """
    return (slot_name or "").rpartition(", ")[0]


def sets_joined(dues: Sequence[DueStory]) -> list[DueStory]:
    """Members of a set that fall due together, as one line under the set's name."""
    together: dict[Hashable, list[DueStory]] = {}
    for number, due in enumerate(dues):
        asked = (due.what, due.rule, due.because, due.source)
        key = (set_of(due.slot_name), asked, *_when(due)) if set_of(due.slot_name) else number
        together.setdefault(key, []).append(due)
    return [_due_of(members) if len(members) > 1 else members[0] for members in together.values()]


def _when(due: DueStory) -> tuple[Hashable, ...]:
    return due.state, tuple((unit, round(amount, 1)) for unit, amount in due.left.items()), due.due_on, due.last


def _due_of(members: Sequence[DueStory]) -> DueStory:
    name = _all_of(members[0].slot_name, len(members))
    return replace(members[0], name=f"{name}, {members[0].what}", slot_name=name)


def _all_of(slot_name: str | None, count: int) -> str:
    return f"{set_of(slot_name)}, all {count}"


def stoppers_joined(stoppers: Sequence[Stopper]) -> list[tuple[Stopper, int]]:
    """One line a set for each thing that stops it, with the number of members that it stands for.

    Members that fall due together bear the set's name. Members that wear to a limit, each at its own pace, are told by
    the one that comes first.
    """
    together: dict[Hashable, list[Stopper]] = {}
    for number, one in enumerate(stoppers):
        place = set_of(one.slot_name) if one.part is not None else ""
        together.setdefault((place, one.what) if place else number, []).append(one)
    return [(_stopper_of(members), len(members)) for members in together.values()]


def _stopper_of(members: Sequence[Stopper]) -> Stopper:
    first = members[0]
    alike = first.due is not None and all(one.due is not None and _when(one.due) == _when(first.due) for one in members)
    return replace(first, slot_name=_all_of(first.slot_name, len(members))) if alike and len(members) > 1 else first
