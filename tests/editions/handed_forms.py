"""Every form in which an edition leaves the shop, as all the text that can be got out of it.

In: the canaries' shop and an edition. Out: one string: names of files and their bytes, what is packed unpacked, what is
locked opened, what is printed read off the paper.
"""

import io
import shutil
import subprocess
import zipfile
from collections.abc import Iterable
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image
from pypdf import PdfReader

from engine_pages.cli import main

from .canaries import OWN
from .locked_shop import lock, opened

NAME = OWN.split("/")[1]
PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".webp")


def everything(top: Path) -> str:
    """Every file of a folder."""
    files = sorted(path for path in top.rglob("*") if path.is_file()) if top.is_dir() else [top]
    return text_of((path.relative_to(top).as_posix(), path.read_bytes()) for path in files)


def text_of(files: Iterable[tuple[str, bytes]]) -> str:
    return "\n".join(f"{name}\n{_text(content)}" for name, content in files)


def _text(content: bytes) -> str:
    """The bytes as letters, once more without what UTF-16 puts between them, and of a photo what it says of itself."""
    letters = content.decode("latin-1")
    return "\n".join((letters, letters.replace("\0", ""), *_said_by_photo(content)))


def _said_by_photo(content: bytes) -> list[str]:
    try:
        with Image.open(io.BytesIO(content)) as image:
            return [f"{key}: {value!r}" for key, value in (*image.info.items(), *image.getexif().items())]
    except OSError:
        return []


def bundle(shop: Path, edition: str, to: Path) -> dict[str, bytes]:
    """The files of a bundle, and of the zip itself what stands around them."""
    _run("bundle", NAME, "--records", str(shop), "--edition", edition, "--to", str(to / f"{edition}.zip"))
    with zipfile.ZipFile(to / f"{edition}.zip") as archive:
        return {one.filename: archive.read(one) + one.extra + one.comment for one in archive.infolist()}


def locked(shop: Path, edition: str, to: Path) -> list[bytes]:
    """The parts of a locked file, opened by its key: the page, then its photos."""
    handed = lock(shop, to / f"{edition}.html", "--edition", edition)
    return opened(handed.text, handed.key)


def paper(shop: Path, edition: str, to: Path) -> str:
    """What stands on the sheets, without blanks, since lines break; what the file says of itself, where links lead."""
    if shutil.which("chromium") is None or shutil.which("pdftotext") is None:
        pytest.skip("no Chromium, or no poppler-utils, on this machine: nothing was printed")
    out = to / f"{edition}.pdf"
    _run("print", NAME, "--records", str(shop), "--edition", edition, "--to", str(out))
    done = subprocess.run(["pdftotext", "-raw", str(out), "-"], capture_output=True, text=True, check=True)
    reader = PdfReader(out)
    inside = [f"{key} {value}" for key, value in (reader.metadata or {}).items()]
    inside += [str(note.get_object()) for page in reader.pages for note in page.get("/Annots", [])]
    photos = [_text(picture.data) for page in reader.pages for picture in page.images]
    return "\n".join(("".join(done.stdout.split()), *inside, *photos))


def _run(*asked: str) -> None:
    done = CliRunner().invoke(main, list(asked))
    assert done.exit_code == 0, done.output
