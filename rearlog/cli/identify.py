"""Which stage or instar is this: from measurements, or by questions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.main import show_problems
from rearlog.cli.numbers import CELSIUS, LENGTH, READING_ERROR
from rearlog.cli.options import answering, notes, on_option
from rearlog.cli.present import show
from rearlog.cli.streams import is_asked, printable
from rearlog.cli.which_species import of_a_species, profile_and_cohort
from rearlog.present.identify import found_animal_tables, identification_tables
from rearlog.records import times
from rearlog.records.errors import Problem, UsageError
from rearlog.records.profile import KeyAnswer, KeyQuestion, Profile
from rearlog.settings import usual

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.found_animal import FoundAnimal
    from rearlog.notebook import Notebook


@click.command("identify")
@of_a_species
@click.option(
    "--head", type=LENGTH, multiple=True, metavar="MM", help="Head width; again to repeat."
)
@click.option(
    "--length",
    type=LENGTH,
    metavar="MM",
    help="Body length: helps, but never decides.",
)
@click.option(
    "--measure",
    multiple=True,
    metavar="NAME=MM",
    help="Another part by its name in the profile, such as front-filament=1.7.",
)
@click.option(
    "--reading-error",
    type=READING_ERROR,
    metavar="MM",
    help="Standard deviation of a reading of head or part; a tenth of the width unless given.",
)
@click.option(
    "--answers",
    multiple=True,
    metavar="KEY=ANSWER",
    help="An answer to a question of the profile: its number, its text, or not sure.",
)
@click.option(
    "--temp",
    type=CELSIUS,
    metavar="C",
    help="How warm it is kept, for its age and what is to come (default: the cohort's).",
)
@on_option
@full_option
@answering
def identify_command(
    species: str | None,
    cohort: Path | None,
    head: tuple[float, ...],
    length: float | None,
    measure: tuple[str, ...],
    reading_error: float | None,
    answers: tuple[str, ...],
    temp: float | None,
    on: str | None,
    form: str,
) -> None:
    """Which stage or instar is this, and how sure is that.

    Measure the width of the head, best more than once: it is fixed within an instar. Without
    measurements and answers, questions are asked. Where the stage is sure and the temperature
    known, it goes on to how old the animal is, when it was laid, and what is to come.

    \b
    rearlog identify --species monarch --head 1.5 --measure front-filament=1.7
    rearlog identify --species monarch --head 3.4 --temp 22 --on yesterday
    rearlog identify --cohort room --head 0.9 --head 0.95 --length 8
    rearlog identify --species monarch --head 1.82 --reading-error 0.02
    rearlog identify --species monarch
    rearlog identify --species monarch --answers form=3 --answers bands=3
    """
    from rearlog.analysis.growth.evidence import Measured
    from rearlog.analysis.growth.identify import identify
    from rearlog.analysis.growth.key import read_answers
    from rearlog.present.identified import identified
    from rearlog.sentences.identify import lead, warnings

    profile, notebook = profile_and_cohort(species, cohort)
    growth = notebook.growth() if notebook else None
    measured = Measured(head, _parts(measure), length, reading_error)
    told: dict[str, KeyAnswer | None] = dict(read_answers(profile, _pairs("--answers", answers)))
    is_asked_for = measured == Measured() and not answers
    if is_asked_for:
        told = _ask(profile)
    result = identify(profile, measured, told, growth)
    if form != "table":
        notes(warnings(result))
    if is_asked_for and temp is None and notebook is None and result.stage in profile.codes[:-1]:
        temp = _ask_temperature()
    found = _found(profile, notebook, result.stage, temp, on)
    show(
        identified(result, found),
        form,
        lambda _: [*identification_tables(result), *(found_animal_tables(found) if found else ())],
        "probabilities",
        lambda _: lead(result),
    )


def _found(
    profile: Profile,
    notebook: Notebook | None,
    stage: str | None,
    temp: float | None,
    on: str | None,
) -> FoundAnimal | None:
    """What follows from the stage, where it is one that still develops and a temperature is known;
    the day is looked at in any case."""
    from rearlog.analysis.forecasting.found_animal import found_animal

    cohort = notebook.log.cohort if notebook else None
    zone = cohort.zone if cohort else times.local_zone()
    now = times.now(zone)
    moment = times.read_moment(on, zone, "12:00", now) if on is not None else now
    if stage not in profile.codes[:-1]:
        return None
    if notebook is not None:
        return notebook.found_animal(stage, temp, moment)
    return None if temp is None else found_animal(profile, stage, temp, moment.date())


def _ask_temperature() -> float | None:
    """Ask how warm it is kept until the answer is a temperature, or not known."""
    while True:
        asked = f"How warm is it kept, in °{usual.unit()} (Enter: not known)"
        text = click.prompt(asked, default="", show_default=False, err=True)
        if not text.strip():
            return None
        try:
            return CELSIUS.convert(text.replace(",", "."), None, None)
        except click.BadParameter as error:
            click.echo(printable(f"Error: {error.message}"), err=True)


def _pairs(option: str, given: Sequence[str]) -> dict[str, str]:
    """KEY=VALUE, each key once."""
    found: dict[str, str] = {}
    problems = []
    for each in given:
        key, equals, value = each.partition("=")
        key, value = key.strip(), value.strip()
        if not equals:
            problems.append(Problem(f"“{each}” has no =", option, f"write {option} KEY=VALUE"))
        elif key in found:
            problems.append(Problem(f"“{key}” is given twice", option))
        found[key] = value
    if problems:
        raise UsageError(problems)
    return found


def _parts(measure: Sequence[str]) -> dict[str, tuple[float, ...]]:
    """Other parts by their names in the profile; a part may be measured more than once."""
    found: dict[str, tuple[float, ...]] = {}
    for each in measure:
        name, _, value = each.partition("=")
        name = name.strip().casefold().replace("-", "_").replace(" ", "_")
        try:
            found[name] = (*found.get(name, ()), LENGTH.convert(value, None, None))
        except click.BadParameter:
            remedy = "write a length in mm, such as front-filament=1.7"
            raise UsageError(f"“{each[:40]}” is not a measure", remedy) from None
    return found


def _ask(profile: Profile) -> dict[str, KeyAnswer | None]:
    """Ask the questions of the profile, the most telling first, until it is sure."""
    from rearlog.analysis.growth.key import next_question

    if not profile.questions:
        remedy = f"give --head MM, or see “rearlog species show {profile.id}”"
        raise UsageError(f"the profile of {profile.name} has no questions", remedy)
    if not is_asked():
        listed = "; ".join(_as_option(profile))
        raise UsageError("nothing is known of it", f"give --head MM, or --answers: {listed}")
    answers: dict[str, KeyAnswer | None] = {}
    while (question := next_question(profile, answers)) is not None:
        click.echo(f"\n{printable(question.text)}", err=True)
        for number, answer in enumerate(question.answers, start=1):
            click.echo(f"  {number}  {printable(answer.text)}", err=True)
        answers[question.key] = _answer_to(question)
    return answers


def _answer_to(question: KeyQuestion) -> KeyAnswer | None:
    """Ask until the answer is one."""
    from rearlog.analysis.growth.key import read_answer

    while True:
        text = click.prompt("Number (Enter: not sure)", default="", show_default=False, err=True)
        try:
            return read_answer(question, text)
        except UsageError as error:
            show_problems(error)


def _as_option(profile: Profile) -> Iterator[str]:
    for question in profile.questions:
        yield f"{question.key}=1 to {len(question.answers)}"
