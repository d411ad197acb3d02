"""What lies under and beside every part: the bench's cloth, the printed serial card and the centimetre strip.

In: the scene's canvas and what is to be printed. Out: the cloth laid on the scene, and the card and strip pasted into
the developed picture. The glyphs are those that Pillow carries within itself, so no font of the machine is needed.
"""

from __future__ import annotations

import math

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from engine_pages.demo.light import Finish, Scene
from engine_pages.demo.metal import cloud, noise, slopes, uniform

PAPER = (226, 224, 214)
INK = (24, 25, 27)
CLOTH = Finish((0.036, 0.039, 0.043), 0.6, 0.6, 0.1)


def cloth(scene: Scene, seed: str, finish: Finish = CLOTH) -> None:
    """A dark bench cloth: soft folds, a faint weave, lint."""
    canvas = scene.canvas
    folds = cloud(canvas, f"{seed}|folds", 1.6, 3) * 0.020
    nap = cloud(canvas, f"{seed}|nap", 22, 3)
    sx, sy = slopes(folds + nap * 0.0006, canvas)
    tone = 1 + 0.30 * nap + 0.22 * noise(canvas, f"{seed}|wash", 3, 3)
    scene.lay(canvas, np.ones(canvas.shape, dtype=np.float32), finish, slope=(sx, sy), tone=tone)


def with_card(picture: Image.Image, label: str, seed: str) -> Image.Image:
    """The picture with the serial, printed on a small card, lying in its lower right corner."""
    unit = picture.height
    size = max(7.0, 0.037 * unit)
    font = ImageFont.load_default(size)
    left, top, right, bottom = font.getbbox(label)
    width, height = int(right - left + 1.25 * size), int(1.85 * size)
    card = _paper(width, height, seed)
    draw = ImageDraw.Draw(card)
    line = max(1, round(unit * 0.0014))
    draw.rectangle(
        (line * 3, line * 3, width - 1 - line * 3, height - 1 - line * 3), outline=(120, 118, 110), width=line
    )
    draw.text(((width - right - left) / 2, (height - top - bottom) / 2), label, font=font, fill=INK)
    tilt = (float(uniform(f"{seed}|tilt", 1)[0]) - 0.5) * 3.0
    margin = 0.028 * unit
    return _laid(picture, card, tilt, picture.width - margin - width / 2, picture.height - margin - height / 2)


def with_strip(picture: Image.Image, span_cm: float, seed: str) -> Image.Image:
    """The picture with a centimetre strip in its lower left corner; `span_cm` is what the picture's height shows."""
    unit = picture.height
    cm = unit / span_cm
    count = max(1, int(0.62 * unit / cm))
    if count > 10:
        count -= count % 5
    size = max(6.0, 0.024 * unit)
    pad = int(0.5 * size)
    width, height = int(count * cm + 2 * pad + 2.2 * size), int(2.05 * size)
    strip = _paper(width, height, seed)
    draw = ImageDraw.Draw(strip)
    _ticks(draw, cm, count, pad, height, ImageFont.load_default(size))
    margin = 0.028 * unit
    return _laid(picture, strip, 0.25, margin + width / 2, picture.height - margin - height / 2)


def _ticks(draw: ImageDraw.ImageDraw, cm: float, count: int, pad: int, height: int, font: object) -> None:
    """Millimetres where they stay apart, half centimetres and centimetres; every number that has room."""
    if not isinstance(font, (ImageFont.FreeTypeFont, ImageFont.ImageFont)):
        raise TypeError("Pillow's own font is wanted")
    step = 1 if cm / 10 >= 4 else 5 if cm / 2 >= 4 else 10
    every = 1 if cm > 0.8 * height else 5
    for mm in range(0, count * 10 + 1, step):
        x = pad + mm * cm / 10
        reach = 0.42 if mm % 10 == 0 else 0.32 if mm % 5 == 0 else 0.22
        heavy = max(1, round(height / 34)) if mm % 10 else max(1, round(height / 24))
        draw.rectangle((x - heavy / 2, 0, x + heavy / 2, height * reach), fill=INK)
        if mm % (10 * every) == 0:
            text = str(mm // 10)
            left, top, right, bottom = font.getbbox(text)
            shift = max(2.0, x - (left + right) / 2)
            draw.text((shift, height * 0.72 - (top + bottom) / 2), text, font=font, fill=INK)
    left, top, right, bottom = font.getbbox("cm")
    draw.text((pad + count * cm + 0.50 * height, height * 0.72 - (top + bottom) / 2), "cm", font=font, fill=INK)


def _paper(width: int, height: int, seed: str) -> Image.Image:
    tone = uniform(f"{seed}|paper", 12).reshape(3, 4) * 10 - 5
    shade = np.asarray(Image.fromarray(tone).resize((width, height), Image.Resampling.BICUBIC))
    fall = np.linspace(6, -8, width, dtype=np.float32)[None, :]
    pixels = np.asarray(PAPER, dtype=np.float32) + (shade + fall)[..., None]
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8), "RGB")


def _laid(picture: Image.Image, sheet: Image.Image, tilt: float, x: float, y: float) -> Image.Image:
    """`sheet` turned by `tilt` degrees, its middle at (x, y), with the thin shadow of paper on a bench."""
    unit = picture.height
    turned = sheet.rotate(tilt, Image.Resampling.BICUBIC, expand=True)
    shape = Image.new("L", sheet.size, 255).rotate(tilt, Image.Resampling.BICUBIC, expand=True)
    corner = (round(x - turned.width / 2), round(y - turned.height / 2))
    shadow = Image.new("L", picture.size)
    drop = max(1, math.ceil(unit * 0.004))
    shadow.paste(shape, (corner[0] + drop, corner[1] + drop))
    shadow = shadow.filter(ImageFilter.GaussianBlur(unit * 0.005)).point([int(v * 0.62) for v in range(256)])
    result = Image.composite(Image.new("RGB", picture.size, (3, 3, 4)), picture, shadow)
    result.paste(turned, corner, shape)
    return result.copy()
