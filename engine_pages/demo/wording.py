"""What a sheet says about a part in words and readings, as far as a picture can show it.

In: the caption and finding of a photo's part, its grades and readings as they stand in the sheet (text). Out: grades
0…4 by name, and where the words count or measure, that number: `overlay %` (share of the area), `scoring #` (how
many). A caption of eleven flakes must not stand under a picture of thirteen.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

_WORDS = "no one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
NUMBERS = {word: number for number, word in enumerate(_WORDS.split())}
NUMBERS |= {"a": 1, "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50}
SHARES = {"tenth": 10, "fifth": 20, "quarter": 25, "third": 33, "half": 50}
# What is counted, and the grade that it belongs to.
COUNTED = {"line": "scoring", "speck": "embedment", "pit": "pitting", "flake": "filter_metal"}
AREAS = ("overlay", "glaze")  # grades of which a sheet gives the share in words
# An oil-seal path's step, in mm, from which on grades 1…4 are drawn: the demo shop's limit is 0.020.
STEP_MM = (0.004, 0.010, 0.020, 0.030)

_PERCENT = re.compile(r"(\d+)\s*%")
_SHARE = re.compile(rf"\ba ({'|'.join(SHARES)})\b")
_COUNT = re.compile(
    rf"\b(\d+|{'|'.join(sorted(NUMBERS, key=len, reverse=True))})\s+(?:[a-z]+\s+)?({'|'.join(COUNTED)})s?\b"
)


def seen(
    observed: Mapping[str, object], measured: Mapping[str, object], words: Sequence[str], members: Sequence[str]
) -> dict[str, int]:
    """Grades by name, with `/2` for a set's second member, and the counts and shares that the first of `words` to
    say so gives.

    >>> seen({"overlay": "3", "scoring": "2"}, {}, ["Through on about 15 %, four light lines"], [])
    {'overlay': 3, 'scoring': 2, 'overlay %': 15, 'scoring #': 4}
    >>> seen({"chipping": {"a1": "0", "a2": "1"}}, {}, [], ["a1", "a2", "a3"])
    {'chipping': 1, 'chipping/1': 0, 'chipping/2': 1}

    """
    grades: dict[str, int] = {}
    for name, value in observed.items():
        if isinstance(value, Mapping):
            own = {member: grade_of(grade) for member, grade in value.items()}
            grades[name] = max(own.values(), default=0)
            order = list(members) or sorted(own)
            grades |= {f"{name}/{order.index(member) + 1}": grade for member, grade in own.items() if member in order}
        else:
            grades[name] = grade_of(value)
    grades |= _steps(measured)
    for text in reversed([word.lower() for word in words]):
        grades |= _shares(text, grades) | _counts(text, grades)
    return grades


def grade_of(value: object) -> int:
    """A grade as written; what is not written, or is no grade, shows nothing."""
    return int(value) if isinstance(value, str) and value in {"0", "1", "2", "3", "4"} else 0


def _steps(measured: Mapping[str, object]) -> dict[str, int]:
    """A step that was measured instead of graded."""
    for name, value in measured.items():
        if "step" in name:
            first = re.search(r"\d+\.\d+", str(value))
            if first:
                return {"wear_step": sum(float(first.group()) >= limit for limit in STEP_MM)}
    return {}


def _shares(text: str, grades: Mapping[str, int]) -> dict[str, int]:
    percent, share = _PERCENT.search(text), _SHARE.search(text)
    said = int(percent.group(1)) if percent else SHARES[share.group(1)] if share else None
    area = next((name for name in AREAS if grades.get(name, 0) >= 2), None)
    return {} if said is None or area is None else {f"{area} %": said}


def _counts(text: str, grades: Mapping[str, int]) -> dict[str, int]:
    counts = {}
    for number, thing in _COUNT.findall(text):
        mark = COUNTED[thing]
        if grades.get(mark):
            counts[f"{mark} #"] = int(number) if number.isdigit() else NUMBERS[number]
    return counts


def stage_of(caption: str) -> str:
    """How far a whole engine is put together, where the caption says it and the picture shows it."""
    return "before the sump" if "before the sump" in caption.lower() else ""
