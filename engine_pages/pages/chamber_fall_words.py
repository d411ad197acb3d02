"""How far faces and cylinders have got worse over several tests, in words.

In: what is told of their falls. Out: a sentence a rotor (or all cylinders) for a section, and one for what fell alone.
"""

from collections.abc import Iterator, Sequence

from engine_pages.history.chamber_state import usual_scatter
from engine_pages.history.told_chambers import ChamberFall
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import capital, count_words, figure_words, percent_words, small, unit_words


def fall_sentences(falls: Sequence[ChamberFall], decimals: int) -> Iterator[str]:
    """What every face or cylinder of one test did, those of one rotor and one span of time in one sentence."""
    together: dict[tuple[str, int, float | None], list[ChamberFall]] = {}
    for fall in falls:
        together.setdefault((fall.of, fall.tests, fall.hours), []).append(fall)
    for group in together.values():
        done = ", ".join(f"{small(one.name)} {_moved(one, decimals)}" for one in group)
        of = f"{group[0].of}, " if group[0].of else ""
        yield capital(f"{of}{count_words(group[0].tests, 'test')}{_over(group[0])}: {done}.")


def alone_sentences(falls: Sequence[ChamberFall], decimals: int) -> Iterator[str]:
    """What got worse by more than tests scatter, and by more than that beyond the others."""
    for fall in falls:
        if fall.alone:
            of = f"{small(fall.of)}, " if fall.of else ""
            yield capital(f"{of}{small(fall.name)} {_moved(fall, decimals)}{_over(fall)}{_others(fall, decimals)}.")


def rule_sentence(test: str, name: str, unit: str) -> str:
    """How much counts as near a limit, and as a fall of its own: common practice."""
    scatter = usual_scatter(test, unit)
    if scatter is None:
        return ""
    much = percent_words(scatter.share) if scatter.share else f"{figure_words(scatter.amount, 0)} points of percent"
    return (
        f"{capital(name)}: two tests of one engine commonly differ by up to {much}; this is common practice. What is "
        "nearer than that to its limit is near it; what got worse over three tests or more by more than that, and by "
        "that much more than the others, is named."
    )


def _over(fall: ChamberFall) -> str:
    """` over 31.0 h and 3 assemblies`: between builds parts were renewed, and the reader must know."""
    spans = [amount_words(fall.hours, "hours")] if fall.hours else []
    spans += [f"{fall.assemblies} assemblies"] if fall.assemblies > 1 else []
    return f" over {' and '.join(spans)}" if spans else ""


def _moved(fall: ChamberFall, decimals: int) -> str:
    """`fell 108 kPa`: the figure itself falls or rises, whichever of them is worse."""
    figure = figure_words(abs(fall.change), decimals)
    if figure == figure_words(0.0, decimals):
        return "did not move"
    falls = (fall.change > 0) == (fall.worse == "down")
    return f"{'fell' if falls else 'rose'} {unit_words(figure, fall.unit)}"


def _others(fall: ChamberFall, decimals: int) -> str:
    if fall.others is None:
        return ""
    figure = figure_words(abs(fall.others), decimals)
    who = "its neighbours" if fall.of else "the others"
    if figure == figure_words(0.0, decimals):
        return f", {who} did not move"
    back = " the other way" if fall.others < 0 else ""
    return f", {who} about {figure}{back}"
