"""The bundled profiles, each in order and each value with its source."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import rearlog.species
from rearlog.records.errors import ProfileError, UsageError
from rearlog.records.profile import Profile
from rearlog.species.catalogue import bundled, find
from rearlog.species.loader import check

IDS = [listing.id for listing in bundled()]
WITHOUT_HEAT = {"mealworm", "black-swallowtail"}  # no threshold is known for them
WITH_QUESTIONS = {"monarch", "painted-lady", "silkworm", "small-white"}


def test_the_list_names_every_profile_by_its_head() -> None:
    assert IDS == [
        "black-swallowtail",
        "green-dock-beetle",
        "mealworm",
        "monarch",
        "painted-lady",
        "seven-spot-ladybird",
        "silkworm",
        "small-white",
        "tobacco-hornworm",
        "two-spot-ladybird",
        "vinegar-fly",
    ]
    for listing in bundled():
        profile = find(listing.id)
        assert (profile.id, profile.name, profile.scientific_name) == (
            listing.id,
            listing.name,
            listing.scientific_name,
        )


@pytest.mark.parametrize("species", IDS)
class TestEachProfile:
    def test_is_sound_also_after_the_way_through_a_cohort_file(self, species: str) -> None:
        profile = find(species)
        document = json.loads(json.dumps(profile.to_dict()))
        assert check(document) == []
        assert Profile.from_dict(document) == profile

    def test_every_number_and_sentence_names_a_source_that_is_there(self, species: str) -> None:
        document = find(species).to_dict()
        named = set()
        for table in tables(document):
            if {"value", "low", "tell"} & set(table) or set(table) >= {"text", "source"}:
                assert table["source"] in document["sources"], table
                named |= {table["source"], table.get("spread_source", table["source"])}
        assert named == set(document["sources"]), "a source that nothing names"

    def test_goes_from_egg_to_adult_with_signs_and_cautions(self, species: str) -> None:
        profile = find(species)
        assert profile.codes[0] == "egg"
        assert profile.codes[-1] == "adult"
        assert all(stage.signs for stage in profile.stages)
        assert len(profile.cautions) >= 3

    def test_has_heat_with_a_spread_for_every_stage_that_ends(self, species: str) -> None:
        if species in WITHOUT_HEAT:
            assert find(species).lower is None
            return
        for stage in find(species).stages[:-1]:
            if not stage.optional:
                assert stage.degree_days is not None, stage.code
                assert stage.degree_days.sd is not None, stage.code
                assert 0.07 < stage.degree_days.sd / stage.degree_days.centre < 0.16, stage.code

    def test_the_heat_of_the_stages_adds_up_to_the_span(self, species: str) -> None:
        profile = find(species)
        for span in profile.spans:
            stages = profile.stages[profile.rank[span.first] : profile.rank[span.until]]
            parts = [each.degree_days.centre for each in stages if each.degree_days is not None]
            if span.degree_days is not None:
                assert sum(parts) == pytest.approx(span.degree_days.centre, abs=0.2)

    def test_the_days_of_the_stages_can_make_up_the_span(self, species: str) -> None:
        profile = find(species)
        for span in profile.spans:
            stages = profile.stages[profile.rank[span.first] : profile.rank[span.until]]
            known = [each.days for each in stages if each.days is not None]
            required = [each.days for each in stages if not each.optional]
            if span.days is None or span.days.low is None or span.days.high is None:
                continue
            if None not in required:
                least = sum(each.low or each.centre for each in required if each)
                assert least < span.days.high
                assert sum(each.high or each.centre for each in known) > span.days.low

    def test_every_answer_of_a_stage_is_foreseen(self, species: str) -> None:
        profile = find(species)
        assert bool(profile.questions) == (species in WITH_QUESTIONS)
        for question in profile.questions:
            for code in (*profile.codes, "none"):
                total = sum(answer.likelihood.get(code, 0.0) for answer in question.answers)
                assert total == pytest.approx(1, abs=0.021), (question.key, code)


def tables(thing: Any) -> Iterator[dict[str, Any]]:
    if isinstance(thing, dict):
        yield thing
        thing = list(thing.values())
    if isinstance(thing, list):
        for each in thing:
            yield from tables(each)


def test_an_unknown_id_brings_the_closest_one() -> None:
    with pytest.raises(UsageError, match=r"there is no profile “monarc” \(did you mean monarch\?"):
        find("monarc")


@pytest.mark.parametrize("name", ["Painted lady", "vanessa cardui"])
def test_a_name_of_the_species_brings_its_id(name: str) -> None:
    with pytest.raises(UsageError, match="its id is painted-lady"):
        find(name)


def test_an_id_may_be_written_in_capitals() -> None:
    assert find("Monarch").id == "monarch"


def test_a_word_like_none_of_them_brings_the_list() -> None:
    with pytest.raises(UsageError, match="known here: black-swallowtail, green-dock-beetle"):
        find("zzz")


def test_a_path_finds_a_profile_of_ones_own(tmp_path: Path) -> None:
    file = tmp_path / "moth.toml"
    bundled_file = Path(rearlog.species.__file__).parent / "profiles" / "monarch.toml"
    file.write_text(
        bundled_file.read_text(encoding="utf-8").replace('"monarch"', '"my-moth"', 1),
        encoding="utf-8",
    )
    assert find(str(file)).id == "my-moth"
    for missing in (str(tmp_path / "nothing.toml"), f"{'x' * 5000}.toml"):
        with pytest.raises(ProfileError, match="the file cannot be read"):
            find(missing)
