"""What pages, drawings and learned profiles hold, as it is written down in `written/`, each with
how it was checked.

After a change that is meant, `python -m tests.present.test_written_pages` writes them anew, and
what is different is looked at before it is kept.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.learning import (
    Learned,
    LearnedStage,
    LearnedThreshold,
    LearnedValue,
)
from rearlog.charts.style import Style
from rearlog.present import page as pages
from rearlog.present.contents import Contents, contents
from rearlog.present.drawings import drawing, side_by_side
from rearlog.present.everyone import everyone
from rearlog.present.learned_profile import learned_profile
from rearlog.present.pictures import ChartOnPage
from rearlog.present.plainly import codes, plainly
from rearlog.records.profile import Profile
from rearlog.sentences import learning
from rearlog.species.catalogue import find
from rearlog.species.of_stages import profile_of_stages
from rearlog.species.writing import toml_of
from tests.analysis.invented_calls import a_round
from tests.builders import moment, notebook_of, seen, tiny_log
from tests.sentences.small_lives import SHAPES, small
from tests.written_lines import Written

WRITTEN = Written(Path(__file__).with_name("written"))


def of_page(shown: Contents) -> Iterator[str]:
    """The sections of a page; of a chart its look, its cohorts and what stands beside them."""

    def blank(results: Any, look: Style, *, invented: bool, **beside: Any) -> str:
        many = len(results) if isinstance(results, list) else "all"
        named = f"{many} results, {look.width_in:.3g} × {look.height_in:.3g} in"
        named += f" up to {look.tallest_in:.3g}, {look.text_pt:g} and {look.least_pt:g} pt"
        return ", ".join([named, *(["invented"] if invented else []), *sorted(beside)])

    charts = {kind: (blank, alt) for kind, (_, alt) in pages.CHARTS.items()}
    with (
        patch.object(pages, "CHARTS", charts),
        patch.object(pages, "on_page", lambda figure, prefix: f'{prefix}: {figure} data-of="0/1"'),
    ):
        found = pages.drawn(shown)
    yield pages.names_of(shown)
    yield from of_picture(found.first)
    for section in found.between:
        yield from of_section(section)
    for result, sections in found.cohorts:
        yield f"-- {result.cohort.name}"
        for section in sections:
            yield from of_section(section, words=len(found.cohorts) == 1)
    yield from pages.sources(shown)
    yield from codes(shown)
    yield from plainly(shown)


def of_section(section: pages.Section, *, words: bool = True) -> Iterator[str]:
    yield f"[{section.key}] {section.title}{': ' if words else ''}"
    if words:
        yield from (*section.lead, *section.words)
    for picture in section.pictures:
        yield from of_picture(picture)
    yield from (f"table {each.title}" for each in section.tables)


def of_picture(picture: ChartOnPage) -> Iterator[str]:
    yield f"{picture.kind}: {picture.wide}"
    yield f"{picture.kind}: {picture.narrow}"
    yield picture.alt
    yield from (f"  table {each.title}" for each in picture.tables)


def of_everyone(shown: Contents) -> Iterator[str]:
    """What stands first on a page; of drawings their words alone."""
    found = everyone(shown)
    yield found.lead
    yield f"{found.become}; {found.heading}; {found.some_die or 'none dies'}"
    for each in found.outcomes:
        yield f"{each.cohort}: {each.first} of {each.n} {each.what}. {each.when} {each.others}"
    for name, course, stages in found.stages:
        yield f"{name}: {course}"
        for stage in stages:
            (called,) = re.findall(r'aria-label="([^"]*)"', stage.svg)
            yield f"  {stage.code}, {stage.name}, {stage.size}: {called}"
    for name, ones in found.each:
        yield from (f"{name}: {one.code} is {one.of}. {one.life}" for one in ones)


def page_of(*names: str) -> Contents:
    cohorts = [small(each.replace(", ", " ").replace(" ", "-"), SHAPES[each]) for each in names]
    return contents(cohorts, moment(11.5))


def invented(shown: Contents) -> Contents:
    """The same, but the first cohort is invented."""
    first, *others = shown.cohorts
    made = replace(first, cohort=replace(first.cohort, invented=True))
    return replace(shown, cohorts=(made, *others))


def doubtful(count: int) -> Contents:
    """So many individuals that were said to be L2 before they were L1; without temperatures."""
    log = tiny_log({str(place): "egg L2 L1" for place in range(count)}, name="odd")
    looks = tuple(replace(each, number=n) for n, each in enumerate(log.all_observations, start=1))
    odd = notebook_of(replace(log, all_observations=looks))
    return contents([odd], moment(5))


def doubts(shown: Contents) -> Iterator[str]:
    """The last doubts of a page."""
    (cohort,) = shown.cohorts
    sections = pages.cohort_sections(replace(cohort, heat=None), 0, small=False)
    (found,) = (each for each in sections if each.key == "doubt")
    yield f"of {len(found.lead)}: {found.lead[-1]}"


def looked_twice() -> Contents:
    """A round of two observers, one of whom measured a head."""
    log = a_round()
    measured = seen(log.individuals[0].code, 3, "L1", head_width_mm=0.5)
    made = log.with_checks([*log.all_observations, measured])
    return contents([notebook_of(made)], moment(5))


def drawings() -> Iterator[str]:
    """Stages of which much is known and of which nothing is."""
    monarch, plain = find("monarch"), profile_of_stages("egg,L1,adult")
    for profile, stage in ((monarch, "egg"), (monarch, "L3"), (monarch, "adult"), (plain, "L1")):
        found = drawing(profile, stage)
        yield f"{profile.name}, {stage}: {found.width_mm:.4f} × {found.height_mm:.4f} mm"
        yield from pieces(found.svg)
    for profile in (find("seven-spot-ladybird"), plain):
        yield f"{profile.name}, side by side"
        yield from pieces(side_by_side(profile))


def pieces(svg: str) -> Iterator[str]:
    """The elements of a drawing without the courses of their lines, each kind once."""
    found = re.findall(r"<[^/][^>]*>|[^<>]+(?=</t)", svg)
    return iter(dict.fromkeys(f"  {re.sub(PATH, ' d', piece)}" for piece in found))


PATH = r' d="[^"]*"'


def learned() -> Iterator[str]:
    """Profiles with what was learned, and how it is said."""

    def value(mean: float, *, sd: float | None = 0.25, celsius: bool = True) -> LearnedValue:
        at = (20.04, 22.0) if celsius else None
        return LearnedValue(mean, 0.0625, sd, 20, ("room", "shelf"), at)

    def stage(code: str, **known: LearnedValue | None) -> LearnedStage:
        told: dict[str, Any] = {"days": None, "degree_days": None, "head_width_mm": None, **known}
        return LearnedStage(
            code, **told, completed=3, heated=2, measured=1, unfinished=("room",),
            at_other_temperatures=("shelf",),
        )  # fmt: skip

    lady, plain = find("painted-lady"), profile_of_stages("egg,L1,L2,adult")
    stages = (
        stage("egg", days=value(4.126), degree_days=value(51.26, sd=None, celsius=False)),
        stage("L1", days=value(3.0, sd=None), head_width_mm=value(0.4126)),
        stage("L2"),
    )
    sure = LearnedThreshold(9.75, 0.375, "egg to adult", (18.0, 22.04, 26.0))
    unsure = LearnedThreshold(9.75, None, "egg", (18.0, 22.0))
    base: list[tuple[Profile, LearnedThreshold | None, float | None]] = [
        (lady, sure, 9.75), (lady, None, 6.9), (plain, unsure, 9.75), (plain, None, None)
    ]  # fmt: skip
    for profile, threshold, lower in base:
        found = Learned(profile.scientific_name, ("room", "shelf"), threshold, lower, stages)
        yield f"== {profile.name}, threshold {threshold and threshold.celsius}, lower {lower}"
        yield learning.summary(found)
        document, comments = learned_profile(profile, found, "ours-2")
        for line in toml_of(document, comments).splitlines():
            if "own-cohorts" in line or line.startswith(("#", "id", "name")):
                yield f"  {line}"
        yield f"sources {', '.join(document['sources'])}; spans {len(document.get('spans', ()))}"
    alone = Learned("Moth test", ("room",), None, None, stages[2:])
    yield learning.citation(alone)
    yield learning.summary(replace(alone, stages=stages[:1]))


def firsts() -> Iterator[str]:
    for names in (
        ("one young",),
        ("quick",),
        ("grown, dead, lost", "taken out, one and two"),
        ("all dead as eggs",),
        ("dead when grown", "two dead of three"),
    ):
        yield from (f"== {', '.join(names)}", *of_everyone(page_of(*names)))


PAGES: dict[str, Callable[[], Iterable[str]]] = {
    "page-one": lambda: of_page(page_of("grown and young")),
    "page-three": lambda: of_page(invented(page_of("grown, dead, lost", "quick", "slow"))),
    "page-doubts": lambda: (*of_page(doubtful(21)), *doubts(doubtful(20))),
    "page-twice": lambda: of_page(looked_twice()),
    "everyone": firsts,
    "drawings": drawings,
    "learned": learned,
}


@pytest.mark.parametrize("name", PAGES)
def test_pages_are_as_they_were_written_down(name: str) -> None:
    assert list(PAGES[name]()) == WRITTEN.read(name)


if __name__ == "__main__":
    for each, tell in PAGES.items():
        WRITTEN.write(each, list(tell()))
