"""The profile that one's own cohorts make of the one that they were started with."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from math import inf
from typing import Any

from rearlog.analysis.comparing.learning import Learned, LearnedStage, LearnedValue
from rearlog.records.profile import Profile
from rearlog.sentences import learning as words
from rearlog.species.of_stages import NAME
from rearlog.species.writing import Comments

OWN = "own-cohorts"
"""The key of the source of what was learned."""

_INSTAR = re.compile(r"[LN]\d+")
_DIGITS = {"days": 2, "degree_days": 1, "head_width_mm": 3}
_HEAD = (
    "A species profile. Values of the source own-cohorts are proposals, learned of one's own",
    "animals; all others are those of the profile that these were started with.",
)

Document = dict[str, Any]


def learned_profile(base: Profile, found: Learned, called: str) -> tuple[Document, Comments]:
    """The document of the profile with what was learned in place of what it said, and comments.

    `called` is its id. What contradicts what was learned is left out, and a comment says so.
    """
    document = base.to_dict() | {"id": called}
    if base.name == NAME:
        document["name"] = called.replace("-", " ")
    document["sources"] = document["sources"] | {
        OWN: {"kind": "own", "citation": words.citation(found)}
    }
    head = [*_HEAD]
    if found.threshold is not None:
        document["lower"] = {
            "value": found.threshold.celsius,
            "source": OWN,
            "note": words.threshold_note(found.threshold),
        }
        if base.lower is not None:
            head.append("Its degree-days were counted from another lower threshold: left out.")
    elif found.lower is None:
        head.append("No lower threshold is known: cohorts at three temperatures would tell one.")
    by_code = {each.stage: each for each in found.stages}
    comments: dict[str, list[str]] = {"": head}
    for stage in document["stages"]:
        if (learned := by_code.get(stage["code"])) is not None:
            _put(stage, learned, found)
            instar = _INSTAR.fullmatch(stage["code"]) is not None
            comments[stage["code"]] = [
                *words.left_out(learned, is_instar=instar, lower=found.lower)
            ]
    for code, told in _shrinking(document["stages"]):
        comments.setdefault(code, []).append(told)
    document["spans"] = [*_spans(document.get("spans", ()), base, found)]
    if not document["spans"]:
        del document["spans"]
    cited = {*_cited(document)}
    document["sources"] = {key: each for key, each in document["sources"].items() if key in cited}
    return document, comments


def _put(stage: Document, learned: LearnedStage, found: Learned) -> None:
    """Put what was learned of a stage into it."""
    if found.threshold is not None:
        stage.pop("degree_days", None)
    for name, digits in _DIGITS.items():
        value: LearnedValue | None = getattr(learned, name)
        if value is not None:
            stage[name] = _quantity(value, digits)


def _quantity(value: LearnedValue, digits: int) -> Document:
    made: Document = {"value": round(value.mean, digits)}
    if value.sd is not None:
        made["sd"] = round(value.sd, digits + 1)
    if value.celsius is not None:
        made["at_celsius"] = [round(each, 1) for each in value.celsius]
    return made | {"source": OWN, "note": words.note(value)}


def _shrinking(stages: list[Document]) -> Iterator[tuple[str, str]]:
    """Take out head widths that do not grow from instar to instar: learned ones give way to learned
    ones before them alone, others to all."""
    instars = [
        (place, stage, stage["head_width_mm"])
        for place, stage in enumerate(stages)
        if "head_width_mm" in stage and _INSTAR.match(stage["code"])
    ]
    kept: dict[int, float] = {}
    for place, stage, quantity in sorted(instars, key=lambda each: each[2]["source"] != OWN):
        here = quantity.get("value") or (quantity["low"] + quantity["high"]) / 2
        before = max((width for at, width in kept.items() if at < place), default=0.0)
        after = min((width for at, width in kept.items() if at > place), default=inf)
        if before < here < after:
            kept[place] = here
        else:
            del stage["head_width_mm"]
            why = "no more than before" if here <= before else "no less than after"
            yield stage["code"], f"A head width of {here:g} mm is left out: {why}."


def _spans(spans: Any, base: Profile, found: Learned) -> Iterator[Document]:
    """What the profile says of several stages together, where nothing of it was learned."""
    learned = {
        name: {each.stage for each in found.stages if getattr(each, name) is not None}
        for name in ("days", "degree_days")
    }
    for span in spans:
        inside = {*base.codes[base.rank[span["first"]] : base.rank[span["until"]]]}
        kept = {
            name: each
            for name, each in span.items()
            if name not in learned
            or not (learned[name] & inside or (name == "degree_days" and found.threshold))
        }
        if learned.keys() & kept.keys():
            yield kept


def _cited(thing: Any) -> Iterator[str]:
    """Every key of a source that is named anywhere."""
    if isinstance(thing, Mapping):
        for name, each in thing.items():
            if name in ("source", "spread_source") and isinstance(each, str):
                yield each
            else:
                yield from _cited(each)
    elif isinstance(thing, list | tuple):
        for each in thing:
            yield from _cited(each)
