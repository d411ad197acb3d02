"""What is seen in the shop rather than on the bench cloth: a filter opened out, a whole engine on its stand; and
any other part.

In: a scene and a part's `Look`. Out: the thing laid on the scene; each function returns how many centimetres the
picture's height shows, 0 where a strip would mean nothing.
"""

from __future__ import annotations

import math

import numpy as np

from engine_pages.demo.bench import cloth
from engine_pages.demo.light import (
    COPPER,
    GROUND,
    RUBBER,
    STEEL,
    Finish,
    Scene,
)
from engine_pages.demo.look import Look
from engine_pages.demo.marks import Way, specks, weathered
from engine_pages.demo.metal import Field, cloud, inside, noise, ramp, slopes, streaks, uniform
from engine_pages.demo.solids import block, hole, pipe, plate, turned

PAPER = Finish((0.30, 0.205, 0.085), 0.34, 0.34, 0.45)
ENAMEL = Finish((0.040, 0.062, 0.085), 0.18, 0.18, 0.55)
WALL = Finish((0.115, 0.118, 0.120), 0.7, 0.7, 0.05)
FLOOR = Finish((0.150, 0.148, 0.142), 0.45, 0.45, 0.25)
FLECKS = (0, 4, 13, 34, 90)  # flakes in the pleats at grades 0…4 (1: up to 5, 2: up to 20, 3: over 20)


def oil_filter(scene: Scene, look: Look) -> float:
    """A filter's paper, cut out and opened, soaked in oil; flakes of metal by the grade."""
    canvas, pitch = scene.canvas, 0.128
    sway = 0.010 * noise(canvas, f"{look.seed}|sway", 1.2, 1.2)
    phase = (canvas.x + sway) / pitch
    fold = np.abs(phase - np.floor(phase) - 0.5) * 2
    soft = np.clip(np.sin(phase * (2 * math.pi)) * -3.2, -1, 1)
    crease = cloud(canvas, f"{look.seed}|paper", 30, 3) * 0.0007
    cx, cy = slopes(crease, canvas)
    wet = 1 + 0.22 * cloud(canvas, f"{look.seed}|oil", 2.2, 4) + 0.08 * noise(canvas, f"{look.seed}|fibre", 260, 320)
    everywhere = np.ones(canvas.shape, dtype=np.float32)
    scene.lay(canvas, everywhere, PAPER, (soft * 0.95 + cx, cy), (0.0, 1.0), wet)
    scene.dim(canvas, 0.16 + 0.84 * ramp(fold, 0.05, 0.85))
    _flakes(scene, look, fold)
    return 8.4


def _flakes(scene: Scene, look: Look, fold: Field) -> None:
    canvas = scene.canvas.window(-0.64, 0.64, -0.48, 0.36)  # above the strip and the card, where they can be counted
    rows, columns = slice(canvas.top, canvas.top + canvas.height), slice(canvas.left, canvas.left + canvas.width)
    lie = ramp(fold[rows, columns], 0.08, 0.5)
    count = look.count("flecks", FLECKS)
    for name, share, finish, size in (
        ("white", 0.6, GROUND.tinted(1.3), 0.0092),
        ("copper", 0.4, COPPER.tinted(1.25), 0.0088),
    ):
        spots = specks(canvas, f"{look.seed}|{name}", round(count * share), size)
        turn = noise(canvas, f"{look.seed}|{name}|turn", 160, 160)
        dark = np.clip(np.roll(spots, (2, 2), (0, 1)) - spots, 0, 1)
        scene.dim(canvas, 1 - 0.6 * dark)
        scene.lay(canvas, spots * (0.6 + 0.4 * lie), finish, (turn * 0.4 + 0.15, turn * 0.3 + 0.22), None)
    if look.grade("flecks") == 4:
        for x, y, turn, long in uniform(f"{look.seed}|sliver", 4 * 9).reshape(9, 4):
            reach = 0.010 + 0.014 * float(long)
            angle = math.pi * float(turn)
            start = (float(x) * 1.2 - 0.6, float(y) * 0.8 - 0.45)
            pipe(
                scene,
                [start, (start[0] + reach * math.cos(angle), start[1] + reach * math.sin(angle))],
                0.0016,
                GROUND.tinted(1.3),
                0.004,
            )


def machined_part(scene: Scene, look: Look) -> float:
    """A turned flange: what stands in for any part that has no drawing of its own."""
    canvas, top = scene.canvas, -0.045
    cloth(scene, look.seed)
    x, y = canvas.x, canvas.y - top
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    ux, uy = x / np.maximum(radius, 0.02), y / np.maximum(radius, 0.02)
    rings = streaks(angle, radius, look.seed, 420.0) * 0.05
    slope, brush = (rings * ux, rings * uy), (-uy, ux)
    face = plate(scene, canvas, radius - 0.37, STEEL.tinted(0.75), 0.010, 0.05, slope, brush)
    raised = radius - 0.215
    scene.cast(canvas, inside(raised, canvas), 0.02)
    plate(scene, canvas, raised, STEEL.tinted(0.9), 0.008, 0.0, slope, brush)
    for index in range(6):
        spot = math.pi / 3 * (index + 0.5)
        hole(scene, 0.292 * math.cos(spot), top + 0.292 * math.sin(spot), 0.022, STEEL, 0.3)
    weathered(scene, canvas, face, look, Way(hub=(0.0, top, 0.12, 0.36)))
    hole(scene, 0.0, top, 0.115, STEEL, 0.10)
    return 12.0


def workshop(scene: Scene, look: Look) -> None:
    """A plain wall out of focus, a concrete floor, and the pool of light in which the stand is."""
    canvas = scene.canvas
    low = ramp(canvas.y + 0 * canvas.x, 0.235, 0.265)
    wall = 0.62 + 0.08 * cloud(canvas, f"{look.seed}|plaster", 1.6, 3)
    wall += 0.85 * np.exp(-((canvas.x + 0.10) ** 2) * 5 - (canvas.y + 0.16) ** 2 * 9)
    everywhere = np.ones(canvas.shape, dtype=np.float32)
    scene.lay(canvas, everywhere, WALL, (0.0, 0.1), tone=wall)
    for x, wide, tall, tone in ((-0.62, 0.075, 0.34, 0.50), (0.60, 0.10, 0.25, 0.58), (0.475, 0.03, 0.14, 0.75)):
        upright = ramp(np.abs(canvas.x - x), wide + 0.022, wide - 0.022)
        shelf = upright * ramp(canvas.y, 0.20 - tall, 0.245 - tall) * (1 - low)
        scene.dim(canvas, 1 - (1 - tone) * shelf)
    pool = np.exp(-((canvas.x / 0.5) ** 2) - ((canvas.y - 0.40) / 0.16) ** 2)
    stains = 1 + 0.10 * cloud(canvas, f"{look.seed}|floor", 6, 4, 3.0)
    scene.lay(canvas, low, FLOOR, (0.0, -0.05), tone=(0.55 + 0.8 * pool) * stains)
    shadow = np.exp(-((canvas.x / 0.36) ** 4) - ((canvas.y - 0.405) / 0.035) ** 2)
    scene.dim(canvas, 1 - 0.72 * shadow)


def lit_from_above(scene: Scene) -> None:
    """The last of the light on a whole engine: less of it towards the floor and away from the soft box."""
    canvas = scene.canvas
    scene.dim(canvas, 1 - 0.34 * ramp(canvas.y + 0.35 * canvas.x, -0.20, 0.36))


def _castors(scene: Scene, x: float, y: float) -> None:
    for side in (-0.028, 0.028):
        wheel = [(x + side - 0.010, 0.021), (x + side + 0.010, 0.021)]
        turned(scene, wheel, y + 0.025, RUBBER, f"castor {x}{side}", cast=0.01)
    block(scene, x, y, 0.016, 0.012, STEEL.tinted(0.5), 0.004)


def side_stand(scene: Scene, engine_end: float) -> None:
    """A stand from its side: castors, an upright, and the head that the engine's rear is bolted to."""
    for x in (-0.30, 0.44):
        _castors(scene, x, 0.383)
    block(scene, 0.07, 0.362, 0.41, 0.0155, ENAMEL, 0.010, 0.012)
    block(scene, 0.435, 0.145, 0.021, 0.225, ENAMEL, 0.012, 0.012)
    pipe(scene, [(0.425, 0.23), (0.27, 0.352)], 0.012, ENAMEL, 0.008)
    turned(scene, [(engine_end + 0.025, 0.034), (0.47, 0.034)], -0.005, ENAMEL, "stand head", cast=0.012)
    block(scene, engine_end + 0.020, -0.005, 0.012, 0.105, ENAMEL, 0.006, 0.010)
    for y in (-0.085, 0.075):
        turned(scene, [(engine_end - 0.045, 0.012), (engine_end + 0.038, 0.012)], y, STEEL.tinted(0.6), f"arm {y}")
    block(scene, 0.488, -0.005, 0.010, 0.028, STEEL.tinted(0.7), 0.006)
    pipe(scene, [(0.492, -0.005), (0.525, 0.075)], 0.008, STEEL.tinted(0.7))


def front_stand(scene: Scene) -> None:
    """The same stand from the front: the upright behind the engine, the cross foot, the long leg towards us."""
    for x in (-0.27, 0.27):
        _castors(scene, x, 0.370)
    block(scene, 0.0, 0.350, 0.31, 0.0155, ENAMEL, 0.010, 0.012)
    block(scene, 0.0, 0.150, 0.024, 0.200, ENAMEL.tinted(0.8), 0.012, 0.012)
    block(scene, 0.0, 0.378, 0.027, 0.022, ENAMEL, 0.008, 0.010)
    _castors(scene, 0.0, 0.408)
