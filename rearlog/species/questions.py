"""The five questions about a species, asked one after the other."""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from rearlog.records.errors import UsageError
from rearlog.species.describing import instars_in, names_in, profile_text, stages_of
from rearlog.species.description import (
    CITATIONS,
    EXAMPLES,
    LARVA,
    NYMPH,
    USUAL_STAGES,
    Description,
    known,
)

_KINDS = dict(zip(("p", "c", "m", "o"), CITATIONS, strict=True))


def asked_for(ask: Callable[[str], str], say: Callable[[str], None]) -> Description:
    """The answers of somebody who is asked, one question after the other, until each is sound.

    `ask` returns what is typed after a question; what it raises ends the questions.
    """

    def until_sound(question: str, check: Callable[[str], object]) -> str:
        while True:
            answer = known(ask(question))
            try:
                check(answer)
            except UsageError as error:
                for line in error.told():
                    say(f"   {line}")
            else:
                return answer

    say("Five questions. Enter says “not known”, which is a good answer to each of them.")
    say("")
    say(f"1. What is it called? Such as: {EXAMPLES['name']}")
    name = until_sound("   > ", names_in)
    say(f"2. Which stages has it, in their order? Enter: {USUAL_STAGES}")
    say("   For a bug or a grasshopper: egg,nymph,adult")
    stages = until_sound("   > ", lambda answer: stages_of(answer, ""))
    counted = not stages.strip() or LARVA in stages.casefold() or NYMPH in stages.casefold()
    instars = ""
    if counted:
        say(f"3. How many instars? Such as: {EXAMPLES['instars']}")
        instars = until_sound("   > ", instars_in)
    else:
        say("3. How many instars? The stages say it already.")
    so_far = Description(name, stages, instars)

    def with_days(answer: str) -> object:
        return profile_text(replace(so_far, days=answer))

    say("4. How many days do stages take, at which temperature (°C)?")
    say(f"   Such as: {EXAMPLES['days']}")
    so_far = replace(so_far, days=until_sound("   > ", with_days))

    def with_heads(answer: str) -> object:
        return profile_text(replace(so_far, heads=answer))

    say("5. How wide are the heads, in mm?")
    say(f"   Such as: {EXAMPLES['heads']}")
    so_far = replace(so_far, heads=until_sound("   > ", with_heads))
    if not so_far.days.strip() and not so_far.heads.strip():
        return so_far
    return _with_source(so_far, until_sound, say)


def _with_source(
    told: Description,
    until_sound: Callable[[str, Callable[[str], object]], str],
    say: Callable[[str], None],
) -> Description:
    """How the numbers are known: they are worth no more than that."""
    say("And how are these numbers known?")
    say("   p published, c common practice, m from memory, o seen with animals of your own")
    answer = until_sound("   > ", _kind)
    kind = _kind(answer)
    if kind != "published":
        return replace(told, kind=kind)
    say("   Where? The author and the year")
    return replace(told, kind=kind, citation=until_sound("   > ", _citation))


def _kind(answer: str) -> str:
    """How something is known, by its letter or in full; nothing told is from memory."""
    word = answer.strip().casefold() or "from memory"
    if word in CITATIONS:
        return word
    if word not in _KINDS:
        raise UsageError(f"“{answer[:40]}” is none of them", f"type {', '.join(_KINDS)}")
    return _KINDS[word]


def _citation(answer: str) -> None:
    if not answer.strip():
        raise UsageError("what nobody can look up is not published", "give the author and the year")
