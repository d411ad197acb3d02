"""The command that looks into a bundle: is it whole, is it what was read out, is it what the repository holds?"""

import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import cast

import click

from .asking import count_words, known_engine, read_shop, say, stop_on_errors
from .editions.fingerprint import RECORDS, is_alike
from .editions.manifest import Entry, Manifest, entry_of
from .editions.table import Reader
from .editions.verify import NotABundleError, Verdict
from .editions.verify import verify as look_into
from .editions.words import COUNT, spelt_alike, word_list
from .pages.cache import Cache
from .pages.one_bundle import about_of, bundle_files
from .pages.photos import BadPhoto
from .records.source import nearest, printable
from .records.tree import Commit, NoFile

MOST_NAMED = 100  # files of one kind in a verdict
OTHER_FRAME = "changed: the zip's own list, or what lies around its files; each file is as the manifest says"
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
    """Is a bundle whole: which of its files are changed, missing or added? Ends 1 where any is, or it is another."""
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
        say("Its records and photos are those of the fingerprint." if is_it else _another(verdict))
        good = good and is_it
    if folder is not None:
        differing = list(_against(folder, verdict.manifest))
        for line in differing:
            say(printable(line))
        say(f"{'Not as' if differing else 'As'} the repository makes it at commit {verdict.manifest.about.commit}.")
        good = good and not differing
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
    return f"Its records and photos are others than those of the fingerprint. Theirs is: {verdict.fingerprint}"


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


def _against(folder: Path, manifest: Manifest) -> Iterator[str]:
    """What a fresh bundle of the same engine, edition and commit has otherwise."""
    about = manifest.about
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
    now = about_of(checked, about.engine, about.edition, fresh)
    yield from (f"{name} is another" for name in ("tree", "fingerprint") if getattr(now, name) != getattr(about, name))
    if now.made_with == about.made_with:
        yield from _differences(fresh, manifest.files)
    else:
        say(f"It was made with {about.made_with}, this is {now.made_with}: records and photos alone are compared.")
        yield from _differences(_of_records(fresh), _of_records(manifest.files))


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
