"""The bench page of one engine: the form's data in, a static page that works from disk and without a network, out.

Script, style and data stand in one file, since a page opened from disk may read no other. Its policy names them by
their checksums: nothing else runs, nothing is fetched but the page itself.
"""

import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache
from html import escape
from typing import Any, Final

from engine_pages.pages.policy import checksum, policy
from engine_pages.pages.short_script import short_script, short_style
from engine_pages.shipped import shipped

PAGE: Final = "index.html"
_NAMES: Final = {"draft": "d"}  # it stands in the scripts 360 times, and the page has 60 kB
_SCRIPTS: Final = re.compile(r"<!-- scripts: (.*?) -->\n")


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
        "sw.js": short_script(_read("sw.js")).replace("{{VERSION}}", version).encode(),
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
    return _SCRIPTS.sub("", page), short_style(_read("bench.css")), short_script(script, _NAMES)


def _policy(style: str, script: str) -> str:
    """Lets this one script and this one style run, and nothing else."""
    own = {
        "script-src": checksum(script),
        "style-src": checksum(style),
        "img-src": "'self' blob: data:",
        "connect-src": "'self'",
        "manifest-src": "'self'",
        "worker-src": "'self'",
    }
    return policy(own)


def _read(name: str) -> str:
    return (shipped("site_template") / "bench" / name).read_text(encoding="utf-8")
