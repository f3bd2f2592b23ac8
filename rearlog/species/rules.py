"""The rules that a species profile keeps, one small function each; all mistakes are returned.

The profile may come from a file with gaps: what is empty was refused when it was read, and is
passed over here.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from rearlog.records.errors import Problem
from rearlog.records.forms import MARKS, SHAPES, kind_of
from rearlog.records.profile import NOT_THE_ANIMAL, SOURCE_KINDS, Profile
from rearlog.records.suggestions import suggestion
from rearlog.species import quantities, stage_order
from rearlog.species.shape import item_place

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_ROUNDING = 1e-6

Problems = Iterator[Problem]


def problems_of(profile: Profile) -> list[Problem]:
    """Every rule that the profile breaks, with the place in the profile."""
    rules = (
        _id,
        *stage_order.RULES,
        _source_kinds,
        _sources_known,
        *quantities.RULES,
        _forms,
        _spans,
        _questions,
        _likelihoods,
    )
    return [problem for rule in rules for problem in rule(profile)]


def _id(profile: Profile) -> Problems:
    if profile.id.strip() and not _ID.fullmatch(profile.id):
        yield Problem(
            f"“{profile.id}” is not an id",
            "id",
            "write small letters, digits and hyphens, such as small-white",
        )


def _source_kinds(profile: Profile) -> Problems:
    for key, source in profile.sources.items():
        if source.kind.strip() and source.kind not in SOURCE_KINDS:
            place = f"{item_place('sources', key)}, kind"
            remedy = f"kinds are {', '.join(SOURCE_KINDS)}"
            yield Problem(f"“{source.kind}” is not a kind of source", place, remedy)


def _sources_known(profile: Profile) -> Problems:
    for place, key in _cited(profile):
        if key.strip() and key not in profile.sources:
            remedy = suggestion(key, profile.sources) or "add a table [sources.…]"
            yield Problem(f"“{key}” is not among the sources", place, remedy)


def _forms(profile: Profile) -> Problems:
    for stage in profile.stages:
        if stage.form is None:
            continue
        place = f"{stage_order.stage_place(stage.code)}, form"
        kind = kind_of(stage.code)
        named = (("shape", (stage.form.shape,), SHAPES), ("mark", stage.form.marks, MARKS))
        for what, words, known in named:
            for word in words:
                if word.strip() and word not in known[kind]:
                    remedy = suggestion(word, known[kind]) or f"no {kind} has one"
                    yield Problem(f"“{word}” is no {what} of a drawn {kind}", place, remedy)


def _spans(profile: Profile) -> Problems:
    for span in profile.spans:
        place = item_place("spans", span.name)
        ends = [code for code in (span.first, span.until) if code.strip()]
        for code in ends:
            yield from _known_stage(code, profile.rank, place)
        if len(ends) == 2 and profile.rank.get(ends[0], -1) >= profile.rank.get(ends[1], 1000):
            yield Problem(f"{ends[0]} does not come before {ends[1]}", place)
        if span.days is None and span.degree_days is None:
            yield Problem("there is no value", place, "give days or degree_days")


def _questions(profile: Profile) -> Problems:
    keys = [question.key for question in profile.questions if question.key.strip()]
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        yield Problem("the key is used twice", item_place("questions", key))
    for question in profile.questions:
        if len(question.answers) < 2:
            place = item_place("questions", question.key)
            yield Problem("a question needs two answers or more", place)


def _likelihoods(profile: Profile) -> Problems:
    for question in profile.questions:
        place = item_place("questions", question.key)
        sums: dict[str, float] = {}
        for answer in question.answers:
            for code, likelihood in answer.likelihood.items():
                yield from _known_stage(code, (*profile.codes, NOT_THE_ANIMAL), place)
                if 0 <= likelihood <= 1:
                    sums[code] = sums.get(code, 0.0) + likelihood
                else:
                    told = f"likelihood {likelihood:g} of {code} is not between 0 and 1"
                    yield Problem(told, place)
        for code, total in sums.items():
            if total > 1 + _ROUNDING:
                told = f"the likelihoods of {code} add up to {total:g} over the answers"
                yield Problem(told, place, "together they are 1 at most")


def _cited(profile: Profile) -> Iterator[tuple[str, str]]:
    """Every place that names a source, and the key that it names."""
    for place, _, quantity in quantities.all_quantities(profile):
        yield place, quantity.source
        if quantity.spread_source is not None:
            yield place, quantity.spread_source
    for stage in profile.stages:
        if stage.form is not None:
            yield f"{stage_order.stage_place(stage.code)}, form", stage.form.source
        for name in ("signs", "confusions"):
            for number, each in enumerate(getattr(stage, name), start=1):
                place = f"{stage_order.stage_place(stage.code)}, {item_place(name, str(number))}"
                yield place, each.source
    for name in ("measure_relations", "notes"):
        for number, sign in enumerate(getattr(profile, name), start=1):
            yield item_place(name, str(number)), sign.source
    for question in profile.questions:
        yield item_place("questions", question.key), question.source


def _known_stage(code: str, known: Collection[str], place: str) -> Problems:
    if code not in known:
        yield Problem(f"“{code}” is not a stage of this profile", place, suggestion(code, known))
