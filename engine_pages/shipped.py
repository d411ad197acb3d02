"""Where the files lie that come with the program: beside this package in the source tree, inside it once installed."""

from pathlib import Path
from typing import Final

PLACES: Final = {"site_template": "site_template", "demo": "demo/shop"}  # inside the installed package
SOURCES: Final = {"site_template": "site_template", "demo": "records"}  # at the top of the source tree


def shipped(what: str) -> Path:
    """The folder of templates (`site_template`) or of the demo shop (`demo`). FileNotFoundError where it is missing."""
    package = Path(__file__).parent
    for folder in (package / PLACES[what], package.parent / SOURCES[what]):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"{SOURCES[what]} is missing: engine_pages is not installed whole")
