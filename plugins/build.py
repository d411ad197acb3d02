"""Build a shop's site by one call, with the shop's own mkdocs.yml, or with ours where it has none.

In: the shop's folder and a folder to build to. Out: the site's first page. The generator runs in this process,
strictly, and without any of its quiet flags, which would let warnings pass.
"""

import logging
from collections.abc import Callable
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from mkdocs.commands.build import build
from mkdocs.config.base import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError

from engine_pages.placing.place import check_outside, in_its_place
from engine_pages.shipped import shipped

from .site import EnginePagesPlugin

NAME = "engine-pages"
CONFIG = "mkdocs.yml"
SITE = "site"  # the folder among the records that a site may stand in: git does not know it
Progress = Callable[[float, str], None]


def build_site(
    records: Path,
    to: Path,
    engine: str | None = None,
    edition: str = "crew",
    as_of: date | None = None,
    progress: Progress | None = None,
    take: str | None = None,
) -> Path:
    """Build the site of a shop, or of one engine, and return the path of its first page.

    What stands in `to` already is replaced where it is such a site; anything else is left alone and refused. Until the
    new site is whole nothing in `to` is touched: see `place`.
    progress: called with the share done, 0 to 1, and a word for what is being done. take: where a server on this
    machine takes what bench pages hand over. Raises mkdocs.exceptions.ConfigurationError with all that was warned of,
    PlaceError where the site cannot go there, OSError where it cannot be written.
    """
    check_outside(to.resolve(), records.resolve(), SITE)
    with TemporaryDirectory(prefix="engine-pages-") as nothing, in_its_place(to.resolve()) as new:
        config = _config(records.resolve(), new, Path(nothing))
        plugin = plugin_of(config)
        plugin.config.engine, plugin.config.edition = engine or plugin.config.engine, edition
        plugin.config.as_of = as_of or plugin.config.as_of
        plugin.progress, plugin.take = progress, take
        run(config)
    return to / "index.html"


def starter_config(to: Path, nothing: Path, name: str) -> MkDocsConfig:
    """The starter's own configuration, with no notes, for a site of this name."""
    notes = nothing / "notes"
    notes.mkdir()
    given: dict[str, Any] = {"site_dir": str(to), "docs_dir": str(notes), "site_name": name, "strict": True}
    given["extra"] = {"generator": False}  # no link of a shared page leaves it, and that of the theme's makers would
    return _load(shipped("site_template") / "starter" / "shop" / CONFIG, nothing / CONFIG, given)


def run(config: MkDocsConfig) -> None:
    """Build what is configured. ConfigurationError with all that the generator warned of."""
    config.plugins.on_startup(command="build", dirty=False)
    heard = _Heard()
    logging.getLogger("mkdocs").addHandler(heard)
    try:
        build(config)
    except Abort as stopped:  # it says that it stopped; what stopped it went to the log
        raise ConfigurationError("\n".join([*heard.said, str(stopped)])) from None
    finally:
        logging.getLogger("mkdocs").removeHandler(heard)
        config.plugins.on_shutdown()


class _Heard(logging.Handler):
    """Keeps what the generator warns of."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())


def _config(records: Path, to: Path, nothing: Path) -> MkDocsConfig:
    """The shop's own configuration or ours; notes that are not there are none."""
    own = records / CONFIG
    given: dict[str, Any] = {"site_dir": str(to), "strict": True}
    if not own.is_file():
        given["docs_dir"] = str(records / "notes") if (records / "notes").is_dir() else str(nothing)
    return _load(own if own.is_file() else shipped("site_template") / "starter" / "shop" / CONFIG, own, given)


def _load(written: Path, called: Path, given: dict[str, Any]) -> MkDocsConfig:
    with written.open("rb") as file:
        return load_config(file, config_file_path=str(called), **given)


def plugin_of(config: MkDocsConfig) -> EnginePagesPlugin:
    """Our plugin among the configured ones."""
    plugin = config.plugins.get(NAME)
    if not isinstance(plugin, EnginePagesPlugin):
        raise ConfigurationError(f"{config.config_file_path} does not name {NAME} among its plugins")
    return plugin
