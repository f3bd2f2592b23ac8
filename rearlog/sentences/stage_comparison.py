"""What the comparison of cohorts in one stage says, claiming no more than it can."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.comparing.stage_comparison import (
    DAYS,
    MOST_IN_PAIRS,
    WHOLE,
    Counted,
    GroupSummary,
    PairDifference,
    StageComparison,
)
from rearlog.analysis.statistics.clusters import FEWEST_CLUSTERS
from rearlog.analysis.statistics.differences import FEWEST_FOR_TEST, NoTest, Ratio, Verdict
from rearlog.analysis.statistics.levels import LEAST_TOLD
from rearlog.sentences.differences import DIFFER, FOUND, NO_TEST, SHARED
from rearlog.sentences.durations import left_open_words
from rearlog.sentences.phrases import (
    INTERVAL,
    MOST_NAMED,
    during,
    listed,
    p_text,
    there,
)
from rearlog.sentences.texts import Texts


def words(row: StageComparison) -> str:
    """What the comparison of one stage says."""
    if row.p_holm is None:
        return f"{row.stage}: no test, since {reason(row)} ({_sizes(row.groups)})."
    if len(row.pairs) == 1:
        text = _pair_words(row, row.pairs[0].longer_first)
    else:
        text = f"{row.stage}: {FOUND[row.verdict]}; on average {means(row, row.tested)}"
    if row.counted is Counted.EVERYBODY:
        text += ", those counted that were not seen to complete it"
    text += f" ({p_text(row.p_holm)}; {_sizes(row.tested)})."
    if len(row.pairs) != 1 and row.verdict is Verdict.DIFFER:
        text += _pairs_words(row)
    if row.shown_alone:
        text += (
            f" By itself it would count as a difference ({p_text(there(row.p))}), but among so "
            "many stages chance alone makes one."
        )
    if row.left_out:
        text += f" Left out: {_too_few(row)}."
    text += _others_missing(row)
    if row.resolution is not None and row.verdict is Verdict.NOT_SHOWN:
        text += (
            f" Less than {row.resolution:.1f} {unit_word(row)} cannot be shown here, since most "
            "passed between the same two checks."
        )
    return text


def reason(row: StageComparison) -> str | None:
    """Why no test could be made; None where one was."""
    match row.reason:
        case None:
            return None
        case NoTest.TOO_FEW:
            return _too_few(row)
        case NoTest.ONE_CLUSTER | NoTest.FEW_CLUSTERS:
            return _too_few_clusters(row)
        case other:
            return NO_TEST[other]


def differ(row: StageComparison) -> str:
    """What the test of a stage says, in a word for a cell."""
    return DIFFER[row.verdict]


def test_name(row: StageComparison) -> str:
    """The test that was made, and of whom if not of those that completed it."""
    return row.test if row.counted is Counted.COMPLETED else f"{row.test}, all"


def unit_word(row: StageComparison) -> str:
    """The unit of a comparison as it is said."""
    return "days" if row.unit == DAYS else "degree-days"


def meanwhile(stage: str) -> str:
    """During which stage or stages."""
    return "from egg to adult" if stage == WHOLE else during(stage)


def compared_mean(group: GroupSummary) -> float | None:
    """The mean that was compared, None where nobody completed it."""
    return group.mean if group.mean_of_all is None else group.mean_of_all


def known_mean(group: GroupSummary) -> float:
    """The mean that was compared."""
    return there(compared_mean(group))


def from_lowest(row: StageComparison) -> list[GroupSummary]:
    """The cohorts that are not left out, the lowest of the means that were compared first."""
    return sorted(row.tested, key=known_mean)


def means(row: StageComparison, tested: Sequence[GroupSummary]) -> str:
    """The means of all cohorts in a row, with their unit; of many the lowest and the highest."""
    if len(tested) <= MOST_IN_PAIRS:
        told = [f"{known_mean(each):.1f} in {each.cohort}" for each in tested]
        return f"{listed(told)} {unit_word(row)}"
    lowest, *_, highest = sorted(tested, key=known_mean)
    return (
        f"{known_mean(lowest):.1f} {unit_word(row)} in {lowest.cohort} to "
        f"{known_mean(highest):.1f} in {highest.cohort}"
    )


def on_average(groups: Sequence[GroupSummary]) -> str:
    """The means of cohorts, the lowest first; of many the lowest and the highest."""
    if len(groups) > MOST_NAMED:
        return f"{known_mean(groups[0]):.1f} to {known_mean(groups[-1]):.1f} days on average"
    return f"{listed([f'{known_mean(each):.1f}' for each in groups])} days on average"


def told_apart(row: StageComparison, *two: str) -> bool:
    """Whether two cohorts are a pair that was shown to differ."""
    return any(
        {each.cohort, each.other} == {*two} and each.verdict is Verdict.DIFFER for each in row.pairs
    )


def _sizes(groups: Sequence[GroupSummary]) -> str:
    if len(groups) > MOST_IN_PAIRS:
        return f"n = {min(each.n for each in groups)} to {max(each.n for each in groups)}"
    return f"n = {listed([str(each.n) for each in groups])}"


def _pair_words(row: StageComparison, pair: PairDifference) -> str:
    """The finding of two cohorts, the longer one first."""
    shown = "" if row.verdict is Verdict.DIFFER else f"{FOUND[row.verdict]}; "
    finding = _by_means(row, pair) if pair.ratio is None else _by_ratio(row, pair, pair.ratio)
    if row.p != row.p_holm:
        finding += " for this stage alone"
    return f"{row.stage}: {shown}{finding}"


def _by_means(row: StageComparison, pair: PairDifference) -> str:
    gap = pair.means
    verb = "took" if row.unit == DAYS else "needed"
    finding = (
        f"{pair.cohort} and {pair.other} {verb} about the same on average"
        if gap.estimate < LEAST_TOLD
        else f"{pair.cohort} {verb} {gap.estimate:.1f} {unit_word(row)} more than {pair.other} "
        "on average"
    )
    if gap.low is None:
        return finding
    reach = f"{abs(gap.low):.1f} {'fewer' if gap.low < 0 else 'more'} to {gap.high:.1f} more"
    if gap.low > 0:
        reach = f"{gap.low:.1f} to {gap.high:.1f}"
    return f"{finding}, {INTERVAL} {reach}"


def _by_ratio(row: StageComparison, pair: PairDifference, ratio: Ratio) -> str:
    verb, much = ("took", "as long") if row.unit == DAYS else ("needed", "as many degree-days")
    finding = (
        f"{pair.cohort} and {pair.other} {verb} about {much}"
        if f"{ratio.estimate:.2f}" == "1.00"
        else f"{pair.cohort} {verb} {ratio.estimate:.2f} times {much} as {pair.other}"
    )
    if ratio.low is None:
        return finding
    return f"{finding}, {INTERVAL} {ratio.low:.2f} to {ratio.high:.2f} times"


def _pairs_words(row: StageComparison) -> str:
    """Which of several cohorts differ from which; nothing of so many that no pairs were tested."""
    shown = [each.longer_first for each in row.pairs if each.verdict is Verdict.DIFFER]
    if not shown:
        return " Of no two of them a difference is shown." if row.pairs else ""
    if len(shown) == len(row.pairs):
        return " All differ from each other."
    if len(shown) > MOST_NAMED:
        return f" {len(shown)} of {len(row.pairs)} pairs differ, see their letters."
    told = [f"{each.cohort} from {each.other} ({p_text(there(each.p))})" for each in shown]
    return f" Shown to differ: {listed(told)}."


def _others_missing(row: StageComparison) -> str:
    """Whom the means of those that completed it leave out."""
    told = [
        f"in {each.cohort} {left_open_words(each.left_open)}"
        for each in row.groups
        if each.left_open.n and each.n
    ]
    if len(told) > MOST_IN_PAIRS:
        told = [f"in {len(told)} cohorts some were not seen to complete it"]
    return f" The means in the table are of the others: {'; '.join(told)}." if told else ""


def _too_few(row: StageComparison) -> str:
    known = "" if row.unit == DAYS else " at known temperatures"
    return f"fewer than {FEWEST_FOR_TEST} were followed to its end{known} in {listed(row.left_out)}"


def _too_few_clusters(row: StageComparison) -> str:
    n = 1 if row.reason is NoTest.ONE_CLUSTER else 2
    who = listed([each.cohort for each in row.groups if each.clusters == n and each.n])
    one, several = things_shared(row, many=False), things_shared(row, many=True)
    whole = "group" if Shared.COHORT in row.clustered_by else "cohort"
    takes = f"a test takes {FEWEST_CLUSTERS} {several} or more in each {whole}"
    if n > 1:
        return (
            f"{who} had two {several} and no more: too few to say how far {several} differ; {takes}"
        )
    return (
        f"all of {who} are of one {one}: what comes of the {one} cannot be told from what comes of "
        f"the {whole}; {takes}"
    )


def things_shared(row: StageComparison, *, many: bool) -> str:
    """What individuals share, container or clutch."""
    return " or ".join(SHARED[thing] if many else str(thing) for thing in row.clustered_by)


TEXTS: Texts = {StageComparison: {"words": words, "reason": reason}}
