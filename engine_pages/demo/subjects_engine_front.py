"""Whole engines on the stand, seen from the front: pulleys before the covers, intake on one side and exhaust on
the other.

In: a scene and the engine's `Look`. Out: the engine laid on the scene as shaded solids; returns 0, for no strip is
laid beside an engine.
"""

from __future__ import annotations

import math

import numpy as np

from engine_pages.demo.light import ALUMINIUM, RUBBER, STEEL, Finish, Scene
from engine_pages.demo.look import Look
from engine_pages.demo.metal import Field, disc, inside, streaks
from engine_pages.demo.solids import block, bolt, pipe, plate, turned
from engine_pages.demo.subjects_engine import BRASS, CERAMIC, CRINKLE, HEADER, HOUSING, LEAD, PLATE, cast_skin
from engine_pages.demo.subjects_housing import around, trochoid
from engine_pages.demo.subjects_shop import front_stand, lit_from_above, workshop


def rotary_front(scene: Scene, look: Look) -> float:
    """The front housing's outline with its cover and pulleys; trumpets and exhaust on the left, plugs on the right."""
    workshop(scene, look)
    front_stand(scene)
    axis, k = -0.03, 0.205
    _left_side(scene, axis)
    _plugs(scene, axis)
    part = scene.canvas.window(-0.28, 0.28, axis - 0.33, axis + 0.33)
    wall = trochoid(np.asarray((part.y - axis) / k + 0 * part.x), np.asarray(part.x / k + 0 * part.y))
    plate(scene, part, (wall - 0.285) * k, PLATE.tinted(1.15), 0.012, 0.014)
    cast_skin(scene, 0.0, 0.20, 0.26, f"{look.seed}|front", axis)
    for px, py, nx, ny in around(16):
        bolt(scene, k * (py + 0.215 * ny), axis + k * (px + 0.215 * nx), 0.0072)
    if "before the sump" not in look.view:
        block(scene, 0.0, axis + 0.315, 0.150, 0.045, STEEL.tinted(0.26), 0.020, 0.012)
        block(scene, 0.0, axis + 0.272, 0.165, 0.011, HOUSING, 0.004, 0.006)
    _front_cover(scene, look, axis)
    lit_from_above(scene)
    return 0.0


def _front_cover(scene: Scene, look: Look, axis: float) -> None:
    part = scene.canvas.window(-0.20, 0.20, axis - 0.28, axis + 0.20)
    pump = axis - 0.185
    blend = _joined(disc(part, 0.0, axis + 0.015, 0.148), disc(part, 0.0, pump, 0.075), 0.06)
    plate(scene, part, blend, HOUSING.tinted(0.95), 0.014, 0.016)
    cast_skin(scene, 0.0, 0.13, 0.14, f"{look.seed}|cover", axis)
    for index in range(9):
        turn = math.pi * (0.17 + 1.66 * index / 8) - math.pi / 2
        bolt(scene, 0.133 * math.cos(turn), axis + 0.015 + 0.133 * math.sin(turn), 0.0068)
    _belt(scene, (0.0, axis, 0.088), (0.0, pump, 0.056))
    face_pulley(scene, 0.0, axis, 0.090)
    face_pulley(scene, 0.0, pump, 0.058)


def _joined(a: Field, b: Field, blend: float) -> Field:
    """Two outlines in one, the corner between them filled: a casting's fillet."""
    h = np.clip(0.5 + 0.5 * (b - a) / blend, 0, 1)
    return np.asarray(b * (1 - h) + a * h - blend * h * (1 - h), dtype=np.float32)


def _belt(scene: Scene, low: tuple[float, float, float], high: tuple[float, float, float]) -> None:
    """A belt's two runs between two pulleys."""
    for side in (-1, 1):
        ends = [(x + side * (radius - 0.006), y) for x, y, radius in (low, high)]
        pipe(scene, ends, 0.0065, RUBBER, 0.008)


def face_pulley(scene: Scene, x: float, y: float, radius: float) -> None:
    """A pulley face on: turned, with a lightened web and its bolt."""
    part = scene.canvas.window(x - radius * 1.1, x + radius * 1.1, y - radius * 1.1, y + radius * 1.1)
    dx, dy = part.x - x, part.y - y
    reach = np.maximum(np.hypot(dx, dy), 0.004)
    rings = streaks(np.arctan2(dy, dx), reach, f"pulley {radius}", 420.0) * 0.05
    ux, uy = dx / reach, dy / reach
    for share, finish, cast in (
        (1.0, ALUMINIUM.tinted(0.55), 0.02),
        (0.86, RUBBER, 0.0),
        (0.80, ALUMINIUM.tinted(0.62), 0.0),
    ):
        plate(scene, part, disc(part, x, y, radius * share), finish, 0.006, cast, (rings * ux, rings * uy), (-uy, ux))
    dish = np.abs(reach - radius * 0.52) - radius * 0.15
    scene.dim(part, 1 - 0.45 * inside(dish, part, 4))
    bolt(scene, x, y, radius * 0.19)
    for index in range(4):
        turn = math.pi / 4 + math.pi / 2 * index
        bolt(scene, x + radius * 0.31 * math.cos(turn), y + radius * 0.31 * math.sin(turn), radius * 0.055)


def _left_side(scene: Scene, axis: float) -> None:
    """Intake trumpets above, exhaust below, both from the left flank."""
    for shift in (0.030, 0.0):
        x = -0.265 - shift
        runner = [(-0.12, axis - 0.10), (-0.20, axis - 0.125), (x + 0.01, axis - 0.19), (x, axis - 0.27)]
        pipe(scene, runner, 0.026, ALUMINIUM.tinted(0.6 if shift else 0.72), 0.012)
        bell = [(-0.385, 0.045), (-0.381, 0.0465), (-0.373, 0.042), (-0.355, 0.036), (-0.30, 0.030)]
        turned(scene, bell, x, ALUMINIUM.tinted(0.7 if shift else 0.85), f"bell {shift}", upright=True, cast=0.01)
    pipe(
        scene, [(-0.14, axis + 0.13), (-0.24, axis + 0.14), (-0.295, axis + 0.19), (-0.305, 0.27)], 0.032, HEADER, 0.014
    )
    block(scene, -0.205, axis + 0.135, 0.012, 0.046, STEEL.tinted(0.5), 0.006, 0.008)


def _plugs(scene: Scene, axis: float) -> None:
    """Two plugs on the right flank and their leads."""
    for y in (axis - 0.045, axis + 0.045):
        turned(
            scene, [(0.19, 0.017), (0.215, 0.017), (0.216, 0.011), (0.250, 0.011)], y, BRASS, f"plug {y}", cast=0.006
        )
        turned(scene, [(0.250, 0.009), (0.268, 0.008)], y, CERAMIC, f"insulator {y}")
        pipe(scene, [(0.262, y), (0.300, y - 0.014), (0.315, y - 0.07), (0.290, axis - 0.20)], 0.0072, LEAD, 0.008)


def four_front(scene: Scene, look: Look) -> float:
    """The timing end of the four: belt cover, crank and pump pulleys; trumpets on the left, exhaust on the right."""
    workshop(scene, look)
    front_stand(scene)
    pipe(scene, [(-0.08, -0.125), (-0.17, -0.135), (-0.245, -0.165)], 0.028, ALUMINIUM.tinted(0.65), 0.012)
    bell = [(-0.345, 0.047), (-0.341, 0.048), (-0.334, 0.044), (-0.315, 0.037), (-0.275, 0.032), (-0.235, 0.030)]
    turned(scene, bell, -0.163, ALUMINIUM.tinted(0.85), "bell", cast=0.012)
    pipe(scene, [(0.10, -0.13), (0.19, -0.10), (0.235, -0.02), (0.225, 0.12), (0.16, 0.19)], 0.024, HEADER, 0.014)
    block(scene, 0.155, -0.125, 0.012, 0.036, STEEL.tinted(0.5), 0.006, 0.008)
    if "before the sump" not in look.view:
        block(scene, 0.0, 0.235, 0.115, 0.060, HOUSING, 0.022, 0.012)
    block(scene, 0.0, 0.060, 0.135, 0.125, PLATE.tinted(1.3), 0.012, 0.010)
    block(scene, 0.0, -0.110, 0.150, 0.060, HOUSING, 0.010, 0.010)
    block(scene, 0.0, -0.200, 0.158, 0.044, CRINKLE, 0.030, 0.012)
    block(scene, 0.0, 0.184, 0.142, 0.009, HOUSING, 0.004, 0.006)
    _timing_cover(scene, look)
    lit_from_above(scene)
    return 0.0


def _timing_cover(scene: Scene, look: Look) -> None:
    part = scene.canvas.window(-0.20, 0.20, -0.24, 0.20)
    cams = _joined(disc(part, -0.072, -0.155, 0.068), disc(part, 0.072, -0.155, 0.068), 0.05)
    outline = _joined(cams, disc(part, 0.0, 0.075, 0.095), 0.20)
    plate(scene, part, outline, Finish((0.07, 0.072, 0.076), 0.3, 0.3, 0.5), 0.014, 0.016)
    cast_skin(scene, 0.0, 0.13, 0.12, f"{look.seed}|cover", -0.05)
    for x in (-0.072, 0.072):
        plate(scene, part, np.abs(disc(part, x, -0.155, 0.046)) - 0.003, HOUSING.tinted(0.8), 0.003, 0.004)
        bolt(scene, x, -0.155, 0.011)
    for x, y in ((-0.118, -0.10), (0.118, -0.10), (0.0, -0.195), (-0.078, 0.0), (0.078, 0.0)):
        bolt(scene, x, y, 0.0062)
    _belt(scene, (0.0, 0.090, 0.068), (-0.095, 0.005, 0.042))
    face_pulley(scene, 0.0, 0.090, 0.074)
    face_pulley(scene, -0.118, 0.010, 0.044)
