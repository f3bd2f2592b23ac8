"""The paragraph of methods for a paper: what was done with these cohorts, and nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.rate_curves import LAW, RateLaw
from rearlog.analysis.comparing.stage_comparison import Counted, StageComparison
from rearlog.analysis.comparing.thermal import Thermal
from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.heat.daily_temperatures import DayKnown
from rearlog.analysis.heat.heat_curve import HeatSettings
from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.reproduction import Reproduction, ReproductionComparison
from rearlog.analysis.stages.look_intervals import LookIntervals
from rearlog.analysis.statistics.levels import CONFIDENCE, DIFFERENT
from rearlog.analysis.survival.survival import Survival
from rearlog.records.profile import Source
from rearlog.records.wording import counted
from rearlog.sentences.differences import SHARED
from rearlog.sentences.phrases import listed, percent, plural, was_were
from rearlog.sentences.stage_comparison import unit_word
from rearlog.sentences.thermal import LAW_NAMES
from rearlog.sentences.works import WORKS


class StudiedCohort(Struct, frozen=True):
    """One cohort as it was reared and looked at.

    `entered` are how many began in which stage. `celsius` is its mean temperature, `kept` how its
    temperatures are known, `heat` how degree-days were counted (None: not at all), and `filled` and
    `unknown` are days without a temperature. `settled` individuals have looks that contradict each
    other. `means` says whether means of durations were worked out.
    """

    name: str
    species: str
    entered: Mapping[str, int]
    invented: bool
    looks: LookIntervals | None
    celsius: float | None
    kept: tuple[DayKnown, ...]
    heat: HeatSettings | None
    threshold: Source | None
    filled: int
    unknown: int
    settled: int
    means: bool
    survival: Survival
    growth: Growth


class Study(Struct, frozen=True):
    """Cohorts and what was worked out of them together, with which versions of what."""

    cohorts: tuple[StudiedCohort, ...]
    comparison: Comparison | None
    thermal: Thermal | None
    life_tables: tuple[Reproduction, ...]
    life_tables_compared: ReproductionComparison | None
    versions: Mapping[str, str]


def paragraphs(study: Study) -> list[str]:
    """What was reared and looked at, what was worked out, and which tests were made."""
    parts = (
        [*_animals(study.cohorts), *_looks(study.cohorts)],
        [*_durations(study.cohorts), *_heat(study.cohorts)],
        [*_survival(study.cohorts), *_growth(study.cohorts)],
        _tests(study.comparison),
        _life_tables(study.life_tables, study.life_tables_compared),
        _thermal(study.thermal),
        _software(study.versions),
    )
    return [" ".join(sentences) for sentences in map(list, parts) if sentences]


def _cite(*works: str) -> str:
    """Works in brackets, in the order of the years; each must be in WORKS."""
    known = sorted((WORKS[each] for each in works), key=lambda work: work.year)
    return f"({'; '.join(work.cited for work in known)})"


def _animals(cohorts: Sequence[StudiedCohort]) -> Iterator[str]:
    told: list[str] = []
    for species in dict.fromkeys(each.species for each in cohorts):
        theirs = [each for each in cohorts if each.species == species]
        total = sum(sum(each.entered.values()) for each in theirs)
        animals = f"{total:,} of {species}"
        if not told:
            animals = (
                f"{counted(total, 'individual')} of {species} {was_were(total)} followed one by one"
            )
        told.append(f"{animals} in {_cohorts(theirs)}")
    yield f"{'; '.join(told)}."
    invented = [each.name for each in cohorts if each.invented]
    if len(invented) == len(cohorts):
        yield "These data are invented."
    elif invented:
        yield f"The data of {listed(invented)} are invented."


def _cohorts(cohorts: Sequence[StudiedCohort]) -> str:
    """Cohorts by name: what they have in common is said once, what differs behind each name."""
    entered = [_entered(each.entered) for each in cohorts]
    celsius = ["" if each.celsius is None else f"{each.celsius:.1f} °C" for each in cohorts]
    shared = ""
    if len(cohorts) > 1 and len({*entered}) == 1:
        shared, entered = f" of {entered[0]} each", [""] * len(cohorts)
    if len(cohorts) > 1 and len({*celsius}) == 1 and celsius[0]:
        shared, celsius = f"{shared} at {celsius[0]} on average", [""] * len(cohorts)
    warm = next((place for place, each in enumerate(celsius) if each), None)
    if warm is not None:
        celsius[warm] += " on average"
    told = [
        f"{each.name} ({', '.join(filter(None, own))})" if any(own) else each.name
        for each, *own in zip(cohorts, entered, celsius, strict=True)
    ]
    return (
        f"the cohort {told[0]}"
        if len(told) == 1
        else f"{len(told)} cohorts{shared}: {listed(told)}"
    )


def _entered(stages: Mapping[str, int]) -> str:
    return listed([f"{n} {plural(stage) if n > 1 else stage}" for stage, n in stages.items()])


def _looks(cohorts: Sequence[StudiedCohort]) -> Iterator[str]:
    known = [each.looks for each in cohorts if each.looks is not None]
    if not known:
        return
    usual = _range(each.median_days for each in known)
    longest = max(each.longest_days for each in known)
    yield (
        f"The stage of each was noted in {sum(each.looks for each in known):,} looks, as a rule "
        f"{usual} days apart (at most {longest:.1f})."
    )
    settled = sum(each.settled for each in cohorts)
    if settled:
        yield (
            f"Looks at {counted(settled, 'individual')} that contradicted each other were settled "
            "by the fewest mistakes."
        )


def _range(values: Iterable[float]) -> str:
    """Values by their ends to one decimal: 1.0, or 1.0 to 2.0."""
    told = sorted(values)
    return " to ".join(dict.fromkeys(f"{each:.1f}" for each in (told[0], told[-1])))


def _durations(cohorts: Sequence[StudiedCohort]) -> Iterator[str]:
    if not any(each.means for each in cohorts):
        return
    yield (
        "A passage from one stage to the next lies between the two looks that enclose it "
        f"{_cite('Peto 1973')} and was dated to the middle between them, so that a duration is "
        f"censored at either end {_cite('De Gruttola & Lagakos 1989')}."
    )
    yield (
        "Standard errors of means include the error that such dating makes in a mean "
        f"{_cite('Schneeweiss et al. 2010')}; their degrees of freedom are effective ones "
        f"{_cite('Satterthwaite 1946')}."
    )


_METHODS = {
    "average": "the mean of the daily minimum and maximum",
    "clipped-average": "the mean of the daily minimum and maximum, each within the thresholds",
    "single-sine": f"single sine {_cite('Baskerville & Emin 1969', 'Allen 1976')}",
    "double-sine": f"double sine {_cite('Allen 1976')}",
    "single-triangle": f"single triangle {_cite('Lindsey & Newman 1956')}",
    "double-triangle": f"double triangle {_cite('Lindsey & Newman 1956')}",
}


def _heat(cohorts: Sequence[StudiedCohort]) -> Iterator[str]:
    counted_in = [(each, each.heat) for each in cohorts if each.heat is not None]
    thresholds: dict[str, dict[str, list[str]]] = {}
    for cohort, how in counted_in:
        ways = thresholds.setdefault(_threshold(cohort, how), {})
        ways.setdefault(_way(cohort, how), []).append(cohort.name)
    alike = len(thresholds) == 1 and len(*thresholds.values()) == 1
    begin = "Degree-days were counted above"
    for threshold, ways in thresholds.items():
        told = [way if alike else f"in {listed(names)} {way}" for way, names in ways.items()]
        yield f"{begin} {threshold}: {'; '.join(told)}."
        begin = "They were counted above"
    without = [each.name for each in cohorts if each.heat is None]
    if counted_in and without:
        yield f"No degree-days were counted in {listed(without)}."
    filled = sum(cohort.filled for cohort, _ in counted_in)
    unknown = sum(cohort.unknown for cohort, _ in counted_in)
    if filled:
        yield f"{counted(filled, 'day')} without a temperature took that of the days beside."
    if unknown:
        yield f"Of {counted(unknown, 'day')} neither temperature nor degree-days are known."


def _threshold(cohort: StudiedCohort, how: HeatSettings) -> str:
    """Above which threshold, and where it is from."""
    text = f"{how.lower:g} °C"
    if cohort.threshold is not None:
        source = cohort.threshold
        citation = source.citation.strip().rstrip(".")
        text += f" (the lower threshold of the species profile, {source.kind}: {citation})"
    if how.upper is not None:
        text += f" and below {how.upper:g} °C ({how.cutoff} cutoff)"
    return text


def _way(cohort: StudiedCohort, how: HeatSettings) -> str:
    """From which temperatures, by which method."""
    read = how.method == "readings"
    sine = _METHODS["single-sine" if read else how.method]
    told = {
        DayKnown.LOGGED: (
            "from the readings of a logger, straight between them"
            if read
            else f"from the extremes of a logger’s days by {sine}"
        ),
        DayKnown.EXTREMES: f"from daily extremes by {sine}",
        DayKnown.CONSTANT: "from a temperature kept constant, times days,",
    }
    return listed([told[kept] for kept in cohort.kept]).rstrip(",")


def _survival(cohorts: Sequence[StudiedCohort]) -> Iterator[str]:
    if not any(each.survival.deaths for each in cohorts):
        return
    limits = f"{percent(CONFIDENCE)} limits"
    yield (
        f"Survival by age was estimated by the product limit {_cite('Kaplan & Meier 1958')} with "
        f"{limits} on the scale of log(−log S) {_cite('Kalbfleisch & Prentice 1980')}, and "
        "mortality in each stage as a competing end, who was lost or taken out being counted for "
        f"as long as it was watched {_cite('Aalen & Johansen 1978')}, with Wilson’s limits for the "
        f"effective size of the sample {_cite('Wilson 1927', 'Dorey & Korn 1987')}."
    )


def _growth(cohorts: Sequence[StudiedCohort]) -> Iterator[str]:
    found = [each.growth.dyar for each in cohorts if each.growth.dyar is not None]
    if found:
        text = (
            "Growth of the head capsule from instar to instar is Dyar’s ratio "
            f"{_cite('Dyar 1890')}, by least squares of the logarithm of width on instar"
        )
        if any(each.followed is not None for each in found):
            text += (
                " within individuals, its standard error being that between them "
                f"{_cite('Liang & Zeger 1986')}"
            )
        yield f"{text}."
    if any(each.growth.gains for each in cohorts):
        yield f"Growth in mass from weighing to weighing is ln(m2/m1) a day {_cite('Fisher 1921')}."


def _tests(comparison: Comparison | None) -> Iterator[str]:
    if comparison is None:
        return
    made = [row for row in comparison.stages if row.p is not None]
    if made:
        yield from _of_means(made)
    if comparison.survival.p is not None:
        yield (
            "Survival was compared by a log-rank test of deaths that lie between two looks "
            f"{_cite('Sun 1996')}, p by permutation {_cite('Fay & Shih 1998')} of the studentized "
            f"statistic {_cite('Janssen 1997')}."
        )
    if made or comparison.survival.p is not None:
        yield f"Differences are called shown where p < {DIFFERENT:g}."


def _of_means(made: Sequence[StageComparison]) -> Iterator[str]:
    sizes = {len(row.tested) for row in made}
    tests = []
    if 2 in sizes:
        tests.append(f"a t test for unequal variances {_cite('Welch 1947')}")
    if max(sizes) > 2:
        tests.append(f"analysis of variance for unequal variances {_cite('Welch 1951')}")
    units = dict.fromkeys(map(unit_word, made))
    text = f"Mean {listed(list(units))} were compared by {' or '.join(tests)}"
    if max(len([row for row in made if row.unit == unit]) for unit in {r.unit for r in made}) > 1:
        text += f", corrected for the number of stages {_cite('Holm 1979')}"
    if {len(row.pairs) for row in made} - {0, 1}:  # of two the test is that of the pair
        text += (
            f", and pairs of cohorts by the studentized range {_cite('Games & Howell 1976')}, told "
            f"by letters {_cite('Piepho 2004')}"
        )
    yield f"{text}."
    of_all = list(dict.fromkeys(row.stage for row in made if row.counted is Counted.EVERYBODY))
    if of_all:
        yield (
            "Where some were watched as long as others and did not complete it "
            f"({listed(of_all)}), the logarithms of the means of all were compared, from "
            f"accelerated failure time models {_cite('Kalbfleisch & Prentice 2002')} of the family "
            f"with the least AIC {_cite('Akaike 1974')}."
        )
    things = list(dict.fromkeys(thing for row in made for thing in row.clustered_by))
    if things:
        by = listed([SHARED[each] for each in things])
        ways = ("Cochran 1977", "Cameron et al. 2011") if len(things) > 1 else ("Cochran 1977",)
        yield f"Errors and degrees of freedom are those of {by} {_cite(*ways)}."


def _life_tables(
    found: Sequence[Reproduction], compared: ReproductionComparison | None
) -> Iterator[str]:
    if not found:
        return
    yield (
        "Life tables by age and stage keep both sexes and the variation between individuals "
        f"{_cite('Chi & Liu 1985', 'Chi 1988')}. The intrinsic rate of increase solves the "
        f"equation of Euler and Lotka {_cite('Lotka 1907', 'Birch 1948')}, eggs of the day from "
        f"age x to x + 1 counting as laid at {found[0].egg_age}; the generation times are "
        f"named as usual {_cite('May 1976')}."
    )
    drawn = [each for each in found if each.resamples]
    if drawn:
        shared = ", cages for those that shared one" if any(each.units for each in drawn) else ""
        yield (
            f"Their standard errors come from {drawn[0].resamples:,} resamples of whole lives"
            f"{shared} {_cite('Efron & Tibshirani 1993')}, their limits being bias-corrected and "
            f"accelerated {_cite('Efron 1987')}."
        )
    if any(each.of(Measure.HATCH_SHARE).se is not None for each in drawn):
        yield (
            "Where whole lives gave the part of eggs that hatched less error than the binomial "
            f"one, it has that one, with its limits {_cite('Wilson 1927')}."
        )
    if compared is not None and any(each.p is not None for each in compared.pairs):
        yield (
            "Life tables of two cohorts were compared by paired resamples, corrected for the "
            f"number of pairs {_cite('Holm 1979')}."
        )


def _thermal(found: Thermal | None) -> Iterator[str]:
    if found is not None:
        yield from _lines(found)
        if any(each.curve is not None for each in found.mortality):
            yield (
                "Mortality in a stage was fitted to temperature by logistic regression, cohorts "
                "scattering by more than individuals "
                f"{_cite('McCullagh & Nelder 1989', 'Wedderburn 1974')}."
            )


def _lines(found: Thermal) -> Iterator[str]:
    stages = [each for each in found.stages if each.linear is not None]
    if not stages:
        return
    text = (
        "The lower threshold of development and the thermal constant come from the straight line "
        f"of the rate of development on mean temperature {_cite('Campbell et al. 1974')}"
    )
    if any(each.ikemoto_takai is not None for each in stages):
        text += (
            " and, beside it, from the reduced major axis of its other form "
            f"{_cite('Ikemoto & Takai 2000')}"
        )
    yield f"{text}."
    if any(each.weighted is not None and each.weighted.lack_of_fit for each in stages):
        yield (
            "Whether the rates lie on a line was tested by the lack of fit of the line weighted by "
            f"1/SE² {_cite('Draper & Smith 1998', 'Johansen 1980')}."
        )
    if any(each.swinging is not None for each in stages):
        yield (
            "Since temperatures rose and fell by the day, a threshold was sought too above which "
            "degree-days over the real temperatures vary least between cohorts "
            f"{_cite('Yang et al. 1995')}."
        )
    laws = list(dict.fromkeys(curve.law for each in stages for curve in each.curves))
    bent = [law for law in laws if law is not RateLaw.LINE]
    if bent:
        told = [f"{LAW_NAMES[law]} ({_short(LAW[law].source)})" for law in bent]
        yield (
            f"Curves of the rate were compared with the line by AICc "
            f"{_cite('Burnham & Anderson 2002')}: {listed(told)}."
        )


def _short(source: str) -> str:
    """The citation without its journal."""
    return source.split(",")[0]


def _software(versions: Mapping[str, str]) -> Iterator[str]:
    (own, version), *others = versions.items()
    used = listed([f"{name} {each}" for name, each in others])
    yield f"All of it was worked out by {own} {version} with {used}."
