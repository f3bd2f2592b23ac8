"""What a forecast says, and the words of its chart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.analysis.forecasting.notices import NoLengthKnown
from rearlog.records.wording import counted
from rearlog.sentences.future_temperature import basis
from rearlog.sentences.notices import noticed
from rearlog.sentences.phrases import (
    MOST_NAMED,
    Finding,
    by_cohort,
    celsius_range,
    cohorts_named,
    counted_in,
    is_are,
    listed,
    long_date,
    percent,
    plural,
    sentence_case,
    short_date,
    there,
    was_were,
    with_short_names,
)
from rearlog.sentences.texts import Texts


def lead(result: Forecast) -> str:
    """By which day half of those to come should be there, and from when on the first."""
    last = result.last_event
    if last is None:
        if came := _so_far(result):
            goals = plural(result.last_stage) if came > 1 else result.last_stage
            return f"Nothing more is to come in {result.cohort}: {came} became {goals}."
        return f"Nobody in {result.cohort} is still developing, so nothing is to come."
    if any(isinstance(each, NoLengthKnown) for each in result.notices):
        adults = plural(result.last_stage)
        return (
            f"When the {adults} of {result.cohort} will come cannot be foretold: how long the "
            "stages take is not known."
        )
    if last.likely is None or last.earliest is None or last.latest is None:
        return f"When {counted_in(last.n, last.into)} of {result.cohort} should come is not known."
    they = f"the {counted_in(last.n, last.into)} still to come in {result.cohort}"
    out = _out(last.into)
    if last.overdue:
        was, it = ("was", "it") if last.n == 1 else ("were all", "they")
        return (
            f"{sentence_case(they)} {was} expected {out} by {long_date(last.latest)}, and nobody "
            f"has seen yet that {it} {is_are(last.n)}."
        )
    if last.n == 1:
        return (
            f"{sentence_case(they)} should be {out} about {long_date(last.likely)}, between "
            f"{long_date(last.earliest)} and {long_date(last.latest)}, if it lives."
        )
    should = "should be" if last.likely >= result.as_of else "should have been"
    before = f"; {last.came} came before" if last.came else ""
    first = f"the first from {long_date(last.earliest)}"
    return (
        f"Half of {they} {should} {out} by {long_date(last.likely)}, {first}, if all live{before}."
    )


def words(result: Forecast) -> tuple[str, ...]:
    """When the last event should come, and what that rests on."""
    return tuple(_words(result))


def _words(result: Forecast) -> Iterator[str]:
    if not result.events:
        yield "Nobody is still developing: nothing is to come."
        return
    last = result.events[-1]
    if last.into == result.last_stage and last.likely is not None:
        between = f"{percent(result.window)} between {last.earliest} and {last.latest}"
        when = f"half by {last.likely}, {between}, if all live"
        if last.overdue:
            when = f"all were expected by {last.latest} and none is on record yet"
        yield f"{last.event.capitalize()}: of the {last.n} still to come, {when}."
    yield f"Temperature to come: {temperature(result)}."
    if result.finished:
        yield (
            f"The profile's {result.unit} are adjusted to the {result.finished} stages that "
            "individuals of this cohort have finished, and its individuals taken to differ "
            f"{result.spread:.1f} times as much as the profile says."
        )
    if result.past_cohorts:
        cohorts = counted(result.past_cohorts, "past cohort")
        yield f"{cohorts} of the same species told what to expect of this one."


def temperature(result: Forecast) -> str:
    """How warm it is taken to be from now on."""
    return basis(result.temperature_basis)


def notices(result: Forecast) -> tuple[str, ...]:
    """What a reader should know of it."""
    return noticed(result.notices, result.cohort)


def title(results: Sequence[Forecast]) -> str:
    """By when half of those still to come should be there."""
    return with_short_names(_title(results), [each.cohort for each in results])


def _title(results: Sequence[Forecast]) -> str:
    coming = [each for each in results if not each.is_over]
    if not coming and results:
        return _late(results)
    found = [(each.cohort, each.last_event) for each in coming]
    known = [(name, event, event.likely) for name, event in found if event and event.likely]
    if not known:
        came = [_came(each) for each in results if each.emergence]
        nothing = f"Nothing can be foretold of {cohorts_named([e.cohort for e in results])} yet"
        adults = sentence_case(goal(results))
        return f"{adults} so far: {by_cohort(came)}" if came else nothing
    likely = [Finding(name, day.toordinal(), short_date(day)) for name, _, day in known]
    adults = _every([event.into for _, event, _ in known])
    if len(results) == 1:
        return f"Half of the {adults} still to come are expected by {likely[0].words}"
    return f"Half of the {adults} to come are expected by: {by_cohort(likely)}"


def _late(results: Sequence[Forecast]) -> str:
    """Of cohorts whose last should all have come: by when, and that nobody has seen it."""
    last = [there(each.last_event) for each in results]
    days = [there(each.latest) for each in last]
    told = [
        Finding(each.cohort, day.toordinal(), short_date(day))
        for each, day in zip(results, days, strict=True)
    ]
    if len(results) == 1:
        return (
            f"{sentence_case(counted_in(last[0].n, last[0].into))} of {told[0].cohort} expected by "
            f"{told[0].words}, not on record yet"
        )
    return f"Expected, and not on record yet: {by_cohort(told)}"


def not_seen(result: Forecast) -> str:
    """When a cohort was looked at last and how many were alive, where that is too long ago for
    anything to be foretold."""
    last = result.last_event
    until = ""
    if last is not None and last.latest is not None:
        until = f"; all should be {_out(last.into)} since {_day(last.latest)}"
    if result.last_look is None:
        return f"{result.cohort}: nobody has looked yet, and {result.alive} came in alive{until}."
    seen = f"{result.cohort} was last looked at on {_day(result.last_look)}"
    alive = f"{result.alive} {was_were(result.alive)} alive"
    return f"{seen}, when {alive}{until}. What became of them is not on record."


def _out(stage: str) -> str:
    return "out" if stage == "adult" else f"in {stage}"


def _day(day: date) -> str:
    return f"{long_date(day)} {day.year}"


def alt_text(results: Sequence[Forecast]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    return f"Chart of the emergence so far and to come in {names}, by date. {title(results)}."


def notes(results: Sequence[Forecast], *, bands: bool = True) -> list[str]:
    """What the lines of the chart are, as of when, and at what temperature."""
    sentences = [f"Solid: {goal(results)} so far"]
    coming = [each for each in results if each.last_event is not None and not each.is_over]
    if coming:
        parts = dict.fromkeys(percent(each.window) for each in coming)
        band = f"with a band for {' and '.join(parts)} of outcomes, if all live"
        sentences[0] += f"; dashed: what is expected, {band if bands else 'if all live'}"
        days = sorted({each.as_of for each in coming})
        if len(days) <= MOST_NAMED:
            sentences += [f"As of {short_date(day)}" for day in days]
        else:
            sentences.append(f"As of {short_date(days[0])} to {short_date(days[-1])}")
        at: dict[str, list[str]] = {}
        for each in coming:
            at.setdefault(temperature(each), []).append(each.cohort)
        if len(at) == 1:
            sentences.append(f"Temperature to come: {next(iter(at))}")
        elif len(coming) <= MOST_NAMED:
            sentences += [f"Temperature to come in {listed(who)}: {how}" for how, who in at.items()]
        else:
            known = [each.temperature for each in coming if each.temperature is not None]
            if known:
                span = celsius_range((round(min(known), 1), round(max(known), 1)))
                sentences.append(f"Temperature to come: {span}")
    return [". ".join(sentences) + "."]


def goal(results: Sequence[Forecast]) -> str:
    """Those who have come to the last stage: adults."""
    return _every([each.last_stage for each in results])


def _every(stages: Sequence[str]) -> str:
    """The stages that are spoken of, each once."""
    return " and ".join(dict.fromkeys(map(plural, stages)))


def _came(result: Forecast) -> Finding:
    """How many have come, and by when."""
    day, count = result.emergence[-1], _so_far(result)
    return Finding(result.cohort, count, f"{count} by {short_date(day.date)}")


def _so_far(result: Forecast) -> int:
    """How many have come; of the days to come that is not known."""
    return max((each.came for each in result.emergence if each.came is not None), default=0)


TEXTS: Texts = {
    Forecast: {"words": words, "lead": lead, "notices": notices, "temperature_words": temperature},
}
