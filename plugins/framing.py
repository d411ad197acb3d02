"""A shared site set into the theme's frame, by one hand or by two.

The generator goes through all pages of a site, one after the other. Of two hands each has it go through all of them,
and lay out its own portion: the first fewer, since it also gathers what the search reads, and puts the files in place.
"""

import shutil
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from engine_pages.history.hands import Hands, one_hand
from engine_pages.pages.site import Site

from .build import plugin_of, run, starter_config
from .shared_theme import FramedTheme, SharedTheme
from .site import WHOLE, Portion

FEWEST_FOR_TWO: Final = 8  # pages: a second hand has the theme to read too
FIRST_PORTION: Final = 0.4  # of the pages, for the hand that gathers the search's index: both are done at once then


def frame_site(site: Site, to: Path, name: str, shared: SharedTheme, hands: Hands = one_hand) -> None:
    """Set a site that was made already into the theme's frame, in an empty folder; the theme's own files lie elsewhere.

    The configuration is the starter's: what a shop set for its crew, notes above all, is not for others. `hands`: who
    does it, in that folder and one beside it. Raises mkdocs.exceptions.ConfigurationError with all that was warned of.
    """
    paths = [page.path for page in site.pages]
    if hands is one_hand or len(paths) < FEWEST_FOR_TWO:
        _framed(site, to, name, shared, WHOLE)
        return
    own = frozenset(paths[: round(FIRST_PORTION * len(paths))])
    beside = to.with_name(f"{to.name}-beside")
    first, second = Portion(own, everything_else=True), Portion(frozenset(paths) - own, everything_else=False)
    hands([partial(_framed, site, to, name, shared, first), partial(_framed, site, beside, name, shared, second)])
    for page in sorted(beside.rglob("*.html")):
        (to / page.relative_to(beside)).parent.mkdir(parents=True, exist_ok=True)
        page.rename(to / page.relative_to(beside))
    shutil.rmtree(beside)


def _framed(site: Site, to: Path, name: str, shared: SharedTheme, portion: Portion) -> None:
    """What is of no use afterwards lies beside the site: where a hand was killed, others clear it away there."""
    with TemporaryDirectory(prefix="nothing-", dir=to.parent) as nothing:
        config = starter_config(to, Path(nothing), name)
        config.theme = FramedTheme.of(config.theme)
        plugin = plugin_of(config)
        plugin.given, plugin.shared, plugin.portion = site, shared, portion
        try:
            run(config)
        finally:  # the generator may keep the plugin for the next build in this process
            plugin.given, plugin.shared, plugin.portion = None, None, WHOLE
