"""From a profile to invented cohorts, and from these back to a profile."""

import tomllib
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.learning import (
    Learned,
    LearnedStage,
    LearnedThreshold,
    LearnedValue,
)
from rearlog.analysis.simulation.simulate import simulate
from rearlog.analysis.simulation.sizes import Measuring
from rearlog.notebook import Notebook, learn
from rearlog.present.learned_profile import learned_profile
from rearlog.records.log import Cohort, CohortLog, ConstantTemperature, Individual
from rearlog.records.profile import Profile, Quantity, Source
from rearlog.species.catalogue import find
from rearlog.species.loader import read
from rearlog.species.of_stages import profile_of_stages
from rearlog.species.writing import toml_of

START = datetime(2026, 3, 9, 9, tzinfo=UTC)
LADY = find("painted-lady")


def invented(celsius: float, seed: int, n: int = 60) -> Notebook:
    name = f"t{celsius:g}"
    eggs = tuple(
        Individual(str(code), START, "egg", START - timedelta(hours=6), START) for code in range(n)
    )
    warmth = (ConstantTemperature(celsius, date(2026, 3, 1)),)
    start = CohortLog(Cohort(name, LADY, "UTC", START, START), eggs, (), warmth)
    log = simulate(start, seed, measuring=Measuring(1.0)).log
    made = Notebook(Path(f"{name}.json"))
    numbered = tuple(replace(each, number=k) for k, each in enumerate(log.all_observations, 1))
    made._log = replace(log, all_observations=numbered)
    return made


def written(base: Profile, found: Learned, called: str = "ours") -> tuple[Profile, str]:
    document, comments = learned_profile(base, found, called)
    text = toml_of(document, comments)
    return read(tomllib.loads(text)), text


def value(mean: float, sd: float | None = None, n: int = 20) -> LearnedValue:
    return LearnedValue(mean, 0.1, sd, n, ("room",), (20.0, 22.0))


def stage(code: str, **known: LearnedValue) -> LearnedStage:
    told: dict[str, LearnedValue | None] = {
        "days": None, "degree_days": None, "head_width_mm": None, **known
    }  # fmt: skip
    return LearnedStage(code, **told, completed=3, heated=2, measured=1, unfinished=(),
                        at_other_temperatures=())  # fmt: skip


def told(*stages: LearnedStage, threshold: LearnedThreshold | None = None) -> Learned:
    lower = threshold.celsius if threshold else 6.9
    return Learned("Vanessa cardui", ("room",), threshold, lower, stages)


@pytest.fixture(scope="module")
def cohorts() -> list[Notebook]:
    return [invented(18, 1), invented(22, 2), invented(27, 3)]


def test_a_profile_comes_back_from_cohorts_that_were_invented_of_it(
    cohorts: list[Notebook],
) -> None:
    found = learn(cohorts)
    profile, text = written(LADY, found)
    assert found.threshold is not None
    assert found.threshold.se is not None
    assert profile.lower is not None
    assert LADY.lower is not None
    assert LADY.lower.value is not None
    assert profile.lower.value == found.threshold.celsius
    slip = abs(found.threshold.celsius - LADY.lower.value)
    assert slip < 3 * found.threshold.se + 0.05
    for each in found.stages:
        before, after = LADY.stage(each.stage), profile.stage(each.stage)
        assert each.degree_days is not None
        assert before.degree_days is not None
        assert after.degree_days is not None
        assert after.degree_days.value == pytest.approx(each.degree_days.mean, abs=0.051)
        margin = 3 * each.degree_days.se + slip * before.degree_days.centre / (18 - 6.9)
        assert abs(after.degree_days.centre - before.degree_days.centre) < margin + 0.05
        assert after.degree_days.source == "own-cohorts"
        assert f"n = {each.degree_days.n} in t18, t22 and t27" in after.degree_days.note
        if each.head_width_mm is not None:
            assert before.head_width_mm is not None
            assert after.head_width_mm is not None
            off = abs(after.head_width_mm.centre - before.head_width_mm.centre)
            assert off < 3 * each.head_width_mm.se + 0.02 * before.head_width_mm.centre
    assert sum(each.head_width_mm is not None for each in found.stages) == 5
    assert "# Its degree-days were counted from another lower threshold: left out." in text


def test_what_is_not_learned_stays_with_its_own_sources() -> None:
    profile, _ = written(LADY, told(stage("egg", days=value(4.2, 0.4))))
    egg = profile.stage("egg")
    assert egg.days is not None
    assert (egg.days.value, egg.days.sd, egg.days.at_celsius) == (4.2, 0.4, (20, 22))
    assert (egg.form, egg.signs) == (LADY.stage("egg").form, LADY.stage("egg").signs)
    assert egg.degree_days == LADY.stage("egg").degree_days
    assert profile.stages[1:] == LADY.stages[1:]
    assert profile.sources["own-cohorts"].kind == "own"
    assert profile.sources["memory"] == LADY.sources["memory"]
    assert (profile.id, profile.name) == ("ours", "painted lady")
    assert profile.lower == LADY.lower


def test_degree_days_above_another_threshold_are_left_out() -> None:
    threshold = LearnedThreshold(8.1, 0.4, "egg to adult", (18.0, 22.0, 26.0))
    learned = told(stage("egg", degree_days=value(55)), stage("L1"), threshold=threshold)
    every = [*learned.stages, *(stage(code) for code in LADY.codes[2:-1])]
    profile, text = written(LADY, replace(learned, stages=tuple(every)))
    assert [each.code for each in profile.stages if each.degree_days] == ["egg"]
    assert profile.lower is not None
    assert (profile.lower.value, profile.lower.source) == (8.1, "own-cohorts")
    assert "egg to adult at 18.0, 22.0 and 26.0 °C, standard error 0.4 °C" in text
    assert all(each.degree_days is None for each in profile.spans)


def test_a_comment_says_what_too_few_tell() -> None:
    _, text = written(LADY, told(stage("L1", days=value(3))))
    part = text.split('code = "L1"')[1].split("[[stages]]")[0]
    assert "# No degree-days: 2 tell of them, fewer than 5." in part
    assert "# No head widths: 1 tell of them, fewer than 5." in part
    assert "# Days: individuals differ by less than the checks can show, so no spread." in part


def test_spans_of_what_was_learned_give_way() -> None:
    monarch = find("monarch")
    assert [each.name for each in monarch.spans if each.days]
    profile, _ = written(monarch, told(stage("L3", days=value(3))))
    inside = {"L3"}
    for span in profile.spans:
        codes = monarch.codes[monarch.rank[span.first] : monarch.rank[span.until]]
        assert span.days is None or not inside & {*codes}
    threshold = LearnedThreshold(9.0, 0.5, "egg to adult", (18.0, 22.0, 26.0))
    warmer, _ = written(monarch, told(threshold=threshold))
    assert [each.days for each in warmer.spans] == [
        each.days for each in monarch.spans if each.days is not None
    ]
    assert not any(each.degree_days for each in warmer.spans)


def test_a_head_that_is_not_wider_than_that_before_is_left_out() -> None:
    width = LADY.stage("L3").head_width_mm
    assert width is not None
    profile, text = written(LADY, told(stage("L2", head_width_mm=value(1.2, 0.1))))
    assert profile.stage("L3").head_width_mm is None
    assert profile.stage("L2").head_width_mm is not None
    assert f"# A head width of {width.centre:g} mm is left out: no more than before." in text


def test_heads_are_held_against_those_of_instars_alone() -> None:
    """A pupa may be as narrow as it is; a learned width gives way to none but another learned."""
    plain = profile_of_stages("egg,L1,L2,L3,pupa,adult")
    narrow = Quantity("own", low=0.25, high=0.75)
    stages = tuple(
        replace(each, head_width_mm=narrow if each.code in ("L3", "pupa") else None)
        for each in plain.stages
    )
    base = replace(plain, stages=stages, sources=plain.sources | {"own": Source("own", "ours")})
    found = replace(
        told(stage("L1", head_width_mm=value(0.4)), stage("L2", head_width_mm=value(0.5))),
        lower=None,
    )
    document, comments = learned_profile(base, found, "ours")
    kept = {each["code"]: each.get("head_width_mm") for each in document["stages"]}
    assert {code for code, each in kept.items() if each} == {"L1", "L2", "pupa"}
    assert comments["L3"] == ["A head width of 0.5 mm is left out: no more than before."]
    alike = replace(found, stages=(found.stages[1], replace(found.stages[0], stage="L3")))
    document, _ = learned_profile(base, alike, "ours")
    assert [each["code"] for each in document["stages"] if "head_width_mm" in each] == [
        "L2",
        "pupa",
    ]


def test_a_head_that_was_wider_before_gives_way_to_what_was_learned() -> None:
    """Of 0.5, 0.8, 0.9 and 1.2 mm those that are not below the 0.6 mm learned of L3 go."""
    plain = profile_of_stages("egg,L1,L2,L3,L4,pupa,adult")
    widths = {"L1": 0.5, "L2": 0.8, "L3": 0.9, "L4": 1.2}
    stages = tuple(
        replace(each, head_width_mm=Quantity("own", value=widths[each.code]))
        if each.code in widths
        else each
        for each in plain.stages
    )
    base = replace(plain, stages=stages, sources=plain.sources | {"own": Source("own", "ours")})
    for learned, left in ((0.6, {"L2"}), (0.8, {"L2"}), (0.81, set()), (0.5, {"L1", "L2"})):
        found = replace(told(stage("L3", head_width_mm=value(learned))), lower=None)
        document, comments = learned_profile(base, found, "ours")
        kept = {each["code"] for each in document["stages"] if "head_width_mm" in each}
        assert kept == widths.keys() - left
        for code in left:
            assert comments[code] == [
                f"A head width of {widths[code]:g} mm is left out: no less than after."
            ]
    both = told(stage("L1", head_width_mm=value(0.9)), stage("L3", head_width_mm=value(0.7)))
    document, comments = learned_profile(base, replace(both, lower=None), "ours")
    kept = {each["code"] for each in document["stages"] if "head_width_mm" in each}
    assert kept == {"L1", "L4"}
    assert comments["L3"][-1] == "A head width of 0.7 mm is left out: no more than before."
    assert comments["L2"] == ["A head width of 0.8 mm is left out: no more than before."]


def test_a_measure_may_be_called_source() -> None:
    base = profile_of_stages("egg,L1,adult")
    egg, *others = base.stages
    egg = replace(egg, measures_mm={"source": Quantity("own", value=0.5)})
    sources = base.sources | {"own": Source("own", "ours"), "unused": Source("own", "x")}
    learned = replace(told(stage("L1", days=value(4))), lower=None)
    document, _ = learned_profile(
        replace(base, stages=(egg, *others), sources=sources), learned, "ours"
    )
    assert set(document["sources"]) == {"own", "own-cohorts"}


def test_an_unnamed_species_is_called_by_its_file() -> None:
    base = profile_of_stages("egg,L1,L2,adult")
    learned = replace(told(stage("egg", days=value(4))), lower=None)
    profile, text = written(base, learned, "brown-moth")
    assert (profile.id, profile.name) == ("brown-moth", "brown moth")
    assert [*profile.sources] == ["own-cohorts"]
    assert "# No degree-days: no lower threshold is known." in text
    named, _ = written(replace(base, name="hazel moth"), learned, "brown-moth")
    assert named.name == "hazel moth"


def test_a_learned_value_has_the_digits_that_its_kind_is_known_to() -> None:
    found = stage(
        "L1",
        days=value(4.2349, 0.4567),
        degree_days=value(61.26, 5.237),
        head_width_mm=value(0.38349, 0.01234),
    )
    profile, _ = written(LADY, told(found))
    first = profile.stage("L1")
    known = [first.days, first.degree_days, first.head_width_mm]
    told_of = [(each.value, each.sd) for each in known if each is not None]
    assert told_of == [(4.23, 0.457), (61.3, 5.24), (0.383, 0.0123)]
