"""Draw the demo shop's photos and write them beside its sheets: `python -m engine_pages.demo.photos --records
DIR`.

In: the folder of the records. Out: every photo that a sheet declares, as a JPEG with what a camera would leave in it
and a publisher has to take out or respect: an orientation other than upright, a place, a time, a maker, a colour
profile. The place lies in open ocean, and the camera's name is invented. The same records give the same bytes with
the same versions of numpy and Pillow.
"""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Sequence
from pathlib import Path

from PIL import Image, ImageCms
from PIL.ExifTags import GPS, IFD, Base

from engine_pages.demo.draw import draw_photo
from engine_pages.demo.metal import uniform
from engine_pages.demo.shot_list import Shot, shots_of

SIZE = (2048, 1536)
QUALITIES = (82, 79, 76, 72, 68, 60)  # the first that stays below the limit
LARGEST_BYTES = 260_000
# Exif 2.32, tag 0x0112: how a stored picture has to be turned to stand upright; here the turn that stores it so.
STORED_TURNED = {3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}
TURNS = (6, 1, 1, 8, 1, 3, 6, 1, 1)  # by the photo's number on its sheet; the first is always turned


def written(shot: Shot, picture: Image.Image) -> bytes:
    """The JPEG of an upright picture, stored as the shop's camera would have stored it."""
    turn = TURNS[shot.number % len(TURNS)]
    stored = picture.transpose(STORED_TURNED[turn]) if turn in STORED_TURNED else picture
    profile = srgb_profile() if shot.number % 2 == 0 else None
    for quality in QUALITIES:
        out = io.BytesIO()
        stored.save(out, "JPEG", quality=quality, optimize=True, exif=camera_exif(shot, turn), icc_profile=profile)
        if out.tell() <= LARGEST_BYTES:
            break
    return out.getvalue()


def camera_exif(shot: Shot, turn: int) -> Image.Exif:
    """What a camera writes: orientation, maker, time, and a place (here somewhere in the South Pacific)."""
    exif = Image.Exif()
    exif[Base.Orientation] = turn
    exif[Base.Make] = "Bench Camera"
    exif[Base.Model] = "One"
    stamp = shot.taken.strftime("%Y:%m:%d %H:%M:%S")
    exif[Base.DateTime] = stamp
    exif.get_ifd(IFD.Exif)[Base.DateTimeOriginal] = stamp
    seconds = (uniform(f"{shot.seed}|place", 2) * 60).tolist()
    place = exif.get_ifd(IFD.GPSInfo)
    place[GPS.GPSLatitudeRef], place[GPS.GPSLatitude] = "S", (47.0, 31.0, round(seconds[0], 2))
    place[GPS.GPSLongitudeRef], place[GPS.GPSLongitude] = "W", (127.0, 4.0, round(seconds[1], 2))
    return exif


def srgb_profile() -> bytes:
    """An sRGB profile with one fixed date of making in its header (ICC.1, bytes 24 to 35), the same every day."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes((7, 208, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0))
    return bytes(profile)


def write_photos(records: Path, size: tuple[int, int] = SIZE) -> list[Path]:
    """Draw and write every declared photo under `records`; returns their paths."""
    paths = []
    for shot in shots_of(records):
        if shot.path.suffix.lower() not in {".jpg", ".jpeg"}:
            raise ValueError(f"{shot.path}: the demo's camera writes .jpg files")
        picture = draw_photo(shot.kind, shot.view, shot.grades, shot.label, shot.seed, size, shot.grain)
        shot.path.parent.mkdir(parents=True, exist_ok=True)
        shot.path.write_bytes(written(shot, picture))
        paths.append(shot.path)
    return paths


def main(arguments: Sequence[str] | None = None) -> int:
    """Run from the command line: draws, writes, and says how much."""
    parser = argparse.ArgumentParser(
        prog="python -m engine_pages.demo.photos", description="Draw the demo shop's photos."
    )
    parser.add_argument("--records", type=Path, required=True, help="the folder of the shop's records")
    records = parser.parse_args(arguments).records
    try:
        paths = write_photos(records)
    except (OSError, ValueError) as problem:
        print(problem, file=sys.stderr)
        return 1
    size = sum(path.stat().st_size for path in paths)
    print(f"{len(paths)} photos, {size / 1e6:.1f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
