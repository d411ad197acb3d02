"""The bench page of one engine: the form's data in, a static page that works from disk and without a network, out.

Script, style and data stand in one file, since a page opened from disk may read no other. Its policy names them by
their checksums: nothing else runs, nothing is fetched but the page itself.
"""

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache
from html import escape
from typing import Any, Final

from engine_pages.shipped import shipped

PAGE: Final = "index.html"
_SCRIPTS: Final = re.compile(r"<!-- scripts: (.*?) -->\n")
# What is there for the sources' readers: comments of whole lines and at a line's end, indentation, and blanks around signs.
_FOR_READERS: Final = re.compile(r"^[ \t]*/\*.*?\*/[ \t]*\n|[ \t]+// [^\n]*$|^[ \t]+|^\n", re.DOTALL | re.MULTILINE)
_MAY_BE_A_PATTERN: Final = re.compile("['`/]")  # or a text of another kind: such a line keeps its blanks
_AROUND_SIGNS: Final = re.compile(r'("(?:\\.|[^"\\])*")| *([=,;:?&|<>(){}]+) *')


def bench_files(form: Mapping[str, Any]) -> dict[str, bytes]:
    """The page's files by their names: the page itself, its service worker, its manifest and its icon."""
    title = escape(f"{form['engine']}, bench")
    page, style, script = _sources()
    data = json.dumps(form, ensure_ascii=False, allow_nan=False).replace("<", "\\u003c")
    named = page.replace("{{TITLE}}", title).replace("{{CSP}}", _policy(style, script))
    whole = named.replace("/*CSS*/", style).replace("/*JS*/", script).replace("/*FORM*/", data)
    content = whole.encode()
    version = hashlib.sha256(content).hexdigest()[:16]
    manifest = json.loads(_read("manifest.webmanifest"))
    manifest |= {"name": f"{form['engine']}, bench", "short_name": form["engine"]}
    return {
        PAGE: content,
        "sw.js": _short(_read("sw.js")).replace("{{VERSION}}", version).encode(),
        "manifest.webmanifest": json.dumps(manifest, ensure_ascii=False).encode(),
        "icon.svg": _read("icon.svg").encode(),
    }


@cache
def _sources() -> tuple[str, str, str]:
    """The page without its data, its style, and its scripts joined in the order that the page names."""
    page = _read("page.html")
    listed = _SCRIPTS.search(page)
    assert listed is not None  # the page names its scripts
    script = "\n".join(_read(name) for name in listed[1].split())
    return _SCRIPTS.sub("", page), "\n" + _FOR_READERS.sub("", _read("bench.css")), f"\n{_short(script)}"


def _short(script: str) -> str:
    """A script without what is there for its readers: a quarter of it, and nothing to a phone.

    >>> _short("/* A sum. */\\nfor (const one of all) {\\n  sum += one; // in mm\\n}\\n")
    'for(const one of all){\\nsum +=one;\\n}\\n'
    """
    lines = _FOR_READERS.sub("", script).split("\n")
    return "\n".join(line if _MAY_BE_A_PATTERN.search(line) else _AROUND_SIGNS.sub(_narrow, line) for line in lines)


def _narrow(found: re.Match[str]) -> str:
    return found[1] or found[2]


def _policy(style: str, script: str) -> str:
    """A Content Security Policy (level 2) that lets this one script and this one style run, and nothing else."""
    own = {
        "default-src": "'none'",
        "script-src": _checksum(script),
        "style-src": _checksum(style),
        "img-src": "'self' blob: data:",
        "connect-src": "'self'",
        "manifest-src": "'self'",
        "worker-src": "'self'",
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in own.items())


def _checksum(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"


def _read(name: str) -> str:
    return (shipped("site_template") / "bench" / name).read_text(encoding="utf-8")
