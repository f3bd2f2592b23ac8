"""What a page shows before anything else, to those who know none of the trade's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from rearlog.drawings.stages import Picture, picture
from rearlog.present.contents import Contents
from rearlog.present.drawings import drawing_of
from rearlog.records.profile import Profile
from rearlog.sentences import drawings as drawing_words
from rearlog.sentences import everyone as say


@dataclass(frozen=True, slots=True)
class StageDrawn:
    """A stage, or some that look alike: its code, its name, its size in words, and the drawing."""

    code: str
    name: str
    size: str
    svg: Markup


@dataclass(frozen=True, slots=True)
class CohortOutcome:
    """How many of a cohort there were, how many have grown up, and what became of the others."""

    cohort: str
    n: int
    reached: int
    others: str


@dataclass(frozen=True, slots=True)
class Everyone:
    """`become` is what grown ones are called; `stages` are drawn for each species, by its name,
    with a sentence about them."""

    lead: str
    become: str
    outcomes: Sequence[CohortOutcome]
    some_die: str
    stages: Sequence[tuple[str, str, Sequence[StageDrawn]]]


def everyone(contents: Contents) -> Everyone:
    """What became of all the animals of a page."""
    cohorts = contents.cohorts
    species = list({each.cohort.species.id: each.cohort.species for each in cohorts}.values())
    become = say.grown(species)
    return Everyone(
        lead=say.lead(
            [each.progress for each in cohorts],
            [each.forecast for each in cohorts if each.forecast],
            become,
        ),
        become=become,
        outcomes=[
            CohortOutcome(
                each.cohort.name,
                each.survival.n,
                each.survival.reached.reached,
                say.others(each.survival, become),
            )
            for each in cohorts
        ],
        some_die=say.SOME_DIE
        if any(each.survival.reached.n > each.survival.reached.reached for each in cohorts)
        else "",
        stages=[(each.name, say.course(each), stages_drawn(each)) for each in species],
    )


def stages_drawn(profile: Profile) -> list[StageDrawn]:
    """A drawing of each stage, magnified to be seen; neighbours that look alike share one."""
    every = (picture(profile, code) for code in profile.codes)
    alike = (list(group) for _, group in groupby(every, key=lambda each: each.shapes))
    return [_drawn(group) for group in alike]


def _drawn(alike: Sequence[Picture]) -> StageDrawn:
    first, last = alike[0], alike[-1]
    codes, names = (
        joint.join(dict.fromkeys(ends))
        for joint, ends in (
            ("–", (first.stage.code, last.stage.code)),
            (" to ", (first.stage.name, last.stage.name)),
        )
    )
    made = drawing_of(first, drawing_words.alt(first, last))
    return StageDrawn(codes, names, drawing_words.label(first), Markup(made.svg))
