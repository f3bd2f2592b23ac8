"""The profile that a description makes.

What nobody knows is not in it, and a comment says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from msgspec.structs import astuple

from rearlog.records.errors import UsageError
from rearlog.records.profile import SOURCE_KINDS
from rearlog.species.description import (
    CITATIONS,
    EXAMPLES,
    LARVA,
    NYMPH,
    USUAL_STAGES,
    Description,
)
from rearlog.species.of_stages import NAME, SCIENTIFIC_NAME, sound, stages_in
from rearlog.species.writing import toml_of

MOST_INSTARS = 30
UNCOUNTED = (1, 9)
"""The fewest and the most instars that are written down where nobody has counted them."""

TOLD = "told"
"""The key of the source of all that was told."""
_LONGEST_NAMES = 200
_NAMES = re.compile(r"(?P<name>[^()]*?)\s*(?:\((?P<scientific>[^()]+)\))?")
_NUMBER = r"\d+(?:\.\d+)?"
_TO = r"\s*(?:-|–|to)\s*"
_INSTARS = re.compile(rf"(\d{{1,2}})(?:{_TO}(\d{{1,2}}))?")
_AMOUNT = rf"(?P<low>{_NUMBER})(?:{_TO}(?P<high>{_NUMBER}))?"
_DURATION = re.compile(
    rf"(?P<stage>[a-z]+\d*|egg to adult)\s+{_AMOUNT}\s*(?P<unit>dd|days?|d)?"
    rf"(?:\s+at\s+(?P<cold>{_NUMBER})(?:{_TO}(?P<warm>{_NUMBER}))?)?",
    re.I,
)
_THRESHOLD = re.compile(rf"(?P<which>lower|upper)\s+(?P<value>-?{_NUMBER})", re.I)
_HEAD = re.compile(rf"(?P<stage>[a-z]+\d+)\s+{_AMOUNT}(?:\s*mm)?", re.I)


def profile_text(told: Description) -> tuple[str, str]:
    """The id of the profile that was told of, and the text of its file.

    Raises UsageError for an answer that cannot be understood, or that no profile can hold.
    """
    for answer in astuple(told):
        if any("\ud800" <= letter <= "\udfff" for letter in answer):
            raise UsageError("an answer holds broken letters", "use a terminal in UTF-8")
    name, scientific = names_in(told.name)
    codes, counted = stages_of(told.stages, told.instars)
    stages = {str(each["code"]): each for each in codes}
    document: dict[str, Any] = {
        "id": id_of(name),
        "name": name,
        "scientific_name": scientific,
    }
    spans: list[dict[str, Any]] = []
    for key, place, value in _quantities(told, list(stages)):
        if key in ("lower", "upper"):
            document[key] = value
        elif isinstance(place, str):
            if key in stages[place]:
                raise UsageError(f"{place} is told of twice", f"such as {EXAMPLES['days']}")
            stages[place][key] = value
        else:
            first, until = place
            spans.append(
                {"first": first, "until": until, "name": f"{first} to {until}", key: value}
            )
    some = told.days.strip() or told.heads.strip()
    if told.kind not in CITATIONS:
        raise UsageError(f"“{told.kind}” is no way to know it", f"use {', '.join(CITATIONS)}")
    if some and told.kind == "published" and not told.citation.strip():
        raise UsageError("where was it published?", "give the author and the year")
    citation = told.citation.strip() or CITATIONS[told.kind]
    document["sources"] = {TOLD: {"kind": told.kind, "citation": citation}} if some else {}
    document |= {"stages": [*stages.values()]} | ({"spans": spans} if spans else {})
    sound(document)
    return document["id"], toml_of(document, _comments(told, scientific, counted, stages))


def names_in(text: str) -> tuple[str, str]:
    """The name and the scientific name in an answer; what is not known is called so."""
    match = _NAMES.fullmatch(" ".join(text.split()))
    if match is None or len(text) > _LONGEST_NAMES:
        raise UsageError(f"“{text[:60]}” is no name", f"such as {EXAMPLES['name']}")
    scientific = match["scientific"] or SCIENTIFIC_NAME
    return match["name"] or match["scientific"] or NAME, scientific


def id_of(name: str) -> str:
    """An id made of a name: small letters, digits and hyphens."""
    words = re.findall(r"[a-z0-9]+", name.casefold())
    return "-".join(words)[:60].strip("-") or "my-species"


def stages_of(stages: str, instars: str) -> tuple[list[dict[str, object]], bool]:
    """The stages in an answer, and whether all their instars were counted.

    Raises UsageError where it cannot be understood.
    """
    parts = [part.strip() for part in (stages.strip() or USUAL_STAGES).split(",")]
    named = [each for each in parts if each.casefold() in (LARVA, NYMPH)]
    fewest, most = instars_in(instars) or UNCOUNTED
    if instars.strip() and not named:
        raise UsageError(
            "the stages name their instars already, and the instars were counted too",
            f"write {LARVA} or {NYMPH} among the stages, or leave the number out",
        )
    for place, each in enumerate(parts):
        if each.casefold() in (LARVA, NYMPH):
            letter = "L" if each.casefold() == LARVA else "N"
            more = [f"{letter}{number}?" for number in range(fewest + 1, most + 1)]
            parts[place] = ",".join([f"{letter}{number}" for number in range(1, fewest + 1)] + more)
    return stages_in(",".join(parts)), bool(instars.strip()) or not named


def instars_in(text: str) -> tuple[int, int] | None:
    """The fewest and the most instars; None where nobody knows."""
    if not text.strip():
        return None
    match = _INSTARS.fullmatch(text.strip())
    if match is None:
        raise UsageError(f"“{text[:40]}” is no number of instars", f"such as {EXAMPLES['instars']}")
    fewest, most = int(match[1]), int(match[2] or match[1])
    if not 1 <= fewest <= most <= MOST_INSTARS:
        raise UsageError(f"there are 1 to {MOST_INSTARS} instars", "the smaller number first")
    return fewest, most


_Place = str | tuple[str, str]


def _quantities(
    told: Description, codes: list[str]
) -> Iterator[tuple[str, _Place, dict[str, Any]]]:
    """Each number that was told: which quantity, of which stage or span, as a profile has it.

    A temperature holds for all that stands before it without one.
    """
    undated: list[dict[str, Any]] = []
    for part in _parts(told.days):
        if match := _THRESHOLD.fullmatch(part):
            yield match["which"].lower(), "", _value(float(match["value"]))
        elif match := _DURATION.fullmatch(part):
            value = _range(match["low"], match["high"])
            undated.append(value)
            if match["cold"]:
                celsius = [float(match["cold"]), float(match["warm"] or match["cold"])]
                for each in undated:
                    each["at_celsius"] = celsius
                undated.clear()
            key = "degree_days" if (match["unit"] or "").lower() == "dd" else "days"
            yield key, _place(match["stage"], codes), value
        else:
            raise UsageError(f"“{part[:60]}” is not understood", f"such as {EXAMPLES['days']}")
    for part in _parts(told.heads):
        match = _HEAD.fullmatch(part)
        if match is None:
            raise UsageError(f"“{part[:60]}” is not understood", f"such as {EXAMPLES['heads']}")
        place = _place(match["stage"], codes)
        yield "head_width_mm", place, _range(match["low"], match["high"])


def _parts(text: str) -> list[str]:
    return [" ".join(part.split()) for part in re.split("[,;]", text) if part.strip()]


def _value(number: float) -> dict[str, Any]:
    return {"value": number, "source": TOLD}


def _range(low: str, high: str | None) -> dict[str, Any]:
    if high is None:
        return _value(float(low))
    return {"low": float(low), "high": float(high), "source": TOLD}


def _place(word: str, codes: list[str]) -> _Place:
    """The stage that a word means, or the span: all instars, or the whole development."""
    if word.casefold() == "egg to adult":
        return codes[0], codes[-1]
    if word.casefold() in (LARVA, NYMPH):
        instars = [place for place, code in enumerate(codes) if code[0] in "LN" and code[1:]]
        if not instars or instars[-1] + 1 >= len(codes):
            raise UsageError(f"there is no {word} that ends", f"the stages are {', '.join(codes)}")
        return codes[instars[0]], codes[instars[-1] + 1]
    known = {code.casefold(): code for code in codes}
    if word.casefold() not in known:
        raise UsageError(f"there is no stage “{word}”", f"the stages are {', '.join(codes)}")
    return known[word.casefold()]


def _comments(
    told: Description, scientific: str, counted: bool, stages: dict[str, dict[str, object]]
) -> dict[str, list[str]]:
    """What the file says beside the values: above all what is not known."""
    head = [
        "A species profile. “rearlog species check FILE” says whether it can be used, and what to",
        "mend. Every value names its source, one of the tables [sources.…]; kinds of source are",
        f"{', '.join(SOURCE_KINDS)}.",
        "More that a stage may have: length_mm = { low = 2, high = 4, source = … }, signs = [ … ]:",
        "“rearlog species show monarch” shows a profile with all of it.",
    ]
    if scientific == SCIENTIFIC_NAME:
        head.append(f"Its scientific name is not known: {SCIENTIFIC_NAME} stands for any insect.")
    if not counted:
        head.append("Nobody has counted the instars: those after the first may be passed over.")
    comments: dict[str, list[str]] = {"": head}
    for code, stage in [*stages.items()][:-1]:
        lacks = [] if {"days", "degree_days"} & {*stage} else ["how long it takes"]
        if code[0] in "LN" and code[1:] and "head_width_mm" not in stage:
            lacks.append("how wide the head is")
        if lacks:
            comments[code] = [f"Not known by itself: {', '.join(lacks)}."]
    return comments
