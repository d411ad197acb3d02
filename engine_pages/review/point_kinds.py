"""The kinds of point that a review can find: what each is called, why a buyer cares, how the builder settles it.

In the order in which a buyer would weigh them. The names stand in review.yml, and are kept from release to release.
The list follows what buyers of competition engines ask and what makes a seller's record credible (common practice).
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from msgspec import Struct


class PointKind(Struct, frozen=True):
    """One kind: its title over several, why a buyer cares, how it is settled by a record."""

    title: str
    why: str
    settle: str


POINT_KINDS: Final[Mapping[str, PointKind]] = MappingProxyType(
    {
        "beyond-limit": PointKind(
            "Beyond a limit and fitted",
            "it runs outside what the maker, or the shop, allows",
            "replace it, or measure it again and write the sheet",
        ),
        "overdue": PointKind(
            "Overdue",
            "a service that was due is the buyer's to pay, and what it protects has run without it",
            "do it, and write the log line or the sheet",
        ),
        "incident": PointKind(
            "Incidents that nobody looked into",
            "what an over-rev or an overheat did is not known until somebody looks",
            "inspect what the family's rules ask for, and write the inspection sheet",
        ),
        "against-verdict": PointKind(
            "Decided against the figures",
            "the builder may know more than the limit does; the buyer wants to read why",
            "write why: beside the decision",
        ),
        "no-decision": PointKind(
            "Found and not decided",
            "a finding without a decision looks as if somebody looked away",
            "write decision: on the sheet",
        ),
        "figure-changed": PointKind(
            "Figures changed after they were recorded",
            "a figure that changes before a sale is the first that a buyer doubts",
            "write correction: with the reason at that place, on its sheet, or on its line of the log",
        ),
        "record-gone": PointKind(
            "Records taken out",
            "what a sheet said is gone with it, and a buyer asks what that was",
            "put the file back, or answer why it went",
        ),
        "photo-exchanged": PointKind(
            "Photos exchanged",
            "a photo is what a buyer believes first, and under its name another picture was recorded than is shown now",
            "write correction: with the reason at that place or on its sheet, or say in the photo's caption what it "
            "shows, or answer why it was exchanged",
        ),
        "recorded-late": PointKind(
            "Recorded long after the work",
            "what is written from memory is worth less than what is written at the bench",
            "nothing turns a date back: answer how it was written down, and from what; beside figures that were added, "
            "correction: says it too",
        ),
        "not-committed": PointKind(
            "Not committed",
            "what is in no commit has no date and no author, and is not published",
            "commit it",
        ),
        "no-trail": PointKind(
            "No history of the record",
            "without it nobody can say when a figure was written, or whether it was changed",
            "keep the shop's folder in git; fetch the whole history",
        ),
        "counter-backward": PointKind(
            "Counter runs backward",
            "hours that went back are hours that somebody may have taken off",
            "write the new counter as a log line, with counter_was: and counter:",
        ),
        "log-gap": PointKind(
            "Hours that the log does not say",
            "they were run somehow, by somebody, and nobody wrote how",
            "write the runs into the log",
        ),
        "hours-unwritten": PointKind(
            "Runs without their length",
            "every life since is only at least what is written",
            "write hours: or minutes: on the run",
        ),
        "unknown-life": PointKind(
            "Life before is unknown",
            "a part from an unrecorded donor may be at the end of its life",
            "write prior: and origin: in the part's file, if anybody knows",
        ),
        "not-measured": PointKind(
            "Never measured",
            "not measured is not within: nobody has looked",
            "measure it, and write the sheet",
        ),
        "no-test": PointKind(
            "Not tested since the build",
            "compression and leak-down are what a buyer can check without opening the engine",
            "test it, best before witnesses, and write an inspection sheet",
        ),
        "no-fluid": PointKind(
            "No oil is written",
            "what it ran on is part of how it wore",
            "write fluids: {oil: …} on the build sheet, or on a log line",
        ),
        "no-build": PointKind(
            "No build is written",
            "who put it together, when and from what is the first question",
            "write the build sheet, with what is known and nothing more",
        ),
        "no-stamp": PointKind(
            "No number of the engine",
            "a record without the number on the metal could be any engine's",
            "write stamped: in engine.yml",
        ),
        "unsigned": PointKind(
            "Sheets that nobody signed",
            "nobody can be asked about it",
            "write by: with initials that shop.yml knows",
        ),
        "no-serial": PointKind(
            "Parts without a serial",
            "a life belongs to a number: without one it could be another part's",
            "mark the part, and write its serial on the next sheet",
        ),
        "no-limit": PointKind(
            "No limit written",
            "a figure without a limit is not judged, however it looks",
            "write limit: with its source, in the family",
        ),
        "no-limit-source": PointKind(
            "Limits without a source",
            "a limit that comes from nowhere judges nothing",
            "write source: beside the limit, in the family",
        ),
        "no-gauge": PointKind(
            "Readings without a gauge",
            "nobody can say how sure they are",
            "name the gauge under instruments: on the sheet",
        ),
        "no-temperature": PointKind(
            "Measured at an unwritten temperature",
            "a housing grows by hundredths between a cold shop and a warm one",
            "write temperature: on the sheet",
        ),
        "no-torque": PointKind(
            "Builds without their torques",
            "how it was tightened is part of what was built",
            "write torque: on the build sheet",
        ),
        "not-photographed": PointKind(
            "Never photographed",
            "a photo with its date and serial is what a buyer believes first",
            "photograph it at the next strip",
        ),
        "photo-missing": PointKind(
            "Photos that are not there",
            "a photo that is named and missing raises the question of what it showed",
            "put the file back beside its sheet, or take its name out",
        ),
        "photo-twice": PointKind(
            "One photo for two things",
            "a picture used twice shows at most one of them",
            "take the wrong one out, or name the other place in its caption",
        ),
        "same-figures": PointKind(
            "One figure throughout",
            "several parts that measure the same to the last digit look copied down",
            "answer how they were measured",
        ),
        "round-figures": PointKind(
            "Round figures throughout",
            "readings that all end in 0 or 5 were rounded, or guessed",
            "answer how they were read",
        ),
        "every-grade-0": PointKind(
            "Every grade 0",
            "a used engine of which everything looks as new was not looked at closely",
            "answer who looked, and how",
        ),
        "doubt": PointKind(
            "Doubts in the records",
            "the record does not agree with itself, or with what wears",
            "correct the slip, with correction:, or answer what happened",
        ),
    }
)
