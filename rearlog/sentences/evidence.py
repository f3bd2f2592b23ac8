"""Why a thing measured or seen speaks for a stage."""

from __future__ import annotations

from rearlog.analysis.growth.evidence import AnswerShare, Evidence, EvidenceKind, ExpectedSize
from rearlog.records.profile import NOT_THE_ANIMAL
from rearlog.sentences.phrases import percent
from rearlog.sentences.texts import Texts


def given(evidence: Evidence) -> str:
    """What was measured or answered."""
    if evidence.answer is not None:
        return evidence.answer
    error = evidence.reading_error_mm
    sure = "" if error is None else f" ± {error:g}"
    return f"{', '.join(f'{each:g}' for each in evidence.readings_mm)}{sure} mm"


def words(evidence: Evidence) -> str:
    """What the profile, or the cohort, knows of the nearest stages."""
    if evidence.kind is EvidenceKind.ANSWER:
        shares = [each for each in evidence.grounds if isinstance(each, AnswerShare)]
        told = (f"{percent(each.share)} of {stage_name(each.stage)}" for each in shares)
        return f"judged to be so in {', '.join(told)}"
    sizes = [each for each in evidence.grounds if isinstance(each, ExpectedSize)]
    say = _range if evidence.kind is EvidenceKind.LENGTH else _mean
    return f"expected: {', '.join(map(say, sizes))} mm"


def _range(size: ExpectedSize) -> str:
    return f"{size.stage} {size.low_mm:g} to {size.high_mm:g}"


def _mean(size: ExpectedSize) -> str:
    own = "" if size.own_n is None else f" (own, n = {size.own_n})"
    return f"{size.stage} {size.low_mm:.3g}{own}"


def stage_name(code: str) -> str:
    """A stage as it is spoken of."""
    return "something else" if code == NOT_THE_ANIMAL else code


TEXTS: Texts = {Evidence: {"given": given, "words": words}}
