"""How the sentences of several answers put things."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TypeVar

from msgspec import Struct

from rearlog.analysis.statistics.levels import CONFIDENCE
from rearlog.records.wording import shortened_apart

MOST_NAMED = 4
"""More cohorts than this are not listed in a title: the lowest and the highest stand for them."""


class Finding(Struct, frozen=True):
    """What was found of one cohort: in words, and the value by which cohorts are ranked."""

    cohort: str
    value: float
    words: str


def by_cohort(findings: Sequence[Finding]) -> str:
    """The findings of several cohorts, for a title: `cool 20 of 24, warm 14 of 24`."""
    if len(findings) <= MOST_NAMED:
        return ", ".join(f"{each.cohort} {each.words}" for each in findings)
    low, high = (choose(findings, key=lambda each: each.value) for choose in (min, max))
    if low.words == high.words:
        return f"{low.words} in all {len(findings)} cohorts"
    ends = f"{low.words} ({low.cohort}) to {high.words} ({high.cohort})"
    return f"{ends} in {len(findings)} cohorts"


def cohorts_named(cohorts: Sequence[str], things: str = "cohorts") -> str:
    """Some cohorts (or other things) by their names in a sentence, many by their number."""
    return listed(cohorts) if len(cohorts) <= MOST_NAMED else f"{len(cohorts)} {things}"


def cohorts_in_a_row(cohorts: Sequence[str]) -> str:
    """The same with commas alone, for titles and behind a colon."""
    return ", ".join(cohorts) if len(cohorts) <= MOST_NAMED else cohorts_named(cohorts)


LONGEST_NAME = 20
"""Names of more letters than this are shortened in a title."""


def short_names(names: Sequence[str]) -> dict[str, str]:
    """The long ones of some names without their middle, and so that no two are alike."""
    told = list(dict.fromkeys(names))
    short = zip(told, shortened_apart(told, LONGEST_NAME), strict=True)
    return {name: cut for name, cut in short if cut != name}


def with_short_names(text: str, names: Sequence[str]) -> str:
    """A title in which long names are shortened."""
    for name, short in short_names(names).items():
        text = text.replace(name, short)
    return text


def beyond(cohorts: Sequence[str]) -> str:
    """That the expected ranges of these cohorts are extrapolated."""
    which = cohorts_in_a_row(cohorts)
    return f"Extrapolated beyond the temperatures of the profile's values: {which}"


def sentence_case(text: str) -> str:
    """The text with a capital to begin with; the rest as it is."""
    return text[:1].upper() + text[1:]


def in_a_sentence(text: str) -> str:
    """The text with a small letter to begin with; the rest as it is."""
    return text[:1].lower() + text[1:]


def is_are(n: int) -> str:
    """The verb of so many."""
    return "is" if n == 1 else "are"


def was_were(n: int) -> str:
    """The same of what is over."""
    return "was" if n == 1 else "were"


def percent(part: float) -> str:
    """A part of 1 as people write it: 71 %."""
    return f"{100 * part:.0f} %"


def least_to_most(parts: Sequence[float]) -> str:
    """What part of many groups died: 8 % to 20 % died in 5, 0 % died in each of 9."""
    least, most = percent(min(parts)), percent(max(parts))
    if least == most:
        return f"{least} died in each of {len(parts)}"
    return f"{least} to {most} died in {len(parts)}"


INTERVAL = f"{percent(CONFIDENCE)} interval"
LIMITS = f"{percent(CONFIDENCE)} limits"
BAND = f"{percent(CONFIDENCE)} band"
"""What intervals are called, wherever they are shown."""


def interval(low: float | None, high: float | None) -> str:
    """The interval of a value, to stand behind it in brackets; nothing where there is none."""
    return "" if low is None else f" ({INTERVAL} {low:.1f} to {high:.1f})"


def p_text(p: float) -> str:
    """A p value as it is written: never zero."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


T = TypeVar("T")


def there(value: T | None) -> T:
    """A value that is there wherever it is said."""
    assert value is not None
    return value


def listed(items: Sequence[str]) -> str:
    """Several things in a row: a, b and c."""
    return " and ".join(filter(None, (", ".join(items[:-1]), *items[-1:])))


_PLURALS = {"egg": "eggs", "prepupa": "prepupae", "pupa": "pupae", "adult": "adults"}


def of_panel(species: str, n: int, celsius: float | None) -> list[str]:
    """What is said of a cohort beside its name, from what matters least to what matters most."""
    return [species, f"n = {n}", *([] if celsius is None else [f"{celsius:.1f} °C"])]


def too_many(cohorts: int) -> str:
    """What stands in place of a chart that cannot hold so many cohorts."""
    return f"{cohorts} cohorts do not fit here: draw fewer of them, or for another size."


def plural(stage: str) -> str:
    """Several individuals in a stage: pupae, adults, L3."""
    return _PLURALS.get(stage, stage)


def counted_in(n: int, stage: str) -> str:
    """So many in a stage: 18 adults, one pupa, 3 in L4."""
    many = plural(stage)
    if many == stage:
        return f"{n or 'none'} in {stage}" if n != 1 else f"one in {stage}"
    return f"one {stage}" if n == 1 else f"{n} {many}"


def celsius_range(celsius: tuple[float, float]) -> str:
    """Temperatures from the lowest to the highest, or the one: 20 to 24 °C."""
    low, high = celsius
    return f"{low:g} °C" if low == high else f"{low:g} to {high:g} °C"


def reached_word(stage: str) -> str:
    """What it is called to have come into a stage."""
    return "adulthood" if stage == "adult" else stage


def degree_days(lower: float) -> str:
    """Degree-days with what they are, where a reader meets them first."""
    return f"degree-days (heat above {lower:g} °C, added up)"


def during(stage: str) -> str:
    """When something took so long: in L3, from L1 to pupa."""
    return f"from {stage}" if " to " in stage else f"in {stage}"


def long_date(day: date) -> str:
    """A day as a teacher says it: Wednesday 8 April."""
    return f"{day:%A} {day.day} {day:%B}"


def short_date(day: date) -> str:
    """A day as people say it: 9 Mar."""
    return f"{day.day} {day:%b}"
