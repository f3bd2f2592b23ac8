"""The trade's words in one line each."""

from __future__ import annotations

from rearlog.analysis.statistics.levels import CONFIDENCE
from rearlog.sentences.phrases import INTERVAL

GLOSSARY = {
    "L1, L2 …": "the stages of the larva in order, L1 from hatching to the first molt",
    "cohort": "individuals started together and kept under one temperature regime",
    "check": "one look at one individual at one moment; a round is a check of all that live",
    "stage": "egg, larval instars L1, L2 …, pupa, adult",
    "instar": "the larva between two molts; the time that it lasts is the stadium",
    "molt": "shedding the skin: the passage from one instar to the next",
    "pupation, eclosion": "becoming a pupa; the adult’s emergence from it",
    "witnessed": "the event itself was seen, so its time is exact",
    "degree-day (DD)": "one degree above the lower threshold for one day",
    "lower, upper threshold": "the temperatures below and above which development stops or stops "
    "gaining",
    "thermal constant K": "the degree-days that a stage needs",
    "lack of fit": "whether cohorts lie off a straight line by more than their individuals scatter",
    "AICc": "how well a law fits, less what the number of its parameters alone would gain; the "
    "least is best",
    "expected range": "what the species profile leads one to expect at this cohort’s temperatures",
    "median": "the middle value: half are below it",
    "n": "how many individuals a number rests on",
    "SD, SE": "standard deviation: how far individuals lie apart; standard error: how far off a "
    "mean may be",
    INTERVAL: f"made so that it holds the true value in {100 * CONFIDENCE:.0f} of 100 "
    "such experiments",
    "p": "how often chance alone would give a difference at least this large",
    "censored": "watched only until then: lost, removed, or still alive",
    "n, l, d, q": "life table: alive at age x; part that lives to x; deaths from x to x + 1; part "
    "of those alive at x that die before x + 1",
    "L, T, e": "life table: mean part alive from x to x + 1; its sum from x on; days still to be "
    "expected at x",
    "k, K": "−log10 of the part that survives a stage, and of that which survives them all; where "
    "nobody is lost, the k of all stages add up to K",
    "head capsule width": "widest part of the head; it does not change within an instar",
    "Dyar’s ratio": "by how much the head grows from instar to instar",
}
