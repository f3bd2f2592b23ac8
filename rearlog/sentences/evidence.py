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
    told = ", ".join(_ground(each, evidence.kind) for each in evidence.grounds)
    if evidence.kind is EvidenceKind.ANSWER:
        return f"judged to be so in {told}"
    return f"expected: {told} mm"


def _ground(found: AnswerShare | ExpectedSize, kind: EvidenceKind) -> str:
    """What is known of one stage: the share, the range of a length, or the mean of another part."""
    if isinstance(found, AnswerShare):
        return f"{percent(found.share)} of {stage_name(found.stage)}"
    if kind is EvidenceKind.LENGTH:
        return f"{found.stage} {found.low_mm:g} to {found.high_mm:g}"
    own = "" if found.own_n is None else f" (own, n = {found.own_n})"
    return f"{found.stage} {found.low_mm:.3g}{own}"


def stage_name(code: str) -> str:
    """A stage as it is spoken of."""
    return "something else" if code == NOT_THE_ANIMAL else code


TEXTS: Texts = {Evidence: {"given": given, "words": words}}
