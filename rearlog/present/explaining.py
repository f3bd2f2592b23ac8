"""What the names of numbers stand for: keys of results, headings of tables, marks of charts.

Words come from `sentences.meanings`, and where these say nothing from the docstring of the result;
method and source are read from the docstring of the function that works it out.
"""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Iterator, Sequence
from functools import cache
from importlib import import_module
from typing import Any, get_args, get_type_hints

from msgspec import Struct

from rearlog.analysis.hints import hints_of, is_result, with_bases
from rearlog.records.errors import UsageError
from rearlog.records.suggestions import suggestion
from rearlog.sentences.meanings.every import WORDS
from rearlog.sentences.meanings.methods import METHODS, Method
from rearlog.sentences.meanings.word import Word
from rearlog.sentences.phrases import there
from rearlog.sentences.texts import texts_about
from rearlog.sentences.works import works_named

ANSWERS = {
    "durations": ("stages.durations.Durations",),
    "heat": ("stages.stage_heat.Heat",),
    "survival": ("survival.survival.Survival", "comparing.survival_by_group.SurvivalByGroup"),
    "growth": ("growth.growth.Growth",),
    "stages": ("stages.stage_counts.StageCounts", "stages.stage_counts.StagesByDay"),
    "progress": ("stages.progress.Progress",),
    "compare": ("comparing.compare.Comparison", "comparing.factorial.Factorial"),
    "reproduction": (
        "reproduction.reproduction.Reproduction",
        "reproduction.reproduction.ReproductionComparison",
    ),
    "thermal": ("comparing.thermal.Thermal", "comparing.growth_by_heat.GrowthByHeat"),
    "lineage": ("comparing.lineage.Lineage",),
    "season": ("pooling.season.Season",),
    "forecast": (
        "forecasting.forecast.Forecast",
        "forecasting.review.Review",
        "forecasting.deadline.Deadline",
    ),
    "today": ("forecasting.due.Due",),
    "identify": ("growth.identify.Identification", "forecasting.found_animal.FoundAnimal"),
    "agreement": ("agreement.agreement.Agreement",),
    "plan": ("simulation.sample_size.SampleSize",),
    "species learn": ("comparing.learning.Learned",),
    "strike": ("comparing.strike_effect.StrikeEffect",),
}
"""The answers, and the kinds of result that they give."""

ROOT = "rearlog.analysis."
_SEE = re.compile(r"[Ss]ee\s+((?:`\w+`(?:,?\s+and\s+|,\s+)?)+)")
_ENDS = ("low", "high")
_SUBJECT = re.compile(r"(`\w+`(?:(?:, and |, | and )`\w+`)*)[ :,]")
_CLAUSE = re.compile(r";\s+(?=`)")
_SHAPE = re.compile(r" \([a-z0-9]{1,2},(?: [a-z0-9]{1,2})*\)")
"""The shape of an array, as docstrings tell it: (k,), (k, p)."""
_NO_VERB = re.compile(r"^(`\w+`) (?=(?:an?|how|that|the|those|what|who)\b)")
_BACK = re.compile(
    r"(?:Both|Else|In the last|Its?|O(?:f th(?:em|[eo]se)|n average they)|The(?:n|re|se|y)|Those)\b"
)
"""A sentence that begins so speaks of what the one before it names."""


class HowMade(Struct, frozen=True):
    """The function that works a number out, what it says of itself, and what it rests on."""

    function: str
    does: str
    sources: tuple[str, ...]
    assumes: str | None
    checked: tuple[str, ...]


class Meaning(Struct, frozen=True):
    """One thing that a name stands for: in which answers or charts, what it is, and how it is made.

    `notes` are what the results say of it themselves.
    """

    name: str
    names: tuple[str, ...]
    where: tuple[str, ...]
    says: str
    formula: str | None
    made: tuple[HowMade, ...]
    notes: tuple[str, ...]


class Explained(Struct, frozen=True):
    """All that a name stands for; of a `whole` answer what each of its names does."""

    name: str
    whole: bool
    meanings: tuple[Meaning, ...]


class NamesOf(Struct, frozen=True):
    """The names that an answer or a chart has."""

    answer: str
    names: tuple[str, ...]


class Names(Struct, frozen=True):
    """All names that can be explained, by answer and chart."""

    answers: tuple[NamesOf, ...]


class Place(Struct, frozen=True):
    """Where a key stands: in which answer, and in which kind of result there."""

    answer: str
    kind: type[Struct]
    key: str


def explain(name: str) -> Explained:
    """What a name stands for: `median`, or in one answer alone `survival median`.

    A name may be a path (`linear.threshold`) or a column of the CSV (`linear_threshold`). Letters
    count as they are, unless nothing is called so. The name of an answer or chart stands for all
    of its names. Raises UsageError for an unknown name.
    """
    name = " ".join(name.split())
    if name in (*ANSWERS, *charts()):
        every = [meaning for each in names_of(name) for meaning in _meanings(each, name)]
        once = {(each.says, frozenset([each.name, *each.names])): each for each in reversed(every)}
        return Explained(name, True, tuple(reversed(once.values())))
    answer, rest = _parted(name)
    ways = (_meanings, _inside, _alike)
    found = next((each for way in ways if (each := tuple(way(rest, answer)))), ())
    if not found:
        known = [*all_names(), *ANSWERS]
        raise UsageError(f"nothing is called “{name}”", suggestion(rest, known))
    return Explained(name, False, found)


def _parted(name: str) -> tuple[str | None, str]:
    """The answer or chart that a name begins with (None: with none), and the rest."""
    for answer in (*ANSWERS, *charts()):
        if name.startswith(f"{answer} ") and name not in all_names():
            return answer, name.removeprefix(f"{answer} ")
    return None, name


def names() -> Names:
    """The names of every answer and chart, in the order in which results have them."""
    return Names(tuple(NamesOf(each, tuple(names_of(each))) for each in (*ANSWERS, *charts())))


@cache
def names_of(answer: str) -> tuple[str, ...]:
    """The keys of an answer, and the headings of its tables that are called otherwise; or the marks
    of a chart."""
    if answer not in ANSWERS:
        mine = [each.names for each in WORDS if answer in map(_chart, each.charts)]
        return tuple(dict.fromkeys(name for names in mine for name in names))
    keys = [place.key for place in places() if place.answer == answer]
    kinds = {kind.__name__ for kind in _kinds_of(answer)}
    headings = [name for each in WORDS if kinds & {*each.kinds} for name in each.names]
    return tuple(dict.fromkeys([*keys, *headings]))


@cache
def all_names() -> tuple[str, ...]:
    """Every name that there is: of words, of keys."""
    mine = [name for each in WORDS for name in each.names]
    return tuple(dict.fromkeys([*mine, *(place.key for place in places())]))


def charts() -> tuple[str, ...]:
    """The charts whose marks are explained: `chart survival`."""
    return tuple(dict.fromkeys(_chart(name) for each in WORDS for name in each.charts))


def _chart(name: str) -> str:
    return f"chart {name}"


@cache
def places() -> tuple[Place, ...]:
    """Every key of every answer, by the kinds of results that it is made of."""
    return tuple(
        Place(answer, kind, key)
        for answer in ANSWERS
        for kind in _kinds_of(answer)
        for key in dict.fromkeys([*kind.__struct_fields__, *texts_about(kind)])
    )


def word_of(kind: type[Struct], key: str) -> Word | None:
    """The entry of a key: that of its kind, else one that holds for all."""
    mine = [each for each in WORDS if key in each.names and not each.charts]
    own = next((each for each in mine if kind.__name__ in each.kinds), None)
    return own or next((each for each in mine if not each.kinds), None)


def notes_on(kind: type[Struct], key: str) -> str | None:
    """What the docstring of a kind, or of one that it inherits from, says of one of its keys, in
    whole sentences: each begins with a capital, or with the key as its subject. What it says of
    other keys is left out."""
    sentences = [said for each in with_bases(kind) for said in _sentences(_doc(each))]
    told = [_told_of(key, sentences, n) for n, each in enumerate(sentences) if f"`{key}`" in each]
    found = (each for each in told if each[0].isupper() or _is_subject(key, each))
    return " ".join(dict.fromkeys(map(_without_code, found))) or None


def _without_code(text: str) -> str:
    """A text of a docstring with its subjects as words, and other names in quotation marks."""
    subject = _SUBJECT.match(text)
    head = subject[1] if subject else ""
    return head.replace("`", "") + re.sub(r"`([^`]*)`", r"“\1”", text.removeprefix(head))


def _told_of(key: str, sentences: Sequence[str], place: int) -> str:
    """The clauses of a sentence whose subject is the key; where none is, the whole sentence, with
    those before it that it refers to."""
    clauses = _CLAUSE.split(sentences[place].rstrip("."))
    mine = [_NO_VERB.sub(r"\1: ", each) for each in clauses if _is_subject(key, each)]
    if mine:
        return f"{'; '.join(mine)}."
    first = place
    while first and _BACK.match(sentences[first]):
        first -= 1
    return " ".join(sentences[first : place + 1])


def _is_subject(key: str, clause: str) -> bool:
    """Whether a clause begins with a key, or with several that it is among."""
    subject = _SUBJECT.match(clause)
    return subject is not None and f"`{key}`" in subject[1]


def _meanings(name: str, answer: str | None) -> Iterator[Meaning]:
    """What a name stands for, in one answer or in all."""
    mine = [each for each in places() if each.key == name and answer in (None, each.answer)]
    told = {each: word_of(each.kind, name) for each in mine}
    for word in WORDS:
        if name not in word.names:
            continue
        if word.charts:
            where = [_chart(each) for each in word.charts]
            if answer in (None, *where):
                yield _meaning(name, word, where, [])
            continue
        here = [place for place, its in told.items() if its is word]
        where = [each.answer for each in here] or _answers_with(word, answer)
        if where or (answer is None and not word.kinds):
            yield _meaning(name, word, where, here)
    for kind in dict.fromkeys(place.kind for place, its in told.items() if its is None):
        says = notes_on(kind, name)
        if says is not None:
            here = [place for place in mine if place.kind is kind]
            word = Word((name,), says)
            yield _meaning(name, word, [each.answer for each in here], here, noted=False)


def _answers_with(word: Word, answer: str | None) -> list[str]:
    """The answers that have results of a word's kinds: there its headings stand in tables."""
    return [
        each
        for each in ANSWERS
        if answer in (None, each) and {kind.__name__ for kind in _kinds_of(each)} & {*word.kinds}
    ]


def _meaning(
    name: str, word: Word, where: Sequence[str], here: Sequence[Place], *, noted: bool = True
) -> Meaning:
    kinds = dict.fromkeys(place.kind for place in here)
    functions = [word.by] if word.by else [_maker(place.answer, place.kind) for place in here]
    if not functions:
        functions = [
            _maker(answer, kind)
            for answer in where
            for kind in _kinds_of(answer)
            if kind.__name__ in word.kinds
        ]
    notes = [note for kind in kinds if noted and (note := notes_on(kind, name)) is not None]
    return Meaning(
        name,
        tuple(each for each in word.names if each != name),
        tuple(dict.fromkeys(where)),
        word.says,
        word.formula or None,
        tuple(how_made(each) for each in dict.fromkeys(functions) if each),
        tuple(dict.fromkeys(notes)),
    )


def _alike(name: str, answer: str | None) -> Iterator[Meaning]:
    """The meanings of names that differ in nothing but small and large letters."""
    for each in all_names():
        if each.casefold() == name.casefold():
            yield from _meanings(each, answer)


def _inside(name: str, answer: str | None) -> Iterator[Meaning]:
    """The meanings of a path, or of a column of the CSV: a key within what another key holds."""
    cuts = [tuple(name.split(".")[-2:])] if "." in name else []
    cuts += [(name[: at.start()], name[at.end() :]) for at in re.finditer("_", name)]
    for head, tail in cuts:
        for place in places():
            hint = _held(place.kind).get(head) if answer in (None, place.answer) else None
            inside = dict.fromkeys(each for inner in _results_in(hint) for each in reach(inner))
            for kind in inside:
                if tail in kind.__struct_fields__:
                    yield _of_kind(place.answer, kind, tail)
                    return
        if tail in _ENDS and (found := tuple(_meanings(head, answer))):
            yield from found
            return


@cache
def _held(kind: type[Struct]) -> dict[str, Any]:
    """What the fields and properties of a kind hold, by their names."""
    properties = {name: each for name, each in vars(kind).items() if isinstance(each, property)}
    late = {name: get_type_hints(each.fget).get("return") for name, each in properties.items()}
    return hints_of(kind) | late


def _of_kind(answer: str, kind: type[Struct], key: str) -> Meaning:
    word = word_of(kind, key)
    said = word or Word((key,), there(notes_on(kind, key)))
    return _meaning(key, said, [answer], [Place(answer, kind, key)], noted=word is not None)


@cache
def how_made(function: str) -> HowMade:
    """What a function of the analysis says of itself, by its name from there on."""
    module, _, name = function.rpartition(".")
    method = METHODS.get(function, Method())
    doc = _doc(getattr(import_module(f"{ROOT}{module}"), name))
    does = _plainly(doc.split("\n\n")[0]).replace("`", "")
    sources = tuple(work.reference for work in works_named(_told(module, name)))
    checked = tuple(f"tests/{each}" for each in method.checked or [mirror(method, function)])
    return HowMade(function, does, sources, method.assumes or None, checked)


def _plainly(paragraph: str) -> str:
    """What of a docstring is for those who ask for a number: no errors, no shapes of arrays."""
    told = [each for each in _sentences(paragraph) if not each.startswith("Raises ")]
    return _SHAPE.sub("", " ".join(told))


def mirror(method: Method, function: str) -> str:
    """The test module that mirrors the module of a function, or of what it is part of."""
    *rooms, module, _ = (method.part_of or function).split(".")
    return f"analysis/{'/'.join(rooms)}/test_{module}.py"


def _told(module: str, name: str, seen: frozenset[str] = frozenset()) -> str:
    """The docstring of a function with those of the functions that it refers to; with that of its
    module where they name no work."""
    home = import_module(f"{ROOT}{module}")
    doc = _doc(getattr(home, name))
    referred = [other for told in _SEE.findall(doc) for other in re.findall(r"\w+", told)]
    others = [getattr(home, each, None) for each in referred if each not in seen]
    for other in filter(inspect.isfunction, others):
        there = other.__module__.removeprefix(ROOT)
        doc += f"\n\n{_told(there, other.__name__, seen | {name})}"
    return doc if works_named(doc) else f"{doc}\n\n{_doc(home)}"


def _maker(answer: str, kind: type[Struct]) -> str | None:
    """The function that makes results of a kind: one of its module that returns it, else the one
    that makes what it is part of."""
    for whole in _wholes(answer, kind):
        module = sys.modules[whole.__module__]
        for name, function in inspect.getmembers(module, inspect.isfunction):
            returned = str(function.__annotations__.get("return", ""))
            mine = function.__module__ == whole.__module__ and not name.startswith("_")
            if mine and re.search(rf"\b{whole.__name__}\b", returned):
                return f"{whole.__module__.removeprefix(ROOT)}.{name}"
    return None


def _wholes(answer: str, kind: type[Struct]) -> list[type[Struct]]:
    """The kinds of an answer that a kind is part of, the smallest first: itself."""
    found = [each for each in _kinds_of(answer) if kind in reach(each)]
    return sorted(found, key=lambda each: len(reach(each)))


@cache
def _kinds_of(answer: str) -> tuple[type[Struct], ...]:
    found: dict[type[Struct], None] = {}
    for path in ANSWERS.get(answer, ()):
        module, _, name = path.rpartition(".")
        found |= dict.fromkeys(reach(getattr(import_module(f"{ROOT}{module}"), name)))
    return tuple(found)


@cache
def reach(kind: type[Struct]) -> tuple[type[Struct], ...]:
    """A kind of result with those that its fields hold, and theirs."""
    found: dict[type[Struct], None] = {}
    coming = [kind]
    while coming:
        each = coming.pop(0)
        if each not in found:
            found[each] = None
            coming += [inner for hint in hints_of(each).values() for inner in _results_in(hint)]
    return tuple(found)


def _results_in(hint: Any) -> Iterator[type[Struct]]:
    if is_result(hint):
        yield hint
    for each in get_args(hint):
        yield from _results_in(each)


def _doc(thing: Any) -> str:
    """The docstring that every kind of result, function and module of the analysis has."""
    doc = inspect.getdoc(thing)
    assert doc is not None
    return doc


def _sentences(doc: str) -> list[str]:
    """The sentences of a docstring, each on one line."""
    paragraphs = [" ".join(each.split()) for each in doc.split("\n\n")]
    return [
        sentence for each in paragraphs for sentence in re.split(r"(?<=\.)\s+(?=[A-Z`“])", each)
    ]
