"""The state of a part, the first that applies, and the sentence that says why."""

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from ..records.sheet import FAILED, GOES_OUT
from .story import STATES, DimensionStory, DueStory, FitStory, GradeStory, PartStory, State, TestStory

WORST_GRADE = 4
CRACK = "crack"  # any crack, whatever its grade, is beyond limit
NO_LIMIT: Final = "no limit written"  # what people read where "within" would claim a limit that nobody wrote


class Standing(Struct, frozen=True):
    """All that a part's state is judged from."""

    retired_on: str | None
    dimensions: Sequence[DimensionStory]
    grades: Sequence[GradeStory]
    due: Sequence[DueStory]
    looked_at: bool


def state_of(part: Standing) -> tuple[State, str]:
    """The first state that applies, with its reason in a few words."""
    if part.retired_on is not None:
        return "retired", f"retired on {part.retired_on}"
    limited = [d for d in part.dimensions if d.limit is not None]
    for grade in part.grades:
        if is_crack(grade.name) and grade.grade > 0:
            return "beyond limit", "cracked"
        if grade.grade >= WORST_GRADE:
            return "beyond limit", f"{grade.name.replace('_', ' ')} grade {grade.grade}"
    for state in ("beyond limit", "overdue", "due", "undecided", "near limit"):
        for dimension in limited:
            if dimension.state == state:
                return dimension.state, dimension.name.lower()
        for due in part.due:
            if due.state == state:
                return due.state, due.name.lower() if due.because is None else f"{due.what}, {due.because}"
    measured = [d for d in part.dimensions if d.state != "not measured"]
    if not measured and not part.looked_at:
        return "not measured", "no reading and no grade"
    if limited and all(d.state == "not measured" for d in limited):
        return "not measured", "no reading against its limit" if measured else "looked at, no reading"
    if part.dimensions and not limited:
        return "within", NO_LIMIT
    return "within", ""


def is_crack(name: str) -> bool:
    """Whether a grade is of cracks: `crack`, `cracking`, `lug_cracks`.

    >>> is_crack("lug_cracks"), is_crack("scoring")
    (True, False)
    """
    return any(word.startswith(CRACK) for word in name.lower().replace("-", "_").split("_"))


def worst_of(states: Sequence[State]) -> State:
    """The worst of several states; what is retired or was never measured says nothing of the others."""
    known = [state for state in states if state not in ("retired", "not measured")]
    return min(known, key=STATES.index, default="not measured")


def state_of_engine(
    parts: Sequence[PartStory], fits: Sequence[FitStory], tests: Sequence[TestStory], services: Sequence[DueStory]
) -> State:
    """The worst that is known; `tests` is the last of each since the build.

    "Within" wants something that was judged: that nothing is due, or that something was measured for which no limit is
    written, says nothing of the engine.
    """
    states = [part.state for part in parts if part.state != "within" or is_judged(part)]
    states += [fit.state for fit in fits if fit.dimension.limit is not None]
    states += [test.state for test in tests if test.limit is not None or any(test.spread_limits)]
    return worst_of([*states, *(due.state for due in services if due.state != "within")])


def is_judged(part: PartStory) -> bool:
    """Whether anything of a part was held against a limit, or looked at and graded."""
    limited = any(one.limit is not None and one.state != "not measured" for one in part.dimensions)
    return limited or any(found.grades for _, found in part.found)


def said_state(state: State, *, has_limit: bool) -> str:
    """The word of a state for people: nothing is within where no limit is written.

    >>> said_state("within", has_limit=False), said_state("overdue", has_limit=False)
    ('no limit written', 'overdue')
    """
    return NO_LIMIT if state == "within" and not has_limit else state


def has_limit(part: PartStory) -> bool:
    """Whether a part can be within anything: a limit of a dimension; where it has none, a grade or an interval."""
    if part.dimensions:
        return any(one.limit is not None for one in part.dimensions)
    return bool(part.due) or any(found.grades for _, found in part.found)


def part_said(part: PartStory) -> str:
    """The word of a part's state."""
    return said_state(part.state, has_limit=has_limit(part))


def fit_said(fit: FitStory) -> str:
    """The word of a clearance's state."""
    return said_state(fit.state, has_limit=fit.dimension.limit is not None)


def differs(
    state: State, why: str, decision: str | None, because: str | None, *, run_since: bool = False
) -> str | None:
    """Where the builder's decision and the limits differ; neither is hidden. `state` is that of the figures alone.

    A part that has gone back in and run into an interval since does not speak against the decision made before; one
    within its limits goes out for hours, with its set or for an upgrade without contradicting them, and so does one
    that has none.
    """
    if (
        decision == "reuse"
        and state in ("beyond limit", "overdue", "undecided")
        and not (run_since and state == "overdue")
    ):
        return f"limits say {state} ({why}); the builder decided reuse"
    if decision in GOES_OUT and state == "within" and why != NO_LIMIT and because in (*FAILED, None):
        return f"within every limit that was measured; the builder decided {decision}"
    return None
