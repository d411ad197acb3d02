"""The command that looks into a bundle: is it whole, is it what was read out, is it what the repository holds?"""

import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import cast

import click

from ..editions.fingerprint import RECORDS, is_alike
from ..editions.manifest import About, Entry, Manifest, entry_of
from ..editions.table import Reader
from ..editions.verify import NotABundleError, Verdict
from ..editions.verify import verify as look_into
from ..editions.words import COUNT, spelt_alike, word_list
from ..pages.cache import Cache
from ..pages.one_bundle import about_of, bundle_files
from ..pages.photos import BadPhoto
from ..records.source import nearest, printable
from ..records.tree import Commit, NoFile
from .asking import count_words, known_engine, read_shop, say, stop_on_errors

MOST_NAMED = 100  # files of one kind in a verdict
OTHER_FRAME = "changed: the zip's own list, or what lies around its files; each file is as the manifest says"
THOSE = (
    "Its records and photos are those of the fingerprint.\n"
    "Pages and figures are not in the fingerprint: --records compares them, where you have the repository."
)
NOT_COMPARED = (
    "Pages and figures were not compared: the bundle says that it was made with {}, this is {}. "
    "Ask the maker for one of this version."
)
NOT_FORGERY = (
    "A manifest inside its own zip shows damage, not forgery: who changes a file can write its line anew.\n"
    "Against that: have the maker read the fingerprint out, and give it with --fingerprint."
)


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--fingerprint", "told", metavar="WORDS", help="The eight words that the maker read out.")
@click.option("--records", "folder", type=click.Path(path_type=Path, file_okay=False),
              help="Hold it against a fresh one from this repository.")  # fmt: skip
def verify(file: Path, told: str | None, folder: Path | None) -> None:
    """Is a bundle whole: which of its files are changed, missing or added? Ends 1 where any is, it is another, or
    pages could not be compared."""
    if told is not None:
        _check_words(told)
    try:
        verdict = look_into(file)
    except NotABundleError as trouble:
        raise click.ClickException(printable(str(trouble))) from None
    for line in _verdict_lines(verdict):
        say(printable(line))
    good = verdict.is_whole
    if told is None:
        say(NOT_FORGERY)
    else:
        is_it = verdict.fingerprint is not None and is_alike(told, verdict.fingerprint)
        say(THOSE if is_it else _another(verdict))
        good = good and is_it
    if folder is not None:
        good = _is_as_made(folder, verdict.manifest) and good
    sys.exit(0 if good else 1)


def _check_words(told: str) -> None:
    """Stop on words that no fingerprint has: they were heard wrong."""
    words = spelt_alike(told).split()
    wrong = next((word for word in words if word not in word_list()), None)
    if wrong is not None:
        raise click.UsageError(f"{wrong!r} is no word of a fingerprint; {nearest(wrong, word_list())}")
    if len(words) != COUNT:
        raise click.UsageError(f"a fingerprint has {COUNT} words, these are {len(words)}")


def _another(verdict: Verdict) -> str:
    if verdict.fingerprint is None:
        return "Its records and photos are not whole: they have no fingerprint."
    return f"Its records and photos are others than those of the fingerprint. This file has: {verdict.fingerprint}"


def _verdict_lines(verdict: Verdict) -> Iterator[str]:
    about = verdict.manifest.about
    yield f"{about.engine}, {about.edition} edition, commit {about.commit}, made with {about.made_with}"
    yield f"{count_words(len(verdict.whole), 'file')} of {len(verdict.manifest.files)} whole"
    for word, paths in (("changed", verdict.changed), ("missing", verdict.missing), ("added", verdict.added)):
        yield from (f"{word}: {path}" for path in paths[:MOST_NAMED])
        if len(paths) > MOST_NAMED:
            yield f"{word}: {len(paths) - MOST_NAMED} more"
    if not verdict.own_frame:
        yield OTHER_FRAME


def _is_as_made(folder: Path, manifest: Manifest) -> bool:
    """Say what a fresh bundle of the same engine, edition and commit has otherwise; whether all of it is the same.

    Other versions draw other pages. What a bundle says of its version may be forged, so that pages which were not
    compared are never the same.
    """
    about = manifest.about
    now, fresh = _made_afresh(folder, about)
    of_pages = now.made_with == about.made_with
    pick = dict if of_pages else _of_records
    differing = [f"{name} is another" for name in ("tree", "fingerprint") if getattr(now, name) != getattr(about, name)]
    differing += _differences(pick(fresh), pick(manifest.files))
    for line in differing:
        say(printable(line))
    what, them = ("It is", "it") if of_pages else ("Its records and photos are", "them")
    say(f"{what}{' not' if differing else ''} as the repository makes {them} at commit {printable(about.commit)}.")
    if not of_pages:
        say(printable(NOT_COMPARED.format(about.made_with, now.made_with)))
    return of_pages and not differing


def _made_afresh(folder: Path, about: About) -> tuple[About, Mapping[str, Entry]]:
    """What the repository makes of the same engine, edition and commit."""
    if about.edition not in ("owner", "buyer"):
        raise click.ClickException(f"{about.edition!r} is no edition that is handed over")
    checked = read_shop(folder, about.commit)
    stop_on_errors(checked, "nothing was compared")
    known_engine(checked, about.engine)
    assert isinstance(checked.shop.tree, Commit)
    try:
        made = bundle_files(checked, about.engine, cast(Reader, about.edition), Cache(), checked.shop.tree.commit)
        fresh = {path: entry_of(one()) for path, one in made.items()}
    except (BadPhoto, NoFile) as trouble:
        raise click.ClickException(str(trouble)) from None
    return about_of(checked, about.engine, about.edition, fresh), fresh


def _of_records(files: Mapping[str, Entry]) -> Mapping[str, Entry]:
    return {path: one for path, one in files.items() if path.startswith(RECORDS)}


def _differences(fresh: Mapping[str, Entry], files: Mapping[str, Entry]) -> Iterator[str]:
    for path in sorted(fresh.keys() | files.keys()):
        if path not in files:
            yield f"not in the bundle: {path}"
        elif path not in fresh:
            yield f"not in the repository: {path}"
        elif fresh[path] != files[path]:
            yield f"another in the repository: {path}"
