"""What a page shows before anything else, to those who know none of the trade's words."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup
from msgspec import Struct

from rearlog.analysis.stages.progress import Progress
from rearlog.analysis.survival.survival import Survival
from rearlog.charts.individuals import named
from rearlog.charts.svg import grouped
from rearlog.drawings.stages import Picture
from rearlog.present.contents import Contents
from rearlog.present.drawings import alike, drawing_of, ends
from rearlog.records.profile import Profile
from rearlog.sentences import drawings as drawing_words
from rearlog.sentences import everyone as say
from rearlog.sentences import season as season_words


class StageDrawn(Struct, frozen=True):
    """A stage, or some that look alike: its code, its name, its size in words, and the drawing."""

    code: str
    name: str
    size: str
    svg: Markup


class CohortOutcome(Struct, frozen=True):
    """Of how many of a cohort what can be said first, when they came, and what became of the
    others."""

    cohort: str
    n: int
    first: int
    what: str
    when: str
    others: str


class OneOfAll(Struct, frozen=True):
    """An individual that can be followed: its code, what its parts of pictures are called by, and
    its life in a line."""

    code: str
    of: str
    life: str


class Everyone(Struct, frozen=True):
    """`lead` is of all: what they say together, where they are so many that each cohort is folded;
    then `outcome` is what became of everyone. `become` is what grown ones are called; `stages` are
    drawn for each species, by its name, with a sentence about them. `each` are the individuals of
    each cohort, by its name."""

    lead: str
    outcome: str
    become: str
    heading: str
    outcomes: Sequence[CohortOutcome]
    some_die: str
    stages: Sequence[tuple[str, str, Sequence[StageDrawn]]]
    each: Sequence[tuple[str, Sequence[OneOfAll]]]


def everyone(contents: Contents) -> Everyone:
    """What became of all the animals of a page."""
    cohorts = contents.cohorts
    species = list({each.cohort.species.id: each.cohort.species for each in cohorts}.values())
    become = say.grown(species)
    outcome = say.lead(
        [each.progress for each in cohorts],
        [each.forecast for each in cohorts if each.forecast],
        become,
    )
    return Everyone(
        lead=" ".join(season_words.leads(contents.season)) if contents.season else outcome,
        outcome=outcome if contents.season else "",
        become=become,
        heading=say.heading([each.survival for each in cohorts]),
        outcomes=[_outcome(each.survival, each.progress, become) for each in cohorts],
        some_die=say.SOME_DIE
        if any(each.survival.reached.n > each.survival.reached.reached for each in cohorts)
        else "",
        stages=[(each.name, say.course(each), stages_drawn(each)) for each in species],
        each=[
            (each.cohort.name, _each_of(number, each.progress))
            for number, each in enumerate(cohorts)
        ],
    )


def _outcome(survival: Survival, course: Progress, become: str) -> CohortOutcome:
    """How many have grown up; while nobody has, how many are growing."""
    reached, growing = survival.reached.reached, say.growing(survival)
    young = not reached and growing > 0
    return CohortOutcome(
        survival.cohort,
        survival.n,
        growing if young else reached,
        say.GROWING if young else become,
        say.when(course),
        say.others(survival, become, growing_told=young),
    )


def _each_of(number: int, course: Progress) -> list[OneOfAll]:
    return [
        OneOfAll(one.individual, named(number, one.individual), say.of_one(course, one))
        for one in course.individuals
    ]


def stages_drawn(profile: Profile) -> list[StageDrawn]:
    """A drawing of each stage, magnified to be seen; neighbours that look alike share one."""
    return [_drawn(group[0], group[-1]) for group in alike(profile)]


def _drawn(first: Picture, last: Picture) -> StageDrawn:
    made = drawing_of(first, drawing_words.alt(first, last))
    return StageDrawn(
        ends("–", first.stage.code, last.stage.code),
        ends(" to ", first.stage.name, last.stage.name),
        drawing_words.label(first),
        Markup(grouped(made.svg)),
    )
