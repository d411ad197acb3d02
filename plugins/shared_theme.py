"""The theme's own files once for many sites: styles, scripts and icons lie beside them; every page leads there.

In: the files of a build, the way from a site's top to the theme's folder. Out: the files that were taken out of the
build, and an environment whose links find them.
"""

import hashlib
import posixpath
import re
from collections.abc import Callable
from copy import copy
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, pass_context
from mkdocs.structure.files import File, Files
from mkdocs.theme import Theme

from engine_pages.pages.cache import Cache
from engine_pages.pages.kept_templates import KeptTemplates

SHARED: Final = ("assets/", "engine-pages/styles/")
# Not wanted by any page: maps for those who work on the theme, word lists of languages that no page is written in.
NOT_WANTED: Final = ("assets/javascripts/lunr/",)
MAP: Final = ".map"
NAME_LETTERS: Final = 12  # of the digest in the folder's name
THEME: Final = re.compile(rf"theme-[0-9a-f]{{{NAME_LETTERS}}}")  # a folder that `theme_name` names


class SharedTheme:
    """`way` leads from a site's top to the theme; `files` are what lies there, by path, once a build took them."""

    def __init__(self, way: str) -> None:
        self.way = way
        self.files: dict[str, bytes] = {}

    def take_from(self, files: Files) -> None:
        """Take the theme's files out of a build."""
        for file in [one for one in files if one.src_uri.startswith(SHARED)]:
            files.remove(file)
            if not file.src_uri.endswith(MAP) and not file.src_uri.startswith(NOT_WANTED):
                self.files[file.src_uri] = _content(file)

    def lead_there(self, env: Environment) -> Environment:
        """Links to what was taken lead out of the site to where it lies."""
        own: Callable[..., str] = env.filters["url"]

        @pass_context
        def url(context: Any, value: str) -> str:
            if not str(value).startswith(SHARED):
                return own(context, value)
            return posixpath.normpath(posixpath.join(own(context, "."), self.way, value))

        env.filters["url"] = url
        return env


class FramedTheme(Theme):
    """A theme whose files lie elsewhere already: a build does not list its ten thousand icons, and compiles no template
    that was compiled before. Both took a third of the time of a small site."""

    @classmethod
    def of(cls, theme: Theme) -> "FramedTheme":
        framed = copy(theme)
        framed.__class__ = cls
        assert isinstance(framed, cls)
        return framed

    def get_env(self) -> Environment:
        env = super().get_env()
        env.loader, env.bytecode_cache = _Unlisted(self.dirs), KeptTemplates(Cache())
        return env


class _Unlisted(FileSystemLoader):
    """Templates that are found by their names alone."""

    def list_templates(self) -> list[str]:
        return []


def theme_name(files: dict[str, bytes]) -> str:
    """The folder of a theme, named by its content: another theme never takes the place of one that pages still use."""
    total = hashlib.sha256()
    for path, content in sorted(files.items()):
        total.update(f"{path}\0{len(content)}\0".encode() + content)
    return f"theme-{total.hexdigest()[:NAME_LETTERS]}"


def _content(file: File) -> bytes:
    if file.abs_src_path is None:
        return file.content_bytes
    with open(file.abs_src_path, "rb") as opened:
        return opened.read()
