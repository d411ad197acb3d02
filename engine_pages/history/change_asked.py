"""Which changes are asked for: a fluid, a kind of part, two names in; the shop's changes that match, told, out."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from ..records.checks.checked import Checked
from ..records.source import nearest
from ..wear.intervals import Increment
from .tell import tell_shop
from .told_changes import ChangeStory


class ChangeError(Exception):
    """There is no such change; the message says what there is."""


@dataclass(frozen=True, slots=True)
class AskedChange:
    """A fluid, and where they are given the kind of part, the name before and the name after."""

    fluid: str
    kind: str | None = None
    before: str | None = None
    after: str | None = None


def ask_changes(checked: Checked, asked: AskedChange, day: date | None = None) -> tuple[ChangeStory, ...]:
    """Every change that was asked for; of a kind, its own answers alone. ChangeError where there is none."""
    told = tell_shop(checked, day).changes
    _known(asked.fluid, [one.fluid for one in told], "no change of {} is written")
    of_fluid = [one for one in told if one.fluid == asked.fluid]
    _known(asked.before, [one.before for one in of_fluid], f"no {asked.fluid} was changed from {{}}")
    _known(asked.after, [one.after for one in of_fluid], f"no {asked.fluid} was changed to {{}}")
    found = [one for one in of_fluid if asked.before in (None, one.before) and asked.after in (None, one.after)]
    if not found:
        raise ChangeError(f"no {asked.fluid} was changed from {asked.before} to {asked.after}")
    if asked.kind is None:
        return tuple(found)
    _known(asked.kind, [kind.kind for one in found for kind in one.kinds], "no {} counts on both sides of the change")
    return tuple(_of_kind(one, asked.kind) for one in found if any(kind.kind == asked.kind for kind in one.kinds))


def _known(name: str | None, names: list[str], words: str) -> None:
    if name is not None and name not in names:
        known = sorted(set(names))
        raise ChangeError(f"{words.format(name)}; {nearest(name, known) if known else 'there is none at all'}")


def _of_kind(change: ChangeStory, kind: str) -> ChangeStory:
    """A change as one kind tells it: of several dimensions the first answer stands for the verdict."""
    kinds = tuple(one for one in change.kinds if one.kind == kind)
    parts = {part for one in kinds for part in _parts([*one.answer.used, *(o.increment for o in one.answer.left_out)])}
    left = tuple(one for one in change.left_out if one.part in parts)
    return replace(change, answer=kinds[0].answer, kinds=kinds, left_out=left)


def _parts(increments: Iterable[Increment]) -> set[str]:
    return {str(one.part[0]) for one in increments if isinstance(one.part, tuple)}  # (part, dimension)
