"""How often Python looks for cycles among objects, where it makes very many that all stay."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

# New objects after which Python looks for cycles among the youngest, and how often among the older. Modules, records
# and stories are hundreds of thousands of objects that all stay; walking them at Python's own pace took a sixth of the
# time.
SELDOM: Final = (500_000, 50, 100)


def collect_seldom() -> None:
    """From here on Python looks for cycles less often, and among what comes from here on alone."""
    gc.set_threshold(*SELDOM)
    gc.freeze()


@contextmanager
def seldom_collected() -> Iterator[None]:
    """Meanwhile Python looks for cycles less often, and among what comes meanwhile alone."""
    before = gc.get_threshold()
    collect_seldom()
    try:
        yield
    finally:
        gc.unfreeze()
        gc.set_threshold(*before)
