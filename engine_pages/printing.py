"""Print to a stream that may be full or closed."""

import os
import sys

import click


def say(text: str, nl: bool = True) -> None:
    """Print, or say on the other stream why that was not possible. Who closes a pipe has read enough: quiet."""
    try:
        click.echo(text, nl=nl)
    except BrokenPipeError:
        raise  # click ends quietly on it
    except OSError as trouble:
        # What could not be written would be tried again at the end, and fail again there.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise click.ClickException(f"the output could not be written: {trouble.strerror}") from None
