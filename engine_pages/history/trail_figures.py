"""An engine's trail as plain data for JSON: each commit once, and the records that name it by its id."""

from typing import Any

from ..records.commits import CommitFacts, Seal
from ..records.strands import Turn
from ..records.trail import Amendment, RecordTrail
from .figure_numbers import number
from .trail_asked import EngineTrail, commits_of


def trail_figures(asked: EngineTrail) -> dict[str, Any]:
    """Names are kept from release to release. Commits oldest first; records in the order of telling."""
    commits = {one.id: one for record in asked.records for one in commits_of(record)}
    in_order = sorted(commits.values(), key=lambda one: (-one.nth, one.id))
    return {
        "engine": asked.engine,
        "commit": asked.head,
        "shallow": asked.shallow,
        "commits": {one.id: _commit(one, asked.seals[one.id]) for one in in_order},
        "sheets": [_record(one) for one in asked.sheets],
        "others": [_record(one) for one in asked.others],
        "leans_on": [_record(one) for one in asked.leans_on],
    }


def _commit(commit: CommitFacts, seal: Seal) -> dict[str, Any]:
    return {
        "author": commit.author,
        "email": commit.email,
        "authored": commit.authored,
        "committer": commit.committer,
        "committed": commit.committed,
        "days_to_commit": number(commit.gap),
        "late": commit.late,
        "ahead": commit.ahead,
        "signature": seal,
        "parents": list(commit.parents),
        "history_cut": commit.cut,
        "message": commit.message,
    }


def _record(record: RecordTrail) -> dict[str, Any]:
    return {
        "path": record.path,
        "paths": list(record.paths),
        "kind": record.kind,
        "sheet": record.number,
        "date": record.date,
        "recorded": record.recorded.id if record.recorded else None,
        "last": record.last.id if record.last else None,
        "maybe_older": record.before_cut,
        "here": record.here,
        "uncommitted": record.changed,
        "amendments": [_amendment(one) for one in record.amendments],
        "turns": [_turn(one) for one in record.turns],
    }


def _amendment(one: Amendment) -> dict[str, Any]:
    return {
        "record": one.record,
        "field": list(one.field),
        "kind": one.kind,
        "old": one.old,
        "new": one.new,
        "block": list(one.block),
        "other_parents": list(one.others),
        "correction": list(one.correction),
        "commit": one.commit.id,
        "again": list(one.again),
        "left_out": one.left_out.id if one.left_out else None,
    }


def _turn(one: Turn) -> dict[str, Any]:
    return {
        "what": one.what,
        "commit": one.commit.id,
        "path": one.path,
        "was": one.was or None,
        "why": one.why or None,
        "field": list(one.field) or None,
    }
