"""Records in doubt and animals that were identified, made up: every kind that there is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from msgspec.structs import replace

from rearlog.analysis.growth.evidence import Evidence, EvidenceKind
from rearlog.analysis.growth.identify import (
    Identification,
    Outcome,
    Reservation,
    StageProbability,
)
from rearlog.analysis.stages.in_doubt import Blame, InDoubt, Told
from rearlog.records.doubts import DoubtKind
from rearlog.records.profile import NOT_THE_ANIMAL

MISTAKE, PERHAPS = Blame.MISTAKE, Blame.PERHAPS


def doubts() -> Iterator[tuple[str, InDoubt]]:
    """A look at an egg on the day after one at an L1, of every kind and with every blame."""
    before = Told(3, datetime(2026, 3, 9, 9, 5, tzinfo=UTC), "L1", None, ("L1", "L1"))
    look = Told(7, datetime(2026, 3, 10, 18, 30, tzinfo=UTC), "egg", None, ("egg", "egg"))
    plain = InDoubt("tiny", "m1", DoubtKind.EARLIER_STAGE, look, before)
    for kind in DoubtKind:
        yield f"{kind}, both count", replace(plain, kind=kind)
        wrong = replace(look, blame=MISTAKE, stages=("L1", "L1"))
        yield f"{kind}, a mistake", replace(plain, kind=kind, look=wrong)
    for name, blamed in (
        ("of one of two stages", replace(look, blame=MISTAKE, stages=("L1", "L2"))),
        ("of what it says", replace(look, blame=MISTAKE)),
        ("of its end", replace(look, blame=MISTAKE, stages=None)),
    ):
        yield f"a mistake {name}", replace(plain, look=blamed)
    first = replace(before, blame=MISTAKE, stages=("egg", "egg"))
    yield "the first is a mistake", replace(plain, before=first)
    both = replace(plain, before=first, look=replace(look, blame=MISTAKE))
    yield "both are", both
    entered = replace(first, record=None)
    yield "how it entered is", replace(plain, before=entered)
    yield "how it entered, and the look", replace(both, before=entered)
    yield "how it entered is not", replace(plain, before=replace(before, record=None))
    yield "either may be", replace(plain, look=replace(look, blame=PERHAPS))
    yield "the other may be", replace(plain, before=replace(before, blame=PERHAPS))


def identified() -> Iterator[tuple[str, Identification]]:
    """What an animal was found to be, each with what it is."""
    head = Evidence(EvidenceKind.MEASURE, "head width", (0.5,), None, ("L2",), (), ())
    body = Evidence(EvidenceKind.LENGTH, "body length", (9.5,), None, ("L3",), (), ())
    asked = Evidence(EvidenceKind.ANSWER, "striped", (), "yes", ("L2",), (), ())

    def of(
        outcome: Outcome,
        *possible: str,
        stage: str | None = None,
        p: float = 0.904,
        evidence: Sequence[Evidence] = (head,),
        unfit: Sequence[str] = (),
        doubts: Sequence[Reservation] = (),
        cohort: str | None = None,
    ) -> Identification:
        likely = (StageProbability("L1", 1 - p), StageProbability(stage or "L2", p))
        return Identification(
            "Moth test", cohort, stage, outcome, possible, tuple(unfit), likely, tuple(evidence),
            (), tuple(doubts),
        )  # fmt: skip

    yield "an L2", of(Outcome.NAMED, stage="L2")
    yield "an L2 of a cohort", of(Outcome.NAMED, stage="L2", cohort="tiny", p=0.99)
    yield "surely an L2", of(Outcome.NAMED, stage="L2", p=0.991)
    yield "something else", of(Outcome.NAMED, stage=NOT_THE_ANIMAL, cohort="tiny")
    yield "one of two, measured", of(Outcome.BETWEEN, "L1", "L2", evidence=(asked, head))
    yield "one of two, or else", of(Outcome.BETWEEN, "L1", NOT_THE_ANIMAL, evidence=(asked, body))
    yield "by its length", of(Outcome.LENGTH_ALONE, "L2", "L3", evidence=(body,),
                              doubts=(Reservation.LENGTH_ALONE,))  # fmt: skip
    yield "no stage", of(Outcome.FITS_NO_STAGE, unfit=("head width", "body length"))
    yield "a contradiction", of(Outcome.CONTRADICTION)
    every = of(Outcome.NAMED, stage="L3", evidence=(head, body), doubts=tuple(Reservation))
    yield "with every doubt", every
