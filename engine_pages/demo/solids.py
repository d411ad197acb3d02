"""Simple solids, laid on a scene with the slopes that the lamps need: turned shafts, blocks, discs, holes, bolts
and pipes.

In: a scene, a place and sizes in picture heights, a finish. Out: nothing returned but the masks that a subject goes
on with. Parts that do not lie in the picture's plane (a shaft) are solids of revolution; the others are plates with
rounded edges.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from engine_pages.demo.light import STEEL, VOID, Finish, Scene
from engine_pages.demo.metal import Canvas, Field, box, disc, inside, ramp, slopes, streaks

Profile = Sequence[tuple[float, float]]  # station along the axis, radius


def turned(
    scene: Scene, profile: Profile, axis: float, finish: Finish, seed: str, upright: bool = False, cast: float = 0.0
) -> tuple[Canvas, Field]:
    """A solid of revolution about a line across the picture (or upright) at `axis`; returns its window and mask."""
    stations = np.array([station for station, _ in profile], dtype=np.float64)
    radii = np.array([radius for _, radius in profile], dtype=np.float64)
    low, high, wide = float(stations[0]), float(stations[-1]), float(radii.max()) * 1.03
    edge = 3 * scene.canvas.pixel
    ends = (low - edge, high + edge, axis - wide - edge, axis + wide + edge)
    part = scene.canvas.window(ends[2], ends[3], ends[0], ends[1]) if upright else scene.canvas.window(*ends)
    ahead, aside = (part.y, part.x - axis) if upright else (part.x, part.y - axis)
    radius = np.interp(ahead, stations, radii).astype(np.float32)
    beside = np.abs(aside) - radius
    beyond = np.maximum(low - ahead, ahead - high)
    mask = inside(np.maximum(beside, beyond), part)
    if cast:
        scene.cast(part, mask, cast)
    share = np.clip(aside / radius, -0.996, 0.996)
    rise = 1 / np.sqrt(1 - share * share)
    growth = np.gradient(radius.reshape(-1), part.pixel)
    lean = np.clip(growth.reshape(ahead.shape), -1.6, 1.6)
    marks = streaks(np.zeros((1, 1), dtype=np.float32), ahead, seed, 520.0) * 0.05
    along, away = lean * rise + marks, -share * rise
    slope = (away, along) if upright else (along, away)
    scene.lay(part, mask, finish, slope, (1.0, 0.0) if upright else (0.0, 1.0))
    scene.dim(part, 1 - mask * 0.42 * ramp(np.abs(share), 0.55, 1.0))
    return part, mask


def plate(
    scene: Scene,
    part: Canvas,
    distance: Field,
    finish: Finish,
    edge: float = 0.006,
    cast: float = 0.0,
    slope: tuple[Field | float, Field | float] = (0.0, 0.0),
    brush: tuple[Field | float, Field | float] | None = (1.0, 0.0),
    tone: Field | None = None,
) -> Field:
    """A flat thing with the outline `distance` (negative inside) and edges rounded over `edge`; returns its mask."""
    mask = inside(distance, part)
    if cast:
        scene.cast(part, mask, cast)
    gx, gy = slopes(distance, part)
    fall = -ramp(distance, -edge, 0.0) * 1.1
    scene.lay(part, mask, finish, (slope[0] + fall * gx, slope[1] + fall * gy), brush, tone)
    return mask


def block(
    scene: Scene,
    x: float,
    y: float,
    half_x: float,
    half_y: float,
    finish: Finish,
    edge: float = 0.008,
    cast: float = 0.0,
) -> None:
    """A rectangular block seen square on, its edges rounded."""
    reach = 4 * scene.canvas.pixel
    part = scene.canvas.window(x - half_x - reach, x + half_x + reach, y - half_y - reach, y + half_y + reach)
    plate(scene, part, box(part, x, y, half_x, half_y, min(edge, half_x, half_y)), finish, edge, cast)


def groove(scene: Scene, part: Canvas, distance: Field, half: float, depth: float = 0.9, dark: float = 0.6) -> None:
    """A groove along the line where `distance` is 0, `half` wide on each side."""
    gx, gy = slopes(distance, part)
    place = np.clip(distance / half, -1.4, 1.4)
    wall = np.where(np.abs(place) < 1.15, np.sin(place * (math.pi / 1.15)), 0).astype(np.float32) * depth
    scene.bend(part, wall * gx, wall * gy)
    scene.dim(part, 1 - dark * ramp(np.abs(place), 1.1, 0.5))


def hole(scene: Scene, x: float, y: float, radius: float, rim: Finish = STEEL, chamfer: float = 0.16) -> None:
    """A round hole with a bright chamfer; light reaches its lower wall."""
    reach = radius * (1.2 + chamfer)
    part = scene.canvas.window(x - reach, x + reach, y - reach, y + reach)
    away = disc(part, x, y, radius)
    ux, uy = (part.x - x) / radius, (part.y - y) / radius
    lip = inside(away - (chamfer * radius), part)
    scene.lay(part, lip, rim, (ux * 0.55, uy * 0.55), (-uy, ux))
    lit = ramp(ux * 0.7 + uy, -0.2, 1.3)
    scene.lay(part, inside(away, part), VOID, tone=1 + 12 * lit)


def bolt(scene: Scene, x: float, y: float, radius: float, finish: Finish = STEEL) -> None:
    """A hexagon head on its washer, seen from above."""
    reach = radius * 1.7
    part = scene.canvas.window(x - reach, x + reach, y - reach, y + reach)
    plate(scene, part, disc(part, x, y, radius * 1.35), finish, radius * 0.2, cast=radius * 0.35)
    dx, dy = part.x - x, part.y - y
    sides = [np.abs(dx * math.cos(a) + dy * math.sin(a)) for a in (0.3, 0.3 + math.pi / 3, 0.3 + 2 * math.pi / 3)]
    hexagon = np.maximum(np.maximum(sides[0], sides[1]), sides[2]) - (radius * 0.88)
    plate(scene, part, hexagon, finish, radius * 0.22, cast=radius * 0.25)


def pipe(scene: Scene, points: Sequence[tuple[float, float]], radius: float, finish: Finish, cast: float = 0.0) -> None:
    """A round pipe bent smoothly through `points`."""
    points = _curve(points)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    reach = radius + 4 * scene.canvas.pixel
    part = scene.canvas.window(min(xs) - reach, max(xs) + reach, min(ys) - reach, max(ys) + reach)
    nearest = np.full(part.shape, 1e9, dtype=np.float32)
    to_x, to_y = np.zeros(part.shape, dtype=np.float32), np.zeros(part.shape, dtype=np.float32)
    for (ax, ay), (bx, by) in itertools.pairwise(points):
        px, py = part.x - ax, part.y - ay
        ex, ey = bx - ax, by - ay
        t = np.clip((px * ex + py * ey) / (ex * ex + ey * ey + 1e-12), 0, 1)
        dx, dy = px - t * ex, py - t * ey
        away = np.hypot(dx, dy)
        closer = away < nearest
        nearest = np.where(closer, away, nearest)
        to_x, to_y = np.where(closer, dx, to_x), np.where(closer, dy, to_y)
    mask = inside(nearest - radius, part)
    if cast:
        scene.cast(part, mask, cast)
    share = np.clip(nearest / radius, 0, 0.985)
    rise = -1 / np.sqrt(1 - share * share) / radius
    scene.lay(part, mask, finish, (to_x * rise, to_y * rise))
    scene.dim(part, 1 - mask * 0.35 * ramp(share, 0.6, 1.0))


def _curve(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """A Catmull-Rom spline through the points, eight steps between each two; two points stay a straight line."""
    if len(points) < 3:
        return list(points)
    ends = [points[0], *points, points[-1]]
    path = []
    for a, b, c, d in zip(ends, ends[1:], ends[2:], ends[3:], strict=False):
        for step in range(8):
            t = step / 8
            weights = (-t + 2 * t**2 - t**3, 2 - 5 * t**2 + 3 * t**3, t + 4 * t**2 - 3 * t**3, t**3 - t**2)
            x, y = (sum(w * p[i] for w, p in zip(weights, (a, b, c, d), strict=True)) / 2 for i in (0, 1))
            path.append((x, y))
    return [*path, points[-1]]
