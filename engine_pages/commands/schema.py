"""The command that writes what an editor needs to know of records."""

from pathlib import Path

import click

from ..records.schemas import KINDS, file_name, schema_text
from .asking import say


@click.command()
@click.argument("kind", type=click.Choice(list(KINDS)), required=False)
@click.option("--to", "out", type=click.Path(path_type=Path, file_okay=False), help="Write into this folder instead.")
def schema(kind: str | None, out: Path | None) -> None:
    """Print the JSON Schema of a kind of record, or write them all: an editor shows what is wrong as you type."""
    if out is None:
        names = "".join(f"{name:<12}{record.path}\n" for name, record in KINDS.items())
        say(schema_text(kind) if kind else names, nl=False)
        return
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name in [kind] if kind else KINDS:
            (out / file_name(name)).write_text(schema_text(name), encoding="utf-8", newline="\n")
            say(str(out / file_name(name)))
    except OSError as trouble:
        raise click.ClickException(f"the schemas could not be written: {trouble}") from None
