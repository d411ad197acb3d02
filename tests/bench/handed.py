"""A shop under git, and zips as the bench page hands them over."""

import io
import subprocess
import zipfile
from collections.abc import Mapping
from pathlib import Path

from PIL import Image

FAMILY = """family: single
architecture: rotary
exposure: hours
positions: {rotor-1: rotor}
kinds: {rotor: {dimensions: {width: {unit: mm, wears: down, new: [79.9, 80.0], limit: {min: 79.5}}}}}
"""
ENGINE = "engine: E1\nfamily: single\n"
BUILD = "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: {part: R-1}}\n"
SHEET = """engine: E1
date: 2026-03-01
positions:
  rotor-1:
    part: R-1
    measured: {width: 79.9610}
    photos:
      - {file: rotor-1-face.jpg, view: face}
    decision: reuse
"""
STRIP = "engines/E1/teardowns/2026-03-01"
FILES = {
    "shop.yml": "name: Shed\n",
    "families/single.yml": FAMILY,
    "engines/E1/engine.yml": ENGINE,
    "engines/E1/builds/2026-01-01.yml": BUILD,
}


def photo(size: tuple[int, int] = (64, 48), shade: int = 90) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (shade, shade, shade)).save(out, "JPEG")
    return out.getvalue()


def teardown(sheet: str = SHEET) -> dict[str, bytes]:
    return {f"{STRIP}/teardown.yml": sheet.encode(), f"{STRIP}/rotor-1-face.jpg": photo()}


def zipped(files: Mapping[str, bytes], method: int = zipfile.ZIP_STORED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as written:
        for path, content in files.items():
            written.writestr(path, content)
    return out.getvalue()


def git(shop: Path, *arguments: str) -> str:
    return subprocess.run(["git", "-C", str(shop), *arguments], check=True, capture_output=True, text=True).stdout


def shop_in(folder: Path) -> Path:
    """A shop with one engine, built and run, all of it committed."""
    for path, text in FILES.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    git(folder, "init", "-q")
    git(folder, "config", "user.name", "Shed")
    git(folder, "config", "user.email", "shed@shop.example")
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "the first build")
    return folder
