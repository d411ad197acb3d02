"""Wear that grows: the marks that grades 0…4 stand for.

In: a part's `Look` (view, grades, and a seed that belongs to the part and the view). Out: marks laid on a `Scene`.
Every mark comes from a field or a list that the seed fixes for the part's whole life; a grade only decides how much
of it has come through. So the copper of one teardown lies inside the copper of the next.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from PIL import Image, ImageDraw

from engine_pages.demo.light import CARBON, COPPER, VOID, Finish, Scene
from engine_pages.demo.look import COVERED, FELT, HEATED, LINES, SPECKS, STAINED, Look
from engine_pages.demo.metal import Canvas, Field, blurred, cloud, noise, ramp, resize, slopes, uniform


def grown(field: Field, share: float, over: Field | None = None, soft: float = 0.10) -> Field:
    """The mask of the highest `share` of `field`, counted over the pixels where `over` is set; edges `soft` wide
    in the field.
    """
    if share <= 0:
        return np.zeros_like(field)
    small = field[::4, ::4]
    counted = small if over is None else small[np.broadcast_to(over, field.shape)[::4, ::4] > 0.5]
    level = float(np.quantile(counted, 1 - share)) if counted.size else 1e9
    return ramp(field, level - soft / 2, level + soft / 2)


def strokes(canvas: Canvas, lines: Sequence[Field], widths: Sequence[float], strengths: Sequence[float]) -> Field:
    """How deep fine lines cut, 0…1: polylines of (x, y) in picture heights, each tapering to nothing at both ends."""
    image = Image.new("L", (canvas.width * 2, canvas.height * 2))
    draw = ImageDraw.Draw(image)
    for line, width, strength in zip(lines, widths, strengths, strict=True):
        pixels = (line - np.array([canvas.x[0, 0], canvas.y[0, 0]], dtype=np.float32)) * (2 / canvas.pixel)
        count = len(pixels) - 1
        for index in range(count):
            taper = math.sin(math.pi * (index + 0.5) / count) ** 0.6
            size = max(1, round(width * 2 / canvas.pixel * (0.5 + 0.5 * taper)))
            (x0, y0), (x1, y1) = pixels[index], pixels[index + 1]
            draw.line((float(x0), float(y0), float(x1), float(y1)), fill=round(255 * strength * taper), width=size)
    return resize(np.asarray(image, dtype=np.float32) / 255, canvas.shape, smooth=False)


class Way(Struct, frozen=True):
    """The way in which surfaces slide over each other: across the picture, up and down it, or round a hub."""

    upright: bool = False
    hub: tuple[float, float, float, float] | None = None  # x, y, smallest and largest radius

    def line(self, canvas: Canvas, start: float, reach: float, side: float, bow: float) -> Field:
        """A line that way, its place and length given as shares of the canvas."""
        t = np.linspace(0, 1, 24)
        if self.hub is not None:
            x, y, low, high = self.hub
            radius, turn = low + (high - low) * side, 2 * math.pi * start + (0.5 + 2.2 * reach) * t
            return np.stack([x + radius * np.cos(turn), y + radius * np.sin(turn)], axis=1).astype(np.float32)
        ahead = start * 0.75 - 0.05 + (0.12 + 0.55 * reach**1.4) * t
        aside = 0.04 + 0.92 * side + 0.006 * (bow - 0.5) * np.sin(3 * t + start)
        x_share, y_share = (aside, ahead) if self.upright else (ahead, aside)
        left, top = float(canvas.x[0, 0]), float(canvas.y[0, 0])
        wide, tall = canvas.width * canvas.pixel, canvas.height * canvas.pixel
        return np.stack([left + x_share * wide, top + y_share * tall], axis=1).astype(np.float32)


ACROSS = Way()
UPRIGHT = Way(upright=True)


def scored(
    scene: Scene, canvas: Canvas, mask: Field, seed: str, count: int, way: Way = ACROSS, strength: float = 1.0
) -> None:
    """Score marks along the way of sliding: the first `count` of a list that the seed fixes; some gather in tracks."""
    if count <= 0:
        return
    dice = uniform(f"{seed}|score", 64 * 6).reshape(64, 6).tolist()
    lines, widths, depths = [], [], []
    for place, start, reach, size, depth, bow in dice[:count]:
        side = dice[int(place * 5)][0] * 0.8 + place * 0.2 if size < 0.5 else place
        lines.append(way.line(canvas, start, reach, side, bow))
        widths.append((0.0011 + 0.0042 * size**3) * (0.6 + 0.4 * min(1.0, strength)))
        depths.append(0.35 + 0.65 * depth)
    engrave(scene, canvas, strokes(canvas, lines, widths, depths) * mask, strength)


def cracked(
    scene: Scene, canvas: Canvas, seed: str, grade: int, start: tuple[float, float], way: float, unit: float
) -> None:
    """A jagged crack from `start`, its length by the grade; `unit` is what 3 mm, a grade 3, measure in the picture."""
    if grade < 2:
        return
    length = unit * (0.0, 0.0, 0.6, 1.0, 2.6)[grade]
    bends = uniform(f"{seed}|crack", 26) - 0.5
    t = np.linspace(0, 1, 26)
    aside = np.cumsum(bends) * length * 0.10
    x = start[0] + length * t * math.cos(way) - aside * math.sin(way)
    y = start[1] + length * t * math.sin(way) + aside * math.cos(way)
    line = np.stack([x, y], axis=1).astype(np.float32)
    depth = strokes(canvas, [line], [0.0028], [1.0])
    engrave(scene, canvas, depth, 1.2)
    scene.dim(canvas, 1 - 0.7 * depth)


def engrave(scene: Scene, canvas: Canvas, depth: Field, strength: float = 1.0) -> None:
    """Cut `depth` (0…1) into the surface: its flanks catch the light and its bottom lies in shadow."""
    sx, sy = slopes(depth * (-0.0016 * strength), canvas)
    scene.bend(canvas, np.clip(sx, -0.8, 0.8), np.clip(sy, -0.8, 0.8))
    scene.dim(canvas, 1 - (0.55 * min(1.0, strength)) * depth)


def specks(canvas: Canvas, seed: str, count: int, size: float, weight: Field | None = None) -> Field:
    """A mask of small irregular spots, the first `count` of those that the seed fixes; fewer where `weight` is low."""
    image = Image.new("L", (canvas.width * 2, canvas.height * 2))
    draw = ImageDraw.Draw(image)
    for x, y, s, turn, bar in uniform(f"{seed}|specks", 400 * 5).reshape(400, 5)[:count]:
        column, row = int(x * (canvas.width - 1)), int(y * (canvas.height - 1))
        if weight is not None and weight[row, column] < 0.15 + 0.7 * bar:
            continue
        radius = size * (0.3 + 0.9 * float(s) ** 3) * 2 / canvas.pixel
        spin = uniform(f"{seed}|{x:.6f}", 7) * 0.7 + 0.55
        points = []
        for corner, reach in enumerate(spin):
            angle = 2 * math.pi * (corner + float(turn)) / len(spin)
            points.append((column * 2 + radius * reach * math.cos(angle), row * 2 + radius * reach * math.sin(angle)))
        draw.polygon(points, fill=255)
    return resize(np.asarray(image, dtype=np.float32) / 255, canvas.shape, smooth=False)


def pitted(
    scene: Scene, canvas: Canvas, mask: Field, seed: str, count: int, size: float, weight: Field | None = None
) -> None:
    """Small craters with a lit far edge."""
    if count <= 0:
        return
    spots = specks(canvas, seed, count, size, weight) * mask
    spots = np.maximum(spots * 0.6, blurred(spots, canvas, 2.5 * canvas.pixel))
    sx, sy = slopes(spots * -0.0022, canvas)
    scene.bend(canvas, np.clip(sx, -0.9, 0.9), np.clip(sy, -0.9, 0.9))
    scene.dim(canvas, 1 - 0.62 * spots)


def heat_tinted(scene: Scene, canvas: Canvas, mask: Field, seed: str, grade: int) -> None:
    """Temper colours: straw at the edge of the heat, then brown, and blue within from grade 3 on."""
    if not grade:
        return
    heat = blurred(cloud(canvas, f"{seed}|heat", 1.3, 3, 1.4), canvas, 0.03)
    share = HEATED[grade]
    scene.tint(canvas, mask * grown(heat, min(0.95, share), mask, 0.6), (0.97, 0.83, 0.58))
    if grade >= 2:
        scene.tint(canvas, mask * grown(heat, share * 0.55, mask, 0.4), (0.84, 0.68, 0.66))
    if grade >= 3:
        scene.tint(canvas, mask * grown(heat, (0, 0, 0, 0.16, 0.55)[grade], mask, 0.3), (0.60, 0.80, 1.45))


def stained(scene: Scene, canvas: Canvas, mask: Field, seed: str, grade: int) -> None:
    """Deposit on a machined face: a translucent brown film."""
    if not grade:
        return
    field = cloud(canvas, f"{seed}|film", 2.4, 5, 1.3)
    film = mask * grown(field, min(0.95, COVERED[grade] * 1.1), mask, 0.9)
    scene.tint(canvas, film * (0.35 + 0.15 * grade), (0.58, 0.42, 0.25))


def crust(scene: Scene, canvas: Canvas, mask: Field, seed: str, share: float, zone: Field | None = None) -> None:
    """Black carbon, dull and lumpy, over the `share` of the mask where it settles first; a brown film at its border."""
    field = cloud(canvas, seed, 3.0, 6, 1.3) + (0 if zone is None else zone)
    border = mask * grown(field, min(0.98, share * 1.25 + 0.03), mask, 0.8)
    scene.tint(canvas, border * 0.8, (0.50, 0.36, 0.22))
    cover = mask * grown(field, share, mask, 0.36)
    lumps = cloud(canvas, f"{seed}|lumps", 30, 4)
    sx, sy = slopes(lumps * 0.0019, canvas)
    ashy = 1 + 0.45 * lumps + 1.1 * ramp(cloud(canvas, f"{seed}|ash", 7, 4), 0.1, 0.9)
    scene.lay(canvas, cover * 0.95, CARBON, slope=None, tone=ashy, lit=False)
    scene.bend(canvas, sx * cover, sy * cover)


def corroded(scene: Scene, canvas: Canvas, mask: Field, seed: str, grade: int) -> None:
    """Stain first, then rough etched spots within it, brown at their borders, and pits."""
    if not grade:
        return
    field = cloud(canvas, f"{seed}|rust", 6.5, 6) + 0.25 * noise(canvas, f"{seed}|grit", 150, 150)
    share = STAINED[grade]
    halo = mask * grown(field, share, mask, 0.7)
    scene.tint(canvas, halo * (0.16 + 0.15 * grade), (0.70, 0.53, 0.38))
    if grade == 1:
        return
    core = mask * grown(field, share * 0.30, mask, 0.14)
    rough = noise(canvas, f"{seed}|rough", 260, 260)
    sx, sy = slopes(blurred(core, canvas, 0.0025) * -0.0022, canvas)
    rust = Finish((0.105, 0.066, 0.042), 0.6, 0.6, 0.3)
    slope = (rough * 0.22 + sx * 2, np.roll(rough, 7, 0) * 0.22 + sy * 2)
    scene.lay(canvas, core * 0.78, rust, slope, tone=1 + 0.5 * rough, lit=False)
    pitted(scene, canvas, halo, f"{seed}|rustpits", SPECKS[grade] * 2, 0.005, halo)


def embedded(scene: Scene, canvas: Canvas, mask: Field, look: Look) -> None:
    """Dirt pressed into a soft layer: dark grains, each in a small bright burnished ring."""
    grade = look.grade("embedment")
    if not grade:
        return
    grains = specks(canvas, f"{look.seed}|embed", look.count("embedment", SPECKS), 0.0042) * mask
    ring = np.clip(blurred(grains, canvas, 3.5 * canvas.pixel) * 1.6, 0, 1)
    burnished = COPPER if grade > 2 else Finish((0.55, 0.54, 0.52))
    scene.lay(canvas, ring * 0.55, burnished, None, lit=False)
    scene.lay(canvas, grains * 0.9, VOID, slope=None, lit=False)


def weathered(
    scene: Scene, canvas: Canvas, mask: Field, look: Look, way: Way = ACROSS, leave: frozenset[str] = frozenset()
) -> None:
    """The marks that any machined surface can carry, less those that the subject draws its own way (`leave`)."""
    shown = Look(look.view, {mark: grade for mark, grade in look.grades.items() if mark not in leave}, look.seed)
    seed = look.seed
    heat_tinted(scene, canvas, mask, seed, shown.grade("discolour"))
    stained(scene, canvas, mask, seed, shown.grade("deposit"))
    corroded(scene, canvas, mask, seed, shown.grade("corrosion"))
    embedded(scene, canvas, mask, shown)
    if shown.grade("pitting"):
        pitted(scene, canvas, mask, f"{seed}|pits", shown.count("pitting", SPECKS), 0.007)
    if shown.grade("scoring"):
        scored(scene, canvas, mask, seed, shown.count("scoring", LINES), way, FELT[shown.grade("scoring")])
    fine = max(shown.grade("scratches"), shown.grade("scuffing"), 1 if shown.grade("overlay") else 0)
    scored(scene, canvas, mask, f"{seed}|fine", LINES[fine], way, 0.3)
