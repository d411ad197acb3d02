"""The bench's light: a scene of surfaces in, a photo's pixels out.

A `Scene` holds, for every pixel, how the surface slopes, which way it was brushed, how rough it is along and across
the brush marks, its colour and how much of the room's light reaches it. Lamps stand where they stand in every
picture, so that the same part looks the same on two dates. Highlights are Beckmann lobes in slope space (a microfacet
model), broadened by the lamp's own size: cheap, and it gives brushed metal its drawn-out shine.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from PIL import Image

from engine_pages.demo.metal import Canvas, Colour, Field, blurred, noise, resize, whole_canvas


class Finish(Struct, frozen=True):
    """A material: colour in linear light, roughness along and across its brush marks, and the share that mirrors."""

    colour: Colour
    along: float = 0.3
    across: float = 0.3
    gloss: float = 0.8

    def tinted(self, factor: float) -> Finish:
        """The same finish, lighter or darker."""
        r, g, b = self.colour
        return replace(self, colour=(r * factor, g * factor, b * factor))


STEEL = Finish((0.50, 0.51, 0.53), 0.10, 0.30)
GROUND = Finish((0.56, 0.57, 0.59), 0.07, 0.20, 0.9)
IRON = Finish((0.29, 0.285, 0.28), 0.16, 0.34, 0.74)
CAST_IRON = Finish((0.13, 0.13, 0.132), 0.5, 0.5, 0.35)
ALUMINIUM = Finish((0.60, 0.605, 0.61), 0.16, 0.34, 0.75)
CAST_ALUMINIUM = Finish((0.40, 0.40, 0.40), 0.5, 0.5, 0.4)
CHROME = Finish((0.46, 0.472, 0.49), 0.07, 0.20, 0.92)
OVERLAY = Finish((0.30, 0.302, 0.312), 0.18, 0.34, 0.62)
BARRIER = Finish((0.56, 0.545, 0.505), 0.12, 0.26, 0.85)
COPPER = Finish((0.50, 0.258, 0.168), 0.18, 0.34, 0.70)
BACKING = Finish((0.33, 0.36, 0.405), 0.12, 0.28, 0.85)
BRONZE = Finish((0.58, 0.43, 0.20), 0.16, 0.28, 0.8)
CARBON = Finish((0.028, 0.024, 0.021), 0.45, 0.45, 0.35)
VARNISH = Finish((0.17, 0.085, 0.03), 0.3, 0.3, 0.5)
VOID = Finish((0.004, 0.004, 0.005), 0.7, 0.7, 0.2)
RUBBER = Finish((0.02, 0.02, 0.021), 0.45, 0.45, 0.35)


class Lamp(Struct, frozen=True):
    """A light over the bench: where it is mirrored (slopes), its size as slopes, its strength and its tint."""

    p: float
    q: float
    size_x: float
    size_y: float
    strength: float
    tint: Colour


# A soft box over the bench on the left, a tube lamp behind it, the daylight of a door on the right, the bench below.
LAMPS = (
    Lamp(-0.17, -0.24, 0.24, 0.20, 0.50, (1.0, 0.985, 0.955)),
    Lamp(0.05, -0.72, 0.80, 0.07, 0.16, (0.97, 1.0, 1.0)),
    Lamp(0.62, 0.22, 0.26, 0.40, 0.13, (0.90, 0.96, 1.08)),
    Lamp(-0.05, 1.25, 0.80, 0.30, 0.12, (1.0, 0.98, 0.95)),
)
KEY = (-0.40, -0.52, 0.755)  # towards the soft box
CAMERA_HEIGHT = 2.6  # picture heights between lens and bench: how much a flat plate's shine changes across the picture


class Scene:
    """What lies before the camera, pixel by pixel; subjects are laid on it one over the other."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.slope_x = np.zeros(canvas.shape, dtype=np.float32)
        self.slope_y = np.zeros(canvas.shape, dtype=np.float32)
        self.brush_x = np.ones(canvas.shape, dtype=np.float32)
        self.brush_y = np.zeros(canvas.shape, dtype=np.float32)
        self.along = np.full(canvas.shape, 0.5, dtype=np.float32)
        self.across = np.full(canvas.shape, 0.5, dtype=np.float32)
        self.gloss = np.full(canvas.shape, 0.2, dtype=np.float32)
        self.shade = np.ones(canvas.shape, dtype=np.float32)
        self.colour = np.full((*canvas.shape, 3), 0.03, dtype=np.float32)

    def lay(
        self,
        part: Canvas,
        mask: Field,
        finish: Finish,
        slope: tuple[Field | float, Field | float] | None = (0.0, 0.0),
        brush: tuple[Field | float, Field | float] | None = None,
        tone: Field | None = None,
        lit: bool = True,
    ) -> None:
        """Lay a surface over what is there, where `mask` is above 0.

        `slope` None keeps the slopes beneath (a stain, a worn patch), `brush` None the brush marks' direction; `tone`
        multiplies the colour; `lit` takes away the shadow that fell on what lay there before.
        """
        rows, columns = _where(mask)
        if rows is None or columns is None:
            return
        m = np.ascontiguousarray(np.broadcast_to(mask, part.shape)[rows, columns])
        here = (
            slice(part.top + rows.start, part.top + rows.stop),
            slice(part.left + columns.start, part.left + columns.stop),
        )
        cut = (rows, columns)
        if slope is not None:
            _mix(self.slope_x, here, m, _cut(slope[0], part, cut))
            _mix(self.slope_y, here, m, _cut(slope[1], part, cut))
        if brush is not None:
            _mix(self.brush_x, here, m, _cut(brush[0], part, cut))
            _mix(self.brush_y, here, m, _cut(brush[1], part, cut))
        _mix(self.along, here, m, finish.along)
        _mix(self.across, here, m, finish.across)
        _mix(self.gloss, here, m, finish.gloss)
        if lit:
            _mix(self.shade, here, m, 1.0)
        shade = 1.0 if tone is None else _cut(tone, part, cut)
        for channel in range(3):
            _mix(self.colour[..., channel], here, m, shade * finish.colour[channel])

    def bend(self, part: Canvas, slope_x: Field, slope_y: Field) -> None:
        """Add slopes to what is there: a groove, a ridge, the ripple of brush marks."""
        here = _place(part)
        self.slope_x[here] += slope_x
        self.slope_y[here] += slope_y

    def dim(self, part: Canvas, light: Field) -> None:
        """Take light away: a shadow, the inside of a corner, dirt. `light` is what is left, 0…1."""
        self.shade[_place(part)] *= light

    def tint(self, part: Canvas, mask: Field, colour: Colour) -> None:
        """Multiply the colour where `mask` is 1: a heat colour, a film of varnish."""
        here = _place(part)
        for channel in range(3):
            self.colour[..., channel][here] *= 1 + mask * (colour[channel] - 1)

    def cast(self, part: Canvas, mask: Field, height: float, depth: float = 0.8) -> None:
        """The shadow that something `height` picture heights thick casts away from the soft box, and its contact."""
        reach = int(4.5 * height / self.canvas.pixel) + 4
        top, left = max(0, part.top - reach), max(0, part.left - reach)
        bottom = min(self.canvas.height, part.top + part.height + reach)
        right = min(self.canvas.width, part.left + part.width + reach)
        wide = Canvas(self.canvas.x[:, left:right], self.canvas.y[top:bottom], left, top, part.pixel)
        frame = np.zeros(wide.shape, dtype=np.float32)
        row, column = part.top - top, part.left - left
        frame[row : row + part.height, column : column + part.width] = mask
        down = min(int(height * 0.8 / part.pixel), wide.height)
        aside = min(int(down * 0.75), wide.width)
        moved = np.zeros_like(frame)
        moved[down:, aside:] = frame[: wide.height - down, : wide.width - aside]
        soft = blurred(moved, wide, height * 1.1)
        near = blurred(frame, wide, height * 0.45)
        self.dim(wide, (1 - depth * soft) * (1 - (0.45 * depth) * near))


def _place(part: Canvas) -> tuple[slice, slice]:
    return slice(part.top, part.top + part.height), slice(part.left, part.left + part.width)


def _where(mask: Field) -> tuple[slice | None, slice | None]:
    rows = np.flatnonzero((mask > 0.002).any(axis=1))
    columns = np.flatnonzero((mask > 0.002).any(axis=0))
    if not len(rows):
        return None, None
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def _cut(value: Field | float, part: Canvas, cut: tuple[slice, slice]) -> Field | float:
    return value if isinstance(value, (int, float)) else np.broadcast_to(value, part.shape)[cut]


def _mix(target: Field, here: tuple[slice, slice], mask: Field, value: Field | float) -> None:
    old = target[here]
    old += mask * (value - old)


def exposed(scene: Scene) -> Field:
    """The light that reaches the lens, in linear light, (rows, columns, 3)."""
    canvas, sx, sy = scene.canvas, scene.slope_x, scene.slope_y
    facing = 1 / np.sqrt(1 + sx * sx + sy * sy)
    diffuse = np.clip((-KEY[0] * sx - KEY[1] * sy + KEY[2]) * facing, 0, None) * 0.85
    room = (0.30 + 0.70 * facing) * (1 + 0.22 * np.clip(sy + 0.6 * sx, -1, 1))
    matte = (diffuse + room * 0.32) * (1 - 0.72 * scene.gloss)
    shine = [room * 0.20 for _ in range(3)]
    spread = _spread(scene)
    for lamp in LAMPS:
        lobe = _lobe(lamp, canvas, scene, spread)
        for channel in range(3):
            shine[channel] += lobe * lamp.tint[channel]
    picture = np.empty((*canvas.shape, 3), dtype=np.float32)
    light = scene.shade * 1.25
    for channel in range(3):
        colour = scene.colour[..., channel]
        sheen = shine[channel] * (colour * scene.gloss + 0.012)
        picture[..., channel] = (colour * matte + sheen) * light
    return picture


def _spread(scene: Scene) -> tuple[Field, Field, Field]:
    """The surface's own scatter as a covariance of slopes: xx, xy, yy."""
    along, across = scene.along * scene.along, scene.across * scene.across
    bx, by = scene.brush_x, scene.brush_y
    return along * bx * bx + across * by * by, (along - across) * bx * by, along * by * by + across * bx * bx


def _lobe(lamp: Lamp, canvas: Canvas, scene: Scene, spread: tuple[Field, Field, Field]) -> Field:
    """One lamp's highlight: a Gaussian in slopes around where the surface would mirror the lamp into the lens."""
    dx = scene.slope_x + (lamp.p - canvas.x / (2 * CAMERA_HEIGHT))
    dy = scene.slope_y + (lamp.q - canvas.y / (2 * CAMERA_HEIGHT))
    xx = spread[0] + (lamp.size_x**2)
    yy = spread[2] + (lamp.size_y**2)
    xy = spread[1]
    det = xx * yy - xy * xy
    power = (yy * dx * dx - 2 * xy * dx * dy + xx * dy * dy) / det
    full = lamp.strength * 0.27
    return np.asarray(full * np.exp(-power) / np.sqrt(det), dtype=np.float32)


def developed(light: Field, grain: str, exposure: float = 1.0) -> Image.Image:
    """The finished picture: vignette, a film's shoulder, sRGB, and the sensor's grain, which `grain` alone fixes."""
    canvas = whole_canvas(light.shape[1], light.shape[0])
    fall = 1 - 0.46 * np.clip((canvas.x**2 + canvas.y**2) / 0.694, 0, 1) ** 1.25
    fine = noise(canvas, f"{grain}|fine", 620, 620)
    slow = resize(noise(canvas, f"{grain}|slow", 90, 90), canvas.shape)
    speck = (fine * 0.9 + slow * 0.35)[..., None]
    tone = 1 - np.exp(-(0.80 * exposure) * light * fall[..., None])
    steps = _SRGB[np.clip(tone * 4095, 0, 4095).astype(np.int32)]
    return Image.fromarray(np.clip(steps + speck + 0.5, 0, 255).astype(np.uint8), "RGB")


def _srgb_table() -> Field:
    """IEC 61966-2-1's curve from linear light (4096 steps) to 0…255, a little contrast laid over it."""
    linear = np.linspace(0, 1, 4096)
    curve = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    bowed = curve + 0.045 * np.sin(2 * np.pi * (curve - 0.5))
    return np.asarray(np.clip(bowed, 0, 1) * 255, dtype=np.float32)


_SRGB = _srgb_table()
