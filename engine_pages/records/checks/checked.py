"""Checked records: a shop loaded, resolved and fitted once, with every problem found. History begins from here."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from ..fitting import Fitting
from ..git import Repo
from ..load import Shop
from ..moments import DayOrder
from ..resolve import Resolved
from ..source import Problem


@dataclass(frozen=True, slots=True)
class Checked:
    """All that the checks and the history need of a shop. `resolved` by sheet path, `orders` by engine."""

    shop: Shop
    resolved: Mapping[str, Resolved]
    fitting: Fitting
    orders: Mapping[str, DayOrder]
    today: date
    repo: Repo | None
    problems: tuple[Problem, ...] = ()
    inbox: tuple[str, ...] = ()
