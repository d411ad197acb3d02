"""How long a photo takes: the plain way of shrinking it beside the one that is used.

Run it: python tests/speed/photo_sizes.py [rounds]. Not a test: times depend on the machine, so only the ratio counts.
The two ways take turns on the same 12-megapixel JPEG, and the median of each is printed.
"""

import io
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
from PIL import Image, ImageOps

from engine_pages.pages.photos import JPEG_QUALITY, LARGE_SIDE, SMALL_SIDE, publish_photo


def camera_jpeg() -> bytes:
    """4000 × 3000 pixels of clouds with grain, held sideways: about the bytes and the work of a phone's photo."""
    rng = np.random.default_rng(1)
    clouds = Image.fromarray(rng.integers(0, 255, (150, 200, 3), dtype=np.uint8))
    levels = np.asarray(clouds.resize((4000, 3000), Image.Resampling.BICUBIC), dtype=np.int16)
    grain = rng.integers(-6, 7, levels.shape, dtype=np.int16)
    notes = Image.Exif()
    notes[0x0112] = 6
    out = io.BytesIO()
    Image.fromarray((levels + grain).clip(0, 255).astype(np.uint8)).save(out, "JPEG", quality=88, exif=notes)
    return out.getvalue()


def published_plainly(data: bytes) -> list[bytes]:
    """Decode all, turn all, shrink all, for each size: what comes to mind first."""
    files = []
    for side in (LARGE_SIDE, SMALL_SIDE):
        picture = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
        picture.thumbnail((side, side), Image.Resampling.LANCZOS, reducing_gap=None)
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=JPEG_QUALITY, progressive=True, optimize=True)
        files.append(out.getvalue())
    return files


def seconds(task: Callable[[], object]) -> float:
    before = time.perf_counter()
    task()
    return time.perf_counter() - before


def main(rounds: int) -> None:
    data = camera_jpeg()
    plain, used = [], []
    for _ in range(rounds):
        plain.append(seconds(lambda: published_plainly(data)))
        used.append(seconds(lambda: publish_photo(data, "photo")))
    before, after = statistics.median(plain), statistics.median(used)
    print(f"one JPEG of 12 megapixels, {len(data) / 1e6:.1f} MB, to {LARGE_SIDE} and {SMALL_SIDE} px; {rounds} rounds")
    print(f"plain  {before * 1e3:6.0f} ms")
    print(f"used   {after * 1e3:6.0f} ms")
    print(f"ratio  {before / after:6.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
