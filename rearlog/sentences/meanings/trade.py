"""The trade's words: of animals, of looks, and of statistics; all answers use them."""

from __future__ import annotations

from rearlog.analysis.statistics.levels import CONFIDENCE
from rearlog.sentences.meanings.word import Word
from rearlog.sentences.phrases import INTERVAL, LIMITS

TRADE = (
    Word(
        ("L1, L2 …",),
        "the stages of the larva in order, L1 from hatching to the first molt",
        glossary="L1, L2 …",
    ),
    Word(
        ("cohort",),
        "individuals started together and kept under one temperature regime",
        glossary="cohort",
    ),
    Word(
        ("check",),
        "one look at one individual at one moment; a round is a check of all that live",
        glossary="check",
    ),
    Word(("stage",), "egg, larval instars L1, L2 …, pupa, adult", glossary="stage"),
    Word(
        ("instar",),
        "the larva between two molts; the time that it lasts is the stadium",
        glossary="instar",
    ),
    Word(("molt",), "shedding the skin: the passage from one instar to the next", glossary="molt"),
    Word(("pupation",), "becoming a pupa", glossary="pupation, eclosion"),
    Word(("eclosion",), "the adult’s emergence from the pupa", glossary="pupation, eclosion"),
    Word(("witnessed",), "the event itself was seen, so its time is exact", glossary="witnessed"),
    Word(
        ("degree-day", "DD", "degree-days", "degree_days"),
        "one degree above the lower threshold for one day",
        "Σ over days of the mean over the day of max(0, T − T0), cut off at the upper threshold",
        "heat.degree_days.degree_days",
        glossary="degree-day (DD)",
    ),
    Word(
        ("threshold", "lower threshold", "upper threshold"),
        "the temperatures below and above which development stops or stops gaining",
        glossary="lower, upper threshold",
    ),
    Word(
        ("lack of fit", "lack_of_fit"),
        "whether cohorts lie off a straight line by more than their individuals scatter",
        by="statistics.weighted_line.unexplained",
        glossary="lack of fit",
    ),
    Word(
        ("expected range",),
        "what the species profile leads one to expect at this cohort’s temperatures",
        by="stages.expected.expectation",
        glossary="expected range",
    ),
    Word(("median",), "the middle value: half are below it", glossary="median"),
    Word(("n",), "how many individuals a number rests on", glossary="n"),
    Word(
        ("SD", "sd"),
        "standard deviation: how far individuals lie apart",
        "√(Σ (x − x̄)² / (n − 1))",
        glossary="SD, SE",
    ),
    Word(("SE", "se"), "standard error: how far off a mean may be", "SD / √n", glossary="SD, SE"),
    Word(
        (INTERVAL, LIMITS),
        f"made so that it holds the true value in {100 * CONFIDENCE:.0f} of 100 such experiments",
        glossary=INTERVAL,
    ),
    Word(("low",), "the lower end of the interval"),
    Word(("high",), "the upper end of the interval"),
    Word(
        ("p",), "how often chance alone would give a difference at least this large", glossary="p"
    ),
    Word(
        ("censored",), "watched only until then: lost, removed, or still alive", glossary="censored"
    ),
    Word(
        ("head capsule width", "head_width_mm", "head mm"),
        "widest part of the head, mm; it does not change within an instar",
        glossary="head capsule width",
    ),
    Word(("mean",), "the average: the sum of the values over their number", "x̄ = Σ x / n"),
    Word(("min",), "the smallest value"),
    Word(("max",), "the largest value"),
    Word(("estimate",), "the value that the data make likeliest, without its uncertainty"),
    Word(("share",), "a part of all, from 0 to 1"),
    Word(("unit",), "what times are counted in: days, or degree-days"),
    Word(("cohorts",), "the cohorts that it was made of, by name"),
    Word(("species",), "the scientific name of the species"),
    Word(("stages",), "the stages, in the order of the species profile or of development"),
    Word(("individual",), "the code of one animal"),
    Word(("individuals",), "the animals, one entry each"),
    Word(("groups",), "the groups, one entry each"),
    Word(("date",), "a calendar day"),
    Word(("as_of", "as of"), "the moment up to which records were taken into account"),
    Word(("event",), "a passage into a stage, such as hatching, a molt, pupation or emergence"),
    Word(("into",), "the stage that an event leads into"),
    Word(("celsius", "°C"), "a temperature in °C"),
    Word(("kind",), "which of the kinds that there are of it"),
    Word(("cause",), "the cause of death as it was noted; none where nobody noted one"),
    Word(("fate",), "how it ended: dead, lost, or removed alive; none while it is watched"),
    Word(("died",), "found dead"),
    Word(("dead",), "found dead by then"),
    Word(("lost",), "not found any more, alive or dead"),
    Word(("removed", "taken out"), "taken out alive: the watch ended, not the life"),
    Word(("alive",), "still alive at the last look"),
    Word(("mass_mg", "mass mg"), "mass of the body, mg"),
    Word(("length_mm", "length mm"), "length of the body, mm"),
    Word(("observer",), "who looked, by initials"),
    Word(("observers",), "those who looked, by initials"),
    Word(("at",), "the moment, or the place, at which it was so"),
    Word(("words",), "what is said of it, in sentences"),
    Word(("lead",), "the sentence that the answer opens with"),
    Word(("notices",), "what a reader should know of it, in sentences"),
    Word(("verdict", "which is"), "what the numbers come to, as far as they allow"),
    Word(("reason",), "why there is no number"),
    Word(
        ("profile",), "the value of the species profile, with its source in “rearlog species show”"
    ),
    Word(("±",), "beside a mean or an estimate in one cell: its standard error"),
    Word(
        ("log-rank", "log-rank test"),
        "whether groups died alike: deaths counted beside those there would be if they did",
        "χ² of the deaths less those expected, over their covariance; df = groups − 1",
        "statistics.interval_log_rank.interval_log_rank",
    ),
)
