"""The commands that print figures: of an engine, of its season, of a change of fluid."""

from pathlib import Path

import click

from ..history.change_asked import AskedChange, ChangeError, ask_changes
from ..history.change_words import change_text
from ..history.figure_numbers import as_json
from ..history.figures import figures_json
from ..history.question_figures import change_figures, season_figures
from ..history.season_asked import Asked, SeasonError, ask_season
from ..history.season_words import season_text
from ..history.tell import tell_one
from .asking import day_of, known_engine, read_shop, records_option, revision_option, say, stop_on_errors


@click.command()
@click.argument("engine")
@records_option
@revision_option
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--edition", type=click.Choice(["crew"]), default="crew", show_default=True)
def figures(engine: str, folder: Path, revision: str | None, day: str | None, edition: str) -> None:
    """Print every figure of one engine as JSON."""
    checked = read_shop(folder, revision)
    stop_on_errors(checked, "nothing was reckoned")
    known_engine(checked, engine)
    told, _ = tell_one(checked, engine, day_of(day))
    say(figures_json(told, edition), nl=False)


@click.command()
@click.argument("engine")
@records_option
@click.option("--hours-each", type=click.FloatRange(min=0, max=10_000), help="Exposure of every event (hours, km …).")
@click.option("--events", type=click.IntRange(1, 1000), help="This many events in place of the plan's.")
@click.option("--renewed", multiple=True, metavar="PART", help="Take it as renewed: a part, a place, a set.")
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--json", "in_json", is_flag=True, help="Print figures as JSON.")
def season(
    engine: str, folder: Path, hours_each: float | None, events: int | None, renewed: tuple[str, ...],
    day: str | None, in_json: bool,
) -> None:  # fmt: skip
    """Does an engine last the season, or another one; what would renewing a part buy?"""
    checked = read_shop(folder, None)
    stop_on_errors(checked, "nothing was reckoned")
    known_engine(checked, engine)
    try:
        asked = ask_season(checked, engine, Asked(events, hours_each, frozenset(renewed)), day_of(day))
    except SeasonError as trouble:
        raise click.ClickException(str(trouble)) from None
    figures = {"engine": engine, **season_figures(asked)}
    say(as_json(figures) if in_json else f"{season_text(engine, asked)}\n", nl=False)


@click.command()
@records_option
@click.option("--fluid", required=True, help="oil, premix, fuel, filter, …, as the records name it.")
@click.option("--kind", help="One kind of part alone (rotor-bearing).")
@click.option("--from", "before", metavar="NAME", help="What was in before (ester-15w50).")
@click.option("--to", "after", metavar="NAME", help="What was in after.")
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--json", "in_json", is_flag=True, help="Print figures as JSON.")
def compare(
    folder: Path, fluid: str, kind: str | None, before: str | None, after: str | None, day: str | None, in_json: bool
) -> None:
    """Did a change of fluid help: wear before and after, within the same parts."""
    checked = read_shop(folder, None)
    stop_on_errors(checked, "nothing was reckoned")
    try:
        found = ask_changes(checked, AskedChange(fluid, kind, before, after), day_of(day))
    except ChangeError as trouble:
        raise click.ClickException(str(trouble)) from None
    texts = "\n\n".join(change_text(one) for one in found)
    say(as_json([change_figures(one) for one in found]) if in_json else f"{texts}\n", nl=False)
