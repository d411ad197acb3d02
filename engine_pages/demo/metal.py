"""Seeded noise and the finishes of machined metal.

In: a seed as text and a `Canvas` (a rectangle of the picture with its coordinates). Out: float32 fields over that
rectangle: noise in -1…1, brushed, turned and lapped streaks, masks with soft edges; and the `Finish` of each
material.

Lengths are in picture heights: x runs right and y down from the middle of the picture, so that a small picture shows
the same part as a large one. The random numbers come from the bit stream of PCG64, which numpy promises never to
change, and not from a Generator's methods, which it may improve.
"""

from __future__ import annotations

import hashlib

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from PIL import Image

Field = NDArray[np.floating]  # float32 wherever a whole picture is meant
Colour = tuple[float, float, float]


class Canvas(Struct, frozen=True):
    """A rectangle of the picture: `x` is a row, `y` a column, in picture heights from the picture's middle."""

    x: Field
    y: Field
    left: int
    top: int
    pixel: float  # one pixel, in picture heights

    @property
    def width(self) -> int:
        """Pixels across."""
        return int(self.x.shape[1])

    @property
    def height(self) -> int:
        """Pixels down."""
        return int(self.y.shape[0])

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns, as numpy has them."""
        return self.height, self.width

    def window(self, x0: float, x1: float, y0: float, y1: float) -> Canvas:
        """The part of this canvas between two corners; at least one pixel, clipped to the canvas."""
        c0, c1 = _span(self.x[0], x0, x1)
        r0, r1 = _span(self.y[:, 0], y0, y1)
        return Canvas(self.x[:, c0:c1], self.y[r0:r1], self.left + c0, self.top + r0, self.pixel)


def _span(line: Field, low: float, high: float) -> tuple[int, int]:
    count = int(line.shape[0])
    first = min(int(np.searchsorted(line, low)), count - 1)
    return first, max(int(np.searchsorted(line, high)), first + 1)


def whole_canvas(width: int, height: int, zoom: float = 1.0, right: float = 0.0, down: float = 0.0) -> Canvas:
    """The canvas of a whole picture in pixels; the camera may stand nearer (`zoom`) or look beside the middle."""
    pixel = 1.0 / (height * zoom)
    x = (np.arange(width, dtype=np.float32) + (0.5 - width / 2)) * pixel + right
    y = (np.arange(height, dtype=np.float32) + (0.5 - height / 2)) * pixel + down
    return Canvas(x[None, :], y[:, None], 0, 0, pixel)


def uniform(seed: str, count: int) -> Field:
    """`count` numbers in 0…1 that belong to `seed` and to nothing else.

    >>> bool((uniform("RB-1042", 4) == uniform("RB-1042", 9)[:4]).all())
    True
    """
    key = int.from_bytes(hashlib.sha256(seed.encode("utf-8")).digest()[:16], "big")
    raw = np.random.PCG64(key).random_raw(count)
    return np.asarray((raw >> np.uint64(40)).astype(np.float32) * (2.0**-24), dtype=np.float32)


def resize(field: Field, shape: tuple[int, int], smooth: bool = True) -> Field:
    """`field` stretched to `shape` (rows, columns): bicubic, or averaged over boxes where it gets smaller."""
    method = Image.Resampling.BICUBIC if smooth else Image.Resampling.BOX
    return np.asarray(Image.fromarray(field).resize((shape[1], shape[0]), method), dtype=np.float32)


def noise(canvas: Canvas, seed: str, across: float, down: float) -> Field:
    """Smooth noise of -1…1 with `across` and `down` cells a picture height, never finer than two pixels."""
    limit = 0.5 / canvas.pixel
    columns = max(2, int(min(across, limit) * canvas.width * canvas.pixel) + 2)
    rows = max(2, int(min(down, limit) * canvas.height * canvas.pixel) + 2)
    lattice = uniform(f"{seed}|{columns}x{rows}", rows * columns).reshape(rows, columns)
    return resize(lattice * 2 - 1, canvas.shape)


def cloud(canvas: Canvas, seed: str, cells: float, octaves: int = 4, stretch: float = 1.0) -> Field:
    """Noise on several scales, each twice as fine and half as strong; `stretch` draws it out across the picture."""
    total = np.zeros(canvas.shape, dtype=np.float32)
    weight = 0.0
    for octave in range(octaves):
        part = 0.55**octave
        total += noise(canvas, f"{seed}|{octave}", cells * 2**octave / stretch, cells * 2**octave) * part
        weight += part
    return total / (weight * 0.62)


def brushed(canvas: Canvas, seed: str, upright: bool = False) -> Field:
    """Streaks of -1…1 along a row (or a column): what a belt, a lap or a boring tool leaves."""
    total = np.zeros(canvas.shape, dtype=np.float32)
    for lines, reach, part in ((45.0, 0.5, 0.36), (170.0, 0.9, 0.5), (400.0, 1.4, 0.6), (700.0, 2.5, 0.5)):
        across, down = (lines, reach) if upright else (reach, lines)
        total += noise(canvas, f"{seed}|{lines}", across, down) * part
    return total


def streaks(along: Field, across: Field, seed: str, lines: float = 260.0) -> Field:
    """Streaks of -1…1 that follow curved coordinates, such as the rings that a lathe leaves."""
    total = np.zeros(np.broadcast_shapes(along.shape, across.shape), dtype=np.float32)
    for step, (scale, part) in enumerate(((0.25, 0.5), (1.0, 0.6))):
        table = uniform(f"{seed}|{step}", 4096) * 2 - 1
        place = across * (lines * scale) + 900.0
        base = np.floor(place)
        mix = place - base
        index = base.astype(np.int32) & 2047
        value = table[index] * (1 - mix) + table[index + 1] * mix
        total += value * part * (1 + 0.35 * np.sin(along * (3 + step)))
    return total


def ramp(value: Field, low: float, high: float) -> Field:
    """0 below `low`, 1 above `high` (or the other way about), an S between."""
    t = np.clip((value - low) / (high - low), 0, 1)
    return np.asarray(t * t * (3 - 2 * t), dtype=np.float32)


def inside(distance: Field, canvas: Canvas, soft: float = 1.3) -> Field:
    """The mask of what has a negative signed distance to an outline, its edge `soft` pixels wide on each side."""
    return ramp(distance, soft * canvas.pixel, -soft * canvas.pixel)


def box(canvas: Canvas, x: float, y: float, half_x: float, half_y: float, round_by: float = 0.0) -> Field:
    """Signed distance to a rectangle with rounded corners."""
    dx = np.abs(canvas.x - x) - (half_x - round_by)
    dy = np.abs(canvas.y - y) - (half_y - round_by)
    far = np.hypot(np.maximum(dx, 0), np.maximum(dy, 0))
    return np.asarray(far + np.minimum(np.maximum(dx, dy), 0) - round_by, dtype=np.float32)


def disc(canvas: Canvas, x: float, y: float, radius: float) -> Field:
    """Signed distance to a circle."""
    return np.asarray(np.hypot(canvas.x - x, canvas.y - y) - radius, dtype=np.float32)


def slopes(height: Field, canvas: Canvas) -> tuple[Field, Field]:
    """The slope of a surface across and down, from its height in picture heights."""
    across = np.empty_like(height)
    down = np.empty_like(height)
    run = 0.5 / canvas.pixel
    across[:, 1:-1] = (height[:, 2:] - height[:, :-2]) * run
    across[:, 0], across[:, -1] = across[:, min(1, height.shape[1] - 1)], across[:, max(-2, -height.shape[1])]
    down[1:-1] = (height[2:] - height[:-2]) * run
    down[0], down[-1] = down[min(1, height.shape[0] - 1)], down[max(-2, -height.shape[0])]
    return across, down


def blurred(field: Field, canvas: Canvas, radius: float) -> Field:
    """`field` spread over about `radius` picture heights: made small, smoothed and stretched again."""
    step = max(1, int(radius / canvas.pixel / 1.6))
    small = resize(field, (max(2, canvas.height // step), max(2, canvas.width // step)), smooth=False)
    for _ in range(2):
        padded = np.pad(small, 1, mode="edge")
        wide = (padded[:, :-2] + 2 * padded[:, 1:-1] + padded[:, 2:]) * 0.25
        small = (wide[:-2] + 2 * wide[1:-1] + wide[2:]) * 0.25
    return np.clip(resize(small, canvas.shape), field.min(), field.max())
