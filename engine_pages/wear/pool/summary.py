"""What a pool says of its kind, as a small file: nodes and weights in, JSON and the lines of its parts out.

A part's line depends on the rest of the pool through this summary alone (the kind's line, the spreads, the common
sources), and beside it on the readings of its own group, the parts that share a gauge's zero with it on some sheet. So
the lines of whole groups follow from the summary and their own readings exactly as from all the pool's; of a group
that is not whole the zeros are judged by the readings that are given, which is a little less than is known.
"""

import hashlib
import json
from collections.abc import Hashable, Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import asdict

from engine_pages.wear.pool.grid import Nodes
from engine_pages.wear.pool.line import PartLine
from engine_pages.wear.pool.lines import LineTerms, kind_terms, line_terms
from engine_pages.wear.pool.numbers import Array, Numbers, PoolPart, Units, numbers_of, origin_of
from engine_pages.wear.pool.plan import Plan, plan_of

# Digits that are kept of every number: far more than any reading holds, few enough that machines agree on them.
DIGITS = 9


class Known(Struct, frozen=True):
    """What speaks in a summary: `readings` of `parts` parts; whether they say where parts start, and show a rate."""

    readings: int
    parts: int
    has_start: bool
    has_rate: bool


class JointSummary(Struct, frozen=True, eq=False):
    """The posterior of a pool's common terms: G nodes, each a triple (ω, τ, σ) with its weight.

    `omega`, `sigma` and the first column of `mean` (α, from the target moved by `units.shift`) are in the values' unit,
    `tau` and the second (β) in that unit per exposure; further columns belong to the common sources, each in its own
    standard deviations. `mean` is G × K, `covariance` G × K × K. Every number is rounded to nine digits, and lines are
    worked out from the rounded ones: what is stored is what was worked with.

    >>> from engine_pages.wear.measured import Measured
    >>> from engine_pages.wear.pool.fit import Frame, fit_pool
    >>> part = PoolPart("RB-1", ((9.0, Measured(60.056, 2e-6)), (20.0, Measured(60.061, 2e-6))), 60.051)
    >>> fit = fit_pool([part], Frame(new_width=0.022))
    >>> again = from_json(json.loads(json.dumps(fit.summary.to_json())))
    >>> again.digest == fit.summary.digest, again.lines([part])["RB-1"].at(30.0) == fit.lines["RB-1"].at(30.0)
    (True, True)
    """

    units: Units
    weights: Array
    omega: Array
    tau: Array
    sigma: Array
    mean: Array
    covariance: Array
    known: Known

    def lines(self, parts: Sequence[PoolPart], common: Sequence[Hashable] = ()) -> dict[str, PartLine]:
        """The lines of parts by their id, from their own readings and this summary; of whole groups exactly.

        `common` names the common sources in the order of the fit. A part without a reading gets its kind's line from
        its target, but none where its start is its own or nothing says where its kind starts. Empty where the pool
        shows no rate.
        """
        numbers = numbers_of(parts, self.units, common)
        return self.lines_of(parts, numbers, plan_of(numbers))

    def lines_of(self, parts: Sequence[PoolPart], numbers: Numbers, plan: Plan) -> dict[str, PartLine]:
        """As `lines`, from the parts' numbers in this summary's units."""
        if not self.known.has_rate:
            return {}
        nodes, lines = self.nodes(), {}
        measured = [part for part in parts if part.readings]
        if measured:
            lines = self._lines(measured, *line_terms(numbers, plan, nodes).moments(nodes))
        if self.known.has_start:
            unread = [part for part in parts if not part.readings and not part.own_intercept]
            mean, covariance = kind_terms(nodes).moments(nodes)
            lines |= self._lines(unread, mean.repeat(len(unread), axis=0), covariance.repeat(len(unread), axis=0))
        return {part.id: lines[part.id] for part in parts if part.id in lines}

    def terms(self, parts: Sequence[PoolPart], common: Sequence[Hashable] = ()) -> LineTerms:
        """The lines of measured parts of whole groups given α, β and the common sources at each of `nodes`, rescaled.

        For what has to be integrated over several parts at once: given these, parts are independent but for the zeros
        that they share, which come with them.
        """
        numbers = numbers_of(parts, self.units, common)
        return line_terms(numbers, plan_of(numbers), self.nodes(), with_zeros=True)

    def _lines(self, parts: Sequence[PoolPart], mean: Array, covariance: Array) -> dict[str, PartLine]:
        """Lines from rescaled means (P × 2 × G) and covariances (P × 2 × 2 × G)."""
        size = _sizes(self.units, 2)
        means = np.moveaxis(mean, -1, 1) * size
        covariances = np.moveaxis(covariance, -1, 1) * (size[:, None] * size[None, :])
        weights = self.weights / self.weights.sum()  # rounding leaves them a hair off one
        scatter, spoke = float(weights @ self.sigma), self.known.parts
        lines = {}
        for i, part in enumerate(parts):
            means[i, :, 0] += origin_of(part, self.units)
            lines[part.id] = PartLine(weights, means[i], covariances[i], scatter, len(part.readings), spoke)
        return lines

    def nodes(self) -> Nodes:
        """The nodes, rescaled; their likelihoods are in the weights."""
        size = _sizes(self.units, self.mean.shape[1])
        return Nodes(
            self.omega / size[0], self.tau / size[1], self.sigma / size[0], np.zeros(len(self.weights)),
            self.mean / size, self.covariance / (size[:, None] * size[None, :]),
        )  # fmt: skip

    def to_json(self) -> dict[str, Any]:
        """Plain numbers and lists; `from_json` gives the same summary back. Of a covariance the lower triangle."""
        rows, columns = np.tril_indices(self.mean.shape[1])
        return {
            "units": asdict(self.units),
            "known": asdict(self.known),
            **{name: getattr(self, name).tolist() for name in ("weights", "omega", "tau", "sigma", "mean")},
            "covariance": self.covariance[:, rows, columns].tolist(),
        }

    @property
    def digest(self) -> str:
        """SHA-256 of the canonical JSON: the name of the file by its content."""
        text = json.dumps(self.to_json(), sort_keys=True, separators=(",", ":"), allow_nan=False)
        return hashlib.sha256(text.encode()).hexdigest()


def from_json(written: dict[str, Any]) -> JointSummary:
    """A summary as `to_json` wrote it; KeyError, TypeError or ValueError where it is something else."""
    mean = np.array(written["mean"], dtype=np.float64).reshape(len(written["weights"]), -1)
    rows, columns = np.tril_indices(mean.shape[1])
    covariance = np.zeros((len(mean), mean.shape[1], mean.shape[1]))
    covariance[:, rows, columns] = covariance[:, columns, rows] = np.array(written["covariance"], dtype=np.float64)
    weights, omega, tau, sigma = (
        np.array(written[name], dtype=np.float64) for name in ("weights", "omega", "tau", "sigma")
    )
    units, known = Units(**written["units"]), Known(**written["known"])
    return JointSummary(units, weights, omega, tau, sigma, mean, covariance, known)


def summary_of(units: Units, nodes: Nodes, weights: Array, known: Known) -> JointSummary:
    """The summary of rescaled nodes and their weights, in the readings' units."""
    size = _sizes(units, nodes.mean.shape[1])
    both = size[:, None] * size[None, :]
    return JointSummary(
        units,
        rounded(weights),
        rounded(nodes.omega * size[0]),
        rounded(nodes.tau * size[1]),
        rounded(nodes.sigma * size[0]),
        rounded(nodes.mean * size),
        rounded(nodes.covariance * both),
        known,
    )


def _sizes(units: Units, columns: int) -> Array:
    """What each rescaled outer column is multiplied by: a value, a rate, and nothing for the common sources."""
    return np.array([units.value, units.value / units.exposure, *[1.0] * (columns - 2)])


def rounded(numbers: Array) -> Array:
    """Each number to nine significant digits.

    >>> rounded(np.array([0.1234567894, -2.0, 0.0])).tolist()
    [0.123456789, -2.0, 0.0]
    """
    size = np.abs(numbers)
    places = DIGITS - 1 - np.floor(np.log10(np.where(size > 0.0, size, 1.0)))
    up, down = 10.0 ** np.maximum(places, 0.0), 10.0 ** np.maximum(-places, 0.0)
    short: Array = np.round(numbers * up / down) / up * down
    return short
