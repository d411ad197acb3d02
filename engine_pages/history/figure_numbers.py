"""Numbers as figures give them: rounded to what double precision carries safely, never a word that is no JSON."""

import json
import math
from collections.abc import Iterable
from typing import Any

from ..wear.exposure import Exposure
from ..wear.limits import Limit

SIGNIFICANT = 9  # digits; a gauge gives six at the most


def as_json(figures: Any) -> str:
    """Figures as text, two blanks of indentation and a newline at the end."""
    return json.dumps(figures, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def limit_figures(limit: Limit | None) -> dict[str, float | None] | None:
    if limit is None:
        return None
    ends = (("min", limit.min), ("max", limit.max))
    return {name: number(value) for name, value in ends if value is not None}


def exposure_figures(exposure: Exposure) -> dict[str, Any]:
    figures: dict[str, Any] = {
        name: number(exposure.amount(name)) for name in ("hours", "km", "starts", "runs", "over_revs", "above_redline")
    }
    return {**figures, "at_least": True} if exposure.at_least else figures


def numbers(items: Iterable[tuple[str, float]]) -> dict[str, float | None]:
    return {name: number(value) for name, value in items}


def number(value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    rounded = float(f"{value:.{SIGNIFICANT}g}")
    return 0.0 if abs(rounded) < 1e-12 else rounded
