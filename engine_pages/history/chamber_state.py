"""The state of a test, with its reason: what is outside its limits, too far apart, undecided, near its limit.

In: a test's readings, judged one by one, and what is allowed. Out: a state and why.
"""

from collections.abc import Iterator, Sequence

from ..wear.chambers import COMPRESSION_SCATTER, LEAK_DOWN_SCATTER, Scatter, is_near
from ..wear.limits import Limit
from .status import NO_LIMIT
from .told_parts import State
from .told_sheets import ChamberReading

Row = tuple[str, str, tuple[ChamberReading, ...]]  # the position's key, its name, its readings
NEAR = "nearer to the limit than a test usually scatters"


def usual_scatter(test: str, unit: str) -> Scatter | None:
    """How far two tests of one engine commonly differ, in the test's unit; None where there is no common practice."""
    if test == "compression":
        return COMPRESSION_SCATTER
    return LEAK_DOWN_SCATTER if test == "leak_down" and unit == "%" else None


def state_of_test(
    rows: Sequence[Row],
    spreads: tuple[float | None, float | None],
    allowed: tuple[float | None, float | None],
    limit: Limit | None,
    scatter: Scatter | None,
    *,
    faces: bool,
) -> tuple[State, str]:
    """The first state that applies. `spreads` and `allowed` are between chambers and between rows, in the test's unit.

    `scatter` None: nothing is near a limit; `faces` says that chambers are known by their number.
    """
    verdicts = [chamber.verdict for _, _, chambers in rows for chamber in chambers]
    if "beyond" in verdicts:
        beyond = [name for _, name, chambers in rows if any(c.verdict == "beyond" for c in chambers)]
        return "beyond limit", f"{', '.join(beyond)} outside the limit"
    for what, spread, most in zip(("chambers", "rows"), spreads, allowed, strict=True):
        if spread is not None and most is not None and spread > most:
            return "beyond limit", f"{what} {spread:.0f} apart, at most {most:.0f}"
    if "undecided" in verdicts:
        return "undecided", "a range or a bound that does not decide"
    near = list(dict.fromkeys(_near(rows, limit, scatter, faces)))
    if near:
        return "near limit", f"{', '.join(near)} {NEAR}"
    if not any(one.value is not None or one.bound for _, _, chambers in rows for one in chambers):
        return "not measured", "no reading"
    return "within", "" if limit is not None or _compared(spreads, allowed) else NO_LIMIT


def _compared(spreads: Sequence[float | None], allowed: Sequence[float | None]) -> bool:
    """Whether any spread was held against what is allowed."""
    return any(None not in pair for pair in zip(spreads, allowed, strict=True))


def _near(rows: Sequence[Row], limit: Limit | None, scatter: Scatter | None, faces: bool) -> Iterator[str]:
    """The names of what lies near its limit: a face by its number where faces are marked, else its rotor."""
    if limit is None or scatter is None:
        return
    for _, name, chambers in rows:
        for one in chambers:
            if one.verdict == "within" and one.corrected is not None and is_near(one.corrected, limit, scatter):
                yield f"{name} face {one.chamber}" if faces and one.chamber is not None else name
