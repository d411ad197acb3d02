"""Whole engines on the stand, seen from the side: the two-rotor engine's plug side, the inline four's exhaust
side.

In: a scene and the engine's `Look`. Out: the engine laid on the scene as shaded solids; returns 0, for no strip is
laid beside an engine. Proportions are those of the trade; no maker's engine is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engine_pages.demo.light import ALUMINIUM, CAST_ALUMINIUM, CAST_IRON, RUBBER, STEEL, Finish, Scene
from engine_pages.demo.look import Look
from engine_pages.demo.metal import cloud, ramp, slopes
from engine_pages.demo.solids import block, bolt, hole, pipe, turned
from engine_pages.demo.subjects_shop import lit_from_above, side_stand, workshop

BRASS = Finish((0.50, 0.38, 0.18), 0.2, 0.3, 0.8)
CERAMIC = Finish((0.70, 0.69, 0.65), 0.2, 0.2, 0.4)
LEAD = Finish((0.035, 0.045, 0.075), 0.3, 0.3, 0.5)
CRINKLE = Finish((0.026, 0.027, 0.029), 0.40, 0.40, 0.5)
HEADER = Finish((0.36, 0.345, 0.33), 0.16, 0.24, 0.85)
GASKET = Finish((0.24, 0.15, 0.095), 0.3, 0.3, 0.7)
FILTER_CAN = Finish((0.045, 0.065, 0.10), 0.14, 0.14, 0.7)
HOUSING = CAST_ALUMINIUM.tinted(0.95)
PLATE = CAST_IRON.tinted(1.25)


def rotary_engine(scene: Scene, look: Look) -> float:
    """Two rotor housings between three side housings: pulley on the left, flywheel and stand on the right."""
    workshop(scene, look)
    side_stand(scene, 0.305)
    _flywheel(scene, 0.215, 0.155, 0.0)
    turned(scene, _can(-0.315, -0.172, 0.038), 0.225, FILTER_CAN, "filter", upright=True, cast=0.01)
    _trumpets(scene)
    _rotary_front(scene, -0.285, 0.0)
    for index, x in enumerate((-0.245, -0.015, 0.207)):
        _side_housing_slab(scene, look, index, x)
    for index, x in enumerate((-0.128, 0.098)):
        _rotor_housing_slab(scene, look, index, x)
    if "before the sump" not in look.view:
        block(scene, -0.02, 0.238, 0.245, 0.040, STEEL.tinted(0.26), 0.020, 0.008)
        block(scene, -0.02, 0.188, 0.262, 0.013, HOUSING, 0.004, 0.006)
        for index in range(9):
            bolt(scene, -0.262 + 0.0605 * index, 0.189, 0.0062)
    lit_from_above(scene)
    return 0.0


def _can(top: float, bottom: float, radius: float) -> list[tuple[float, float]]:
    return [
        (top, radius - 0.010),
        (top + 0.004, radius - 0.003),
        (top + 0.010, radius),
        (bottom - 0.004, radius),
        (bottom, radius - 0.004),
    ]


def _trumpets(scene: Scene) -> None:
    """Four runners into one throttle flange, a bell mouth over each."""
    for x in (-0.155, -0.045, 0.055, 0.165):
        pipe(scene, [(x, -0.13), (x - 0.004, -0.20), (x - 0.015, -0.27)], 0.024, ALUMINIUM.tinted(0.62), 0.01)
        bell = [(-0.385, 0.042), (-0.381, 0.0435), (-0.374, 0.040), (-0.36, 0.035), (-0.33, 0.030), (-0.285, 0.028)]
        turned(scene, bell, x - 0.015, ALUMINIUM.tinted(0.85), f"trumpet {x}", upright=True, cast=0.012)
    block(scene, 0.0, -0.268, 0.205, 0.014, HOUSING, 0.005, 0.008)
    for x in (-0.19, -0.10, 0.0, 0.105, 0.19):
        bolt(scene, x, -0.268, 0.0055)


def _side_housing_slab(scene: Scene, look: Look, index: int, x: float) -> None:
    """A side housing edge on: iron with ribs across."""
    half = 0.035
    block(scene, x, 0.0, half, 0.170, PLATE, 0.008, 0.004)
    for y in (-0.140, -0.047, 0.047, 0.140):
        block(scene, x, y, half * 0.94, 0.0095, PLATE.tinted(1.1), 0.008, 0.005)
    cast_skin(scene, x, half, 0.170, f"{look.seed}|plate {index}")


def _rotor_housing_slab(scene: Scene, look: Look, index: int, x: float) -> None:
    """A rotor housing edge on: ribs, and the two plugs in their bosses, leads going up."""
    block(scene, x, 0.0, 0.077, 0.180, HOUSING, 0.010, 0.010)
    for y in (-0.152, -0.112, 0.112, 0.152):
        block(scene, x, y, 0.070, 0.0060, HOUSING.tinted(1.1), 0.006, 0.006)
    cast_skin(scene, x, 0.077, 0.180, f"{look.seed}|housing {index}")
    for y in (-0.042, 0.048):
        block(scene, x, y, 0.036, 0.034, HOUSING.tinted(1.08), 0.030, 0.008)
        bolt(scene, x, y, 0.0165, BRASS)
        block(scene, x, y, 0.0085, 0.0085, CERAMIC, 0.0084, 0.004)
        pipe(scene, [(x, y), (x + 0.026, y - 0.024), (x + 0.050, -0.12), (x + 0.050, -0.20)], 0.0070, LEAD, 0.010)
    hole(scene, x - 0.055, 0.0, 0.006, STEEL, 0.3)


def _rotary_front(scene: Scene, x: float, axis: float) -> None:
    """Front cover, water pump nose and the two pulleys with their belt."""
    block(scene, x - 0.035, axis - 0.150, 0.045, 0.040, HOUSING, 0.02, 0.006)
    block(scene, x - 0.040, axis + 0.010, 0.042, 0.130, HOUSING.tinted(0.95), 0.014, 0.008)
    for y in (-0.095, 0.0, 0.095):
        bolt(scene, x - 0.020, axis + y + 0.010, 0.0065)
    turned(scene, [(x - 0.115, 0.030), (x - 0.080, 0.034)], axis - 0.165, HOUSING, "pump nose", cast=0.008)
    turned(scene, [(x - 0.165, 0.020), (x - 0.135, 0.022)], axis, STEEL, "nose bolt", cast=0.006)
    pulleys(scene, x - 0.135, ((axis, 0.088), (axis - 0.165, 0.060)))


def pulleys(scene: Scene, start: float, at: Sequence[tuple[float, float]]) -> None:
    """Grooved pulleys seen edge on, one over the other, and the belt between them."""
    low, high = min(axis for axis, _ in at), max(axis for axis, _ in at)
    block(scene, start + 0.020, (low + high) / 2, 0.0055, (high - low) / 2, RUBBER, 0.003)
    for axis, radius in at:
        steps = (0.0, 0.006, 0.014, 0.020, 0.026, 0.034, 0.040, 0.046, 0.054)
        depths = (0.012, 0.0, 0.0, 0.014, 0.0, 0.0, 0.014, 0.0, 0.0)
        profile = [(start + step, radius - depth) for step, depth in zip(steps, depths, strict=True)]
        turned(scene, profile, axis, ALUMINIUM.tinted(0.6), f"pulley {axis}", cast=0.012)


def _flywheel(scene: Scene, x: float, radius: float, axis: float) -> None:
    profile = [(x, radius - 0.03), (x + 0.012, radius - 0.03), (x + 0.013, radius), (x + 0.030, radius)]
    profile += [(x + 0.031, radius - 0.012), (x + 0.052, radius - 0.012), (x + 0.056, radius - 0.018)]
    turned(scene, profile, axis, STEEL.tinted(0.8), "flywheel", cast=0.012)


def cast_skin(scene: Scene, x: float, half: float, tall: float, seed: str, middle: float = 0.0) -> None:
    """The sand's grain on a casting."""
    part = scene.canvas.window(x - half, x + half, middle - tall, middle + tall)
    sx, sy = slopes(cloud(part, seed, 85, 2) * 0.00028, part)
    scene.bend(part, sx, sy)


def inline_four(scene: Scene, look: Look) -> float:
    """Block, head, cam cover and sump, four pipes into one on the near side; timing end on the left."""
    workshop(scene, look)
    side_stand(scene, 0.330)
    _flywheel(scene, 0.250, 0.135, 0.055)
    _four_block(scene, look)
    if "before the sump" not in look.view:
        _four_sump(scene)
    block(scene, -0.02, -0.102, 0.272, 0.056, HOUSING, 0.010, 0.008)
    cast_skin(scene, -0.02, 0.272, 0.056, f"{look.seed}|head", -0.102)
    block(scene, -0.02, -0.044, 0.274, 0.0045, GASKET, 0.002)
    _cam_cover(scene, look)
    block(scene, -0.308, 0.000, 0.024, 0.190, HOUSING.tinted(0.95), 0.010, 0.006)
    for y in (-0.16, -0.08, 0.0, 0.08, 0.16):
        bolt(scene, -0.302, y, 0.0062)
    pulleys(scene, -0.390, ((0.118, 0.066), (-0.03, 0.045)))
    _exhaust(scene)
    lit_from_above(scene)
    return 0.0


def _four_block(scene: Scene, look: Look) -> None:
    block(scene, -0.02, 0.070, 0.270, 0.115, CAST_IRON.tinted(1.4), 0.012, 0.008)
    for index in range(4):
        block(scene, -0.215 + 0.130 * index, 0.085, 0.050, 0.085, CAST_IRON.tinted(1.5), 0.030, 0.005)
    cast_skin(scene, -0.02, 0.270, 0.115, f"{look.seed}|block", 0.070)
    for index in range(3):
        x = -0.150 + 0.130 * index
        block(scene, x, 0.075, 0.026, 0.026, STEEL.tinted(0.50), 0.0259, 0.004)
        block(scene, x, 0.075, 0.019, 0.019, STEEL.tinted(0.36), 0.0189)


def _four_sump(scene: Scene) -> None:
    block(scene, 0.055, 0.245, 0.190, 0.050, HOUSING, 0.016, 0.010)
    block(scene, -0.205, 0.222, 0.085, 0.026, HOUSING, 0.012, 0.006)
    for index in range(7):
        block(scene, -0.085 + 0.047 * index, 0.245, 0.0045, 0.040, HOUSING.tinted(1.1), 0.004, 0.004)
    block(scene, -0.02, 0.188, 0.275, 0.010, HOUSING.tinted(0.9), 0.004, 0.006)
    for index in range(10):
        bolt(scene, -0.270 + 0.0555 * index, 0.188, 0.0058)


def _cam_cover(scene: Scene, look: Look) -> None:
    block(scene, -0.02, -0.192, 0.268, 0.040, CRINKLE, 0.022, 0.010)
    part = scene.canvas.window(-0.28, 0.24, -0.228, -0.156)
    sx, sy = slopes(cloud(part, f"{look.seed}|crinkle", 130, 2) * 0.00035, part)
    scene.bend(part, sx, sy)
    block(scene, -0.02, -0.152, 0.276, 0.0075, CRINKLE.tinted(1.8), 0.004, 0.005)
    for index in range(6):
        bolt(scene, -0.265 + 0.098 * index, -0.152, 0.0062)
    for y in (-0.212, -0.197, -0.182):
        block(scene, 0.04, y, 0.150, 0.0026, ALUMINIUM.tinted(0.8), 0.002, 0.003)
    neck = [(-0.268, 0.026), (-0.264, 0.030), (-0.243, 0.030), (-0.240, 0.020), (-0.226, 0.020)]
    turned(scene, neck, -0.185, ALUMINIUM.tinted(0.6), "filler", upright=True, cast=0.008)


def _exhaust(scene: Scene) -> None:
    """Four primaries from their flanges, each bent down and back into one collector; heat colours near the ports."""
    for index in range(4):
        x, lane = -0.215 + 0.130 * index, 0.075 + 0.026 * index
        block(scene, x, -0.102, 0.046, 0.030, STEEL.tinted(0.5), 0.014, 0.008)
        for side in (-0.036, 0.036):
            bolt(scene, x + side, -0.102, 0.0068, BRASS)
        bend = [(x, -0.100), (x + 0.006, -0.055), (x + 0.022, -0.005), (x + 0.055, lane - 0.018), (x + 0.105, lane)]
        pipe(scene, [*bend, (0.235, lane + 0.004)], 0.0185, HEADER, 0.014)
        part = scene.canvas.window(x - 0.022, x + 0.06, -0.12, 0.05)
        near = ramp(np.abs(part.x - x - 0.14 * (part.y + 0.10)), 0.019, 0.016) * ramp(part.y, 0.05, -0.09)
        scene.tint(part, near, (0.86, 0.68, 0.60))
        scene.tint(part, near * ramp(part.y, -0.03, -0.08), (0.72, 0.84, 1.25))
    collector = [(0.215, 0.052), (0.245, 0.050), (0.300, 0.032), (0.345, 0.030)]
    turned(scene, collector, 0.119, HEADER, "collector", cast=0.012)
