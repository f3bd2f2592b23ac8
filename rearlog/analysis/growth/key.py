"""The key of a profile: questions that tell stages apart, the most telling first, and those that
need a ruler after all that a look can answer."""

from __future__ import annotations

import math
from collections.abc import Mapping

from rearlog.records.errors import Problem, UsageError
from rearlog.records.head_widths import SURE
from rearlog.records.profile import NOT_THE_ANIMAL, KeyAnswer, KeyQuestion, Profile

NOT_SURE = ("not sure", "?", "")
"""What stands for no answer."""

LEAST_TELLING_BITS = 0.01
"""A question that is expected to tell less than this is not worth asking."""

WORTH_A_LOOK_BITS = 0.1
"""A look that is expected to tell this much goes before any question that needs a ruler."""

Answers = Mapping[str, KeyAnswer | None]


def read_answers(profile: Profile, given: Mapping[str, str]) -> dict[str, KeyAnswer | None]:
    """The answers by the key of their question; None for “not sure”.

    An answer is given by its number (from 1), its text, or the beginning of it. Raises UsageError
    with everything that cannot be read.
    """
    questions = {question.key: question for question in profile.questions}
    found: dict[str, KeyAnswer | None] = {}
    problems = []
    for key, text in given.items():
        if key not in questions:
            remedy = f"the questions are {', '.join(questions)}" if questions else ""
            problems.append(Problem(f"there is no question “{key}”", profile.name, remedy))
            continue
        try:
            found[key] = read_answer(questions[key], text)
        except UsageError as error:
            problems += error.problems
    if problems:
        raise UsageError(problems)
    return found


def read_answer(question: KeyQuestion, text: str) -> KeyAnswer | None:
    """The answer that is meant; None for “not sure”. Raises UsageError where that is not clear."""
    wanted = text.strip().casefold()
    if wanted in NOT_SURE:
        return None
    if wanted.isdecimal() and 1 <= int(wanted) <= len(question.answers):
        return question.answers[int(wanted) - 1]
    texts = [each.text.casefold() for each in question.answers]
    exact = [each for each, text in zip(question.answers, texts, strict=True) if text == wanted]
    begun = [
        each for each, text in zip(question.answers, texts, strict=True) if text.startswith(wanted)
    ]
    if len(exact) == 1 or len(begun) == 1:
        return (exact or begun)[0]
    listed = "; ".join(
        f"{number} {each.text}" for number, each in enumerate(question.answers, start=1)
    )
    raise UsageError(
        Problem(f"“{text[:40]}” is not an answer", question.key, f"{listed}; or not sure")
    )


def probabilities(profile: Profile, answers: Answers) -> dict[str, float]:
    """How likely each stage is (and NOT_THE_ANIMAL), given answers; all equally likely before.

    Bayes' theorem, the answers taken as independent within a stage. Empty where the answers
    contradict each other: together they occur in no stage.
    """
    weights = dict.fromkeys((*profile.codes, NOT_THE_ANIMAL), 1.0)
    for answer in answers.values():
        if answer is not None:
            weights = {
                code: weight * answer.likelihood.get(code, 0.0) for code, weight in weights.items()
            }
    total = sum(weights.values())
    return {code: weight / total for code, weight in weights.items()} if total > 0 else {}


def next_question(profile: Profile, answers: Answers) -> KeyQuestion | None:
    """The question that is expected to tell most, among those not asked yet.

    One that needs a ruler is asked where no look would tell at least WORTH_A_LOOK_BITS. None where
    a stage is sure already, the answers contradict each other, or no question would tell anything.
    Measured by the expected loss of entropy (Shannon 1948, Bell Syst. Tech. J. 27).
    """
    likely = probabilities(profile, answers)
    if not likely or max(likely.values()) >= SURE:
        return None
    open_questions = [each for each in profile.questions if each.key not in answers]
    telling = {each.key: _information(each, likely) for each in open_questions}
    looks = [
        each
        for each in open_questions
        if not each.needs_ruler and telling[each.key] >= WORTH_A_LOOK_BITS
    ]
    best = max(looks or open_questions, key=lambda each: telling[each.key], default=None)
    return best if best is not None and telling[best.key] >= LEAST_TELLING_BITS else None


def _information(question: KeyQuestion, likely: Mapping[str, float]) -> float:
    """Bits that the answer is expected to tell; what no answer covers tells nothing."""
    told = 0.0
    for answer in question.answers:
        joint = {code: p * answer.likelihood.get(code, 0.0) for code, p in likely.items()}
        total = sum(joint.values())
        if total > 0:
            told += total * (_entropy(likely) - _entropy({c: p / total for c, p in joint.items()}))
    return told


def _entropy(likely: Mapping[str, float]) -> float:
    return -sum(p * math.log2(p) for p in likely.values() if p > 0)
