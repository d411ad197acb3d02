"""What the methods page says: nothing in, the model in plain words out, section by section.

Figures that the code sets are taken from the code, so that page and arithmetic cannot part ways.
"""

from typing import Final

from msgspec import Struct

from engine_pages.history.chamber_falls import FEWEST as FEWEST_TESTS
from engine_pages.pages.pieces import Heading
from engine_pages.pages.words import figure_words, percent_words
from engine_pages.wear.among_like import FEWEST_FOR_PERCENTILE, MANY_TIMES
from engine_pages.wear.bends import CUTS, FEWEST_EXPOSURES, FEWEST_READINGS, RISK
from engine_pages.wear.chambers import COMPRESSION_SCATTER, LEAK_DOWN_SCATTER, UNDER_LEAST
from engine_pages.wear.change import FEWEST_INTERVALS
from engine_pages.wear.lifetimes import FEWEST_FAILURES
from engine_pages.wear.limits import ONE_SIDED_95
from engine_pages.wear.pool.priors import (
    GAUGE_OF_NEW,
    NEW_OF_LIMIT,
    OF_GAUGE,
    OF_LIFE_RATE,
    OF_NEW_WIDTH,
    START_OF_NEW_WIDTH,
)
from engine_pages.wear.pool.sample import MOST_FITTED


class MethodSection(Struct, frozen=True):
    """A method: what is done, what it assumes, and the least that it needs; empty where there is nothing to say."""

    heading: Heading
    words: tuple[str, ...]
    assumes: str = ""
    fewest: str = ""


def _share(share: float) -> str:
    return figure_words(share, 1)


CAUTIONS: Final = (
    "What stands in these pages was found and measured. It is no certificate of fitness, and a forecast is no "
    "permission to run. The maker’s data, the rules of the event, local codes and licensed practice come first.",
    "An engine can measure well and fail without warning: no gauge sees fatigue. An interval holds for parts, gauges "
    "and use like those it was made from, and for nothing else.",
)

SECTIONS: Final = (
    MethodSection(
        Heading("readings", "Readings"),
        (
            "A reading is a figure with an uncertainty. Of a gauge it is zero² + repeat²/n, n the repeats that were "
            "written; where these scatter more than the gauge should, their own scatter counts. Zero is the gauge’s "
            "setting error of one sheet: all that was read with it on that sheet is wrong by the same amount, and that "
            "stays shared in every later step. Where two readings share a zero it cancels in their difference.",
            "What is worked out from readings has an interval: the two figures between which the truth lies as often "
            "as the foot of each page says, 9 times in 10 where it says 90 %. On the pages that compare a change an "
            "interval is something else, and is called so there: what an engine ran between two sheets.",
            "A reading between two feelers or gauge marks is a range, and is judged whole. “Not measurable” is no "
            "number, and no reading is no zero wear.",
            "Lengths are brought to 20 °C where a temperature is written, part and gauge both; expansion is known to "
            "10 %, which is carried. Without a temperature nothing is corrected, and the page says so. Clearances, "
            "gaps and grades are not corrected.",
            "Of several stations the worst counts unless the family says otherwise. Out of round is the largest "
            "difference of the axes at one depth, taper the largest difference of the depths on one axis, both of "
            "diameters: a form of three lobes does not show in them.",
        ),
        assumes="errors small beside the values; the zero and repeat that the shop writes for a gauge are true.",
        fewest="one reading.",
    ),
    MethodSection(
        Heading("verdicts", "Verdicts"),
        (
            f"U is {ONE_SIDED_95} times the standard uncertainty (one-sided 95 %). Within: the reading and U on both "
            "sides lie inside the limit. Beyond: they lie outside. What lies nearer to a limit than U reaches is "
            "undecided: measure it again, or with a better gauge.",
            "Allowance used is the way from where the part’s baseline began to the limit that is used up. Machining "
            "opens a new baseline. Where nothing says where a part began it is not given.",
        ),
        assumes="limits are the shop’s own, each worth what its source is worth.",
        fewest="one reading.",
    ),
    MethodSection(
        Heading("like-parts", "Like parts together"),
        (
            "Parts of one family and kind are like each other, wherever they ran, and places apart where the family "
            "says so. Every part has a straight line through its own readings, and leans on the lines of its like: as "
            "far as these agree, and no further. So two readings of a bearing say more than they would alone.",
            "How alike parts are is not known from few of them. All that it may be is tried, weighed by how well it "
            "fits the readings, and none of it is taken for certain.",
            "Before there are readings, the family’s own figures speak: parts begin inside the new range, and use up "
            "what lies between new and the limit in about a service life, each by a good part more or less. Plenty of "
            "readings have their way. A part whose life before is unknown tells of its rate alone. The figures stand "
            "below, under The model.",
            "A rate whose interval holds zero is no wear measurable yet. When a line meets its limit is given by the "
            "ends of its interval; where it may never meet it there is no upper bound. It is the line that meets the "
            "limit, not the next reading.",
            f"Where more than {MOST_FITTED} parts of a kind were measured, {MOST_FITTED} of them speak for it, settled "
            "by their names and by nothing that was read. Every part still leans on its own readings; a rank is then "
            "among those that speak.",
        ),
        assumes="wear that is straight in the exposure; spreads that are normal; parts drawn from one kind; "
        "uncertainties as written.",
        fewest="one reading with a known start, or two at different exposures; of few parts the beliefs above speak "
        "with, and the intervals are wide.",
    ),
    MethodSection(
        Heading("bends", "Whether a constant rate fits"),
        (
            "Beside the line stands a curve, wear by the square root of use, as of a surface that runs in. Where so "
            f"clear a bend has less than {percent_words(RISK)} chance of being none, the page says that a constant "
            "rate does not fit, and lines rest on the later readings alone: those after "
            f"{', '.join(percent_words(cut) for cut in CUTS)} of the longest exposure, the first of these that leaves "
            "no bend. Nothing is carried on from the first hours.",
        ),
        assumes="the kind bends alike; a bend of one part by itself is not looked for.",
        fewest=f"{FEWEST_READINGS} readings at {FEWEST_EXPOSURES} different exposures; below, cannot tell.",
    ),
    MethodSection(
        Heading("season", "Whether it lasts the season"),
        (
            "Each event of the plan adds exposure. For every measured dimension and clearance: the chance that its "
            "line is inside its limits after each event. Parts of a kind lean on one rate, and what they share is "
            "counted once; between kinds, and dimensions of one part, chances are multiplied, which takes them as "
            "independent.",
            "Beside it stands the outer range, which holds however kinds depend on each other: from 1 less all the "
            "chances of failing together to the smallest chance of any. Hours of service and replacement count as "
            "certain. What was never measured is not in the figure, and is named: it may stop the engine all the same.",
            "What to measure next is the reading that would most lessen the doubt whether it lasts.",
        ),
        assumes="the plan is run as written; the season wears as the time before it did.",
        fewest="one line that shows a rate, and a limit for it.",
    ),
    MethodSection(
        Heading("itself", "Against itself and its kind"),
        (
            "A reading that moved against wear by more than its uncertainty, or since the one before by more than "
            f"{MANY_TIMES:g} times what its kind scatters, is a doubt on the sheet that wrote it: a slipped digit, "
            "another place, or something that happened. The kind is judged without the part itself.",
            f"Among its kind a part has a place, “the fastest of 4”. Below {FEWEST_FOR_PERCENTILE} parts no percentage "
            "is given. Where intervals overlap, the order may be chance.",
        ),
        fewest="two readings; two other parts that show what the kind does.",
    ),
    MethodSection(
        Heading("selection", "Which parts were measured"),
        (
            "Parts are often measured because they look bad, so measured parts may wear faster than the others. Pages "
            "print “4 of 12 measured”, fit once more without the sheets of incidents and failures, and say where the "
            "answer changes. Nothing can be reckoned for parts that nobody measured.",
        ),
    ),
    MethodSection(
        Heading("change", "Did a change help"),
        (
            "A change of oil, premix, fuel or filter is asked within parts: each part’s wear after against its own "
            "wear before. What counts is an interval between sheets: what one engine ran between two sheets on one "
            "recipe. Two bearings of one engine between the same two strips are one interval, not two: a season that "
            "was hard on all parts of an engine is chance, and no evidence. Intervals that hold run-in or more than "
            "one recipe are left out, and listed. The ratio may have no bound.",
            "Where the change was made because the last finding looked bad, the next would look better by itself: the "
            "verdict is withheld. Everything else that changed meanwhile is listed.",
            "Of several kinds one is called lower or higher, and kinds are said not to agree, where that holds with "
            "intervals wide enough for all of them together (Bonferroni): else whoever picks one of many kinds would "
            "be wrong more often. A change and the change back are one question.",
        ),
        assumes="seasons independent and of one spread on both sides; exposures exact; a change that moves like parts "
        "alike.",
        fewest=f"{FEWEST_INTERVALS} intervals a side between sheets; below, cannot tell.",
    ),
    MethodSection(
        Heading("lives", "Lives and renewals"),
        (
            "A part that went out for good because it was worn or damaged has failed, somewhere between the last "
            "sheet that looked at it and found it good, and the one that found it bad. A sheet found it good where it "
            "was fitted or to go back in, or where something was measured or graded and nothing was beyond its limit, "
            "grade 4 or a crack; a line with nothing on it is no look. One taken out for its hours, "
            "as one of a set, for an upgrade or as a precaution was good up to then; one that runs, or of which "
            "nothing is decided yet, up to its last look. A used part counts from the exposure with which it came in; "
            "one whose life before is unknown is left out, and named.",
            "The curve is the share still good, without any law. Weibull’s law is fitted by maximum likelihood; its "
            "shape says whether parts wear out (above 1) or fail by chance (1). Intervals are made on a logarithmic "
            "scale. On 700 drawn shops of 8 lives, about 5 of them failures, 90 % intervals of shape, scale and the "
            "life that 9 of 10 reach held the truth 80 to 84 % of the time, and with 20 lives 85 to 87 %: they are too "
            "narrow, and the shape comes out too large.",
            "How often a place is renewed is the mean number of parts that it has used up by the engine’s exposure; "
            "engines differ, their places are not counted as separate witnesses. An engine that came apart, had a part "
            "renewed and has not run since was stopped by the renewal itself: the curve ends at the first of these, "
            "since to leave it out would count later renewals too high, and to keep it in too low.",
        ),
        assumes="parts alike and independent; that being taken out good says nothing of the life left. Parts that fail "
        "together on one sheet are no separate witnesses: intervals are then too narrow.",
        fewest=f"{FEWEST_FAILURES} failures for a curve or a law, below the raw lives; two engines for an interval of "
        "renewals.",
    ),
    MethodSection(
        Heading("chambers", "Chambers and cylinders"),
        (
            "Compression and leak-down are judged reading by reading, and by the spread between chambers and between "
            "rotors or cylinders. Compression depends on cranking speed: it is brought to the standard speed by the "
            "family’s own curve, between its points only; without a curve nothing is corrected. Leak-downs through "
            "different orifices do not compare. A bound, “over 700 kPa”, is judged and compared with nothing.",
            "Low against the others is a face or cylinder that lies further below the highest of its test than the "
            f"family’s spread allows; or one under the limit and more than {_share(UNDER_LEAST)} of that spread below "
            "the highest, while the highest is inside. All under the limit with none apart are all low. Of a leak-down "
            "the same is said upwards. On a rotor faces must be marked, and any two of three are neighbours.",
            "One low face is consistent with its side seal, two low neighbours with the apex or corner seal between "
            "them; one low cylinder with its rings or valves, two neighbours with a leak between them, all low with "
            "wear all round or with how the test was made. This is common practice, and never a finding.",
            f"Two compression tests of one engine commonly differ by up to {percent_words(COMPRESSION_SCATTER.share)}, "
            f"two leak-downs by {figure_words(LEAK_DOWN_SCATTER.amount, 0)} points of percent; this is common practice "
            "too, not measured here. What has less than that left to its limit is near it. What got worse over three "
            "tests or more by more than that, and by that much more than its neighbours, is named.",
        ),
        assumes="a good battery, a warm engine and a gauge that is known; a sealing test sees no fatigue.",
        fewest=f"one reading a chamber; two to hold against each other, {FEWEST_TESTS} tests to tell what falls.",
    ),
    MethodSection(
        Heading("model", "The model, for engineers"),
        (
            "Like parts: one straight line a part, starts normal about the kind’s start, rates normal about the kind’s "
            "rate, readings normal about the line by their uncertainty and by a scatter beyond the gauge, the zero of "
            "one gauge on one sheet shared. The three scatters are integrated over a grid.",
            "Their priors are half-Cauchy, flat near zero, so that parts are not made alike by decree, with so long a "
            f"tail that plenty of readings have their way. Medians: of starts {_share(OF_NEW_WIDTH)} of the width of "
            f"the new range; of rates {_share(OF_LIFE_RATE)} of the rate that goes from new to the limit in a service "
            f"life; of readings {_share(OF_GAUGE)} times the gauge’s uncertainty, seating, dirt and hands being of its "
            "size. The mean start is normal about the middle of the new range, with "
            f"{_share(START_OF_NEW_WIDTH)} of its width.",
            f"What is missing is replaced: no new range, {_share(NEW_OF_LIMIT)} of the distance from new to the limit; "
            "no limit, the readings’ own spread; no service life, the longest exposure seen; exact gauges, "
            f"{_share(GAUGE_OF_NEW)} of the new range. A part whose life before is unknown has a start of its own.",
        ),
    ),
)

SOURCES: Final = (
    ("ISO 1", "the temperature at which lengths are stated"),
    ("JCGM 100:2008 (GUM)", "uncertainty, and its propagation"),
    ("ISO 14253-1", "verdicts near a limit"),
    ("ISO 12181", "roundness, from which two-point figures differ"),
    ("Patterson and Thompson 1971; Henderson 1975", "lines of like parts: restricted likelihood and prediction"),
    ("Fréchet 1935", "the outer range of chances that depend on each other"),
    ("Raiffa and Schlaifer 1961", "what one more reading would tell"),
    ("Fieller 1954; Mandel and Paule 1970; Jeffreys 1946", "did a change help: ratio, scatter, seasons"),
    ("Kaplan and Meier 1958; Greenwood 1926; Kalbfleisch and Prentice 1980", "the share still good, and its interval"),
    ("Turnbull 1976; Frydman 1994", "the same for failures found between two strips"),
    ("Brookmeyer and Crowley 1982; Clopper and Pearson 1934", "ends of that curve"),
    ("Nelson 1982; Meeker and Escobar 1998", "Weibull’s law"),
    ("Nelson 1988 and 1995", "how often a place is renewed"),
    ("Brier 1950", "how good chances are"),
)
