"""The bundled profiles against the sources that they name, value by value.

In each table: the value as the source gives it, beside the source. `published`, `common practice`
and `from memory` say how the value came here; a profile must not claim more.
"""

from typing import Any

import pytest

from rearlog.records.profile import Profile, Quantity, Span
from rearlog.species.catalogue import bundled, find

P, C, M = "published", "common practice", "from memory"

SADDLEBACK = "Saddleback College"  # student study of temperature and metamorphosis in V. cardui
MINNESOTA = "Larval field guide, University of Minnesota"
URQUHART = "Urquhart 1987, as cited in the Canadian status report"
ZALUCKI = "Zalucki 1982, J. Aust. Entomol. Soc. 21:241–246"  # from memory
COLOMBIA = "Rev. Colomb. Entomol."  # biology of the silkworm, abstract; 24 °C
HONEK = "Honěk et al. 2003, Eur. J. Entomol. 100:295–300"  # abstract; citation from memory
CAPINERA = "Capinera, Imported cabbageworm, University of Florida IFAS"
JONES = "Jones et al. 1987, Aust. J. Zool. 35:235–246"
REARING = "rearing tobacco hornworms and pink bollworms, J. Econ. Entomol."
OBRYCKI = "Obrycki & Tauber 1981"  # Ann. Entomol. Soc. Am.
NONE = ""  # common practice and memory have no citation to quote

LARVA = ("L1", "L2", "L3", "L4", "L5")


def quantity(profile: Profile, where: str) -> Quantity:
    """`lower`; `L1 days` of a stage; `L1 front_filament`; or `span NAME days`."""
    *place, name = where.split()
    if not place:
        found: Any = getattr(profile, name)
    elif place[0] == "span":
        found = getattr(span(profile, " ".join(place[1:])), name)
    else:
        stage = profile.stage(place[0])
        found = stage.measures_mm.get(name) or getattr(stage, name)
    assert isinstance(found, Quantity), where
    return found


def span(profile: Profile, name: str) -> Span:
    return next(each for each in profile.spans if each.name == name)


Row = tuple[str, str, float | tuple[float, float], str, str]


def instars(
    species: str, name: str, values: list[Any], kind: str, citation: str, first: int = 1
) -> list[Row]:
    return [
        (species, f"L{number} {name}", value, kind, citation)
        for number, value in enumerate(values, start=first)
    ]


FACTS: list[Row] = [
    # painted lady
    ("painted-lady", "egg days", (3, 5), C, NONE),
    ("painted-lady", "span larva days", (12, 18), C, NONE),
    ("painted-lady", "pupa days", (7, 10), C, NONE),
    ("painted-lady", "span larva at 22.2 °C days", 15.57, P, SADDLEBACK),
    ("painted-lady", "span larva at 27.7 °C days", 11.45, P, SADDLEBACK),
    # monarch
    ("monarch", "egg days", (3, 8), C, NONE),
    ("monarch", "span larva days", (9, 16), C, NONE),
    *instars("monarch", "days", [(1, 3), (1, 3), (1, 3), (1, 3), (3, 5)], C, NONE),
    *instars("monarch", "head_width_mm", [0.6, 0.8, 1.5, 2.2, 3.5], P, MINNESOTA),
    *instars("monarch", "length_mm", [(2, 6), (6, 9), (10, 14), (13, 25), (25, 45)], P, MINNESOTA),
    *instars("monarch", "front_filament", [0.3, 1.7, 5, 11], P, MINNESOTA, first=2),
    *instars("monarch", "back_filament", [0.9, 2, 4], P, MINNESOTA, first=3),
    ("monarch", "pupa days", (9, 15), P, URQUHART),
    ("monarch", "lower", 11.5, M, ZALUCKI),
    ("monarch", "upper", 33, M, ZALUCKI),
    ("monarch", "span egg to adult degree_days", 352, M, ZALUCKI),
    ("monarch", "egg degree_days", 45, M, ZALUCKI),
    *instars("monarch", "degree_days", [32, 27, 27, 35, 68], M, ZALUCKI),
    ("monarch", "pupa degree_days", 118, M, ZALUCKI),
    # silkworm at 24 °C
    *instars("silkworm", "head_width_mm", [0.54, 1.02, 1.65, 2.51, 3.58], P, COLOMBIA),
    ("silkworm", "egg days", 11.0, P, COLOMBIA),
    *instars("silkworm", "days", [4.60, 6.00, 6.06, 6.47, 9.87], P, COLOMBIA),
    ("silkworm", "pupa days", 15.40, P, COLOMBIA),
    ("silkworm", "span egg to adult days", 59.40, P, COLOMBIA),
    # green dock beetle
    ("green-dock-beetle", "lower", 7.1, P, HONEK),
    ("green-dock-beetle", "span egg to adult degree_days", 304.6, P, HONEK),
    ("green-dock-beetle", "span egg to adult at 18 °C days", 28.2, P, HONEK),
    ("green-dock-beetle", "span egg to adult at 21.5 °C days", 21.6, P, HONEK),
    ("green-dock-beetle", "span egg to adult at 25 °C days", 16.1, P, HONEK),
    ("green-dock-beetle", "span egg to adult at 28 °C days", 15.0, P, HONEK),
    # small white
    *instars("small-white", "head_width_mm", [0.4, 0.6, 0.97, 1.5, 2.2], P, CAPINERA),
    *instars("small-white", "days", [4.5, 3.0, 3.3, 4.1, 7.8], P, CAPINERA),
    *instars("small-white", "days", [(2.5, 6), (1.5, 5), (2, 5), (3, 6.5), (5, 18)], P, CAPINERA),
    ("small-white", "span larva days", 15, P, CAPINERA),
    ("small-white", "span larva days", (11, 33), P, CAPINERA),
    ("small-white", "pupa days", 11, P, CAPINERA),
    ("small-white", "lower", 10, P, JONES),
    ("small-white", "egg days", (3, 7), M, NONE),
    # tobacco hornworm
    ("tobacco-hornworm", "span egg to adult days", 40, P, REARING),
    ("tobacco-hornworm", "pupa mass_mg", (4000, 5500), P, REARING),
    ("tobacco-hornworm", "pupa days", 18, M, NONE),
    ("tobacco-hornworm", "egg days", (3, 4), M, NONE),
    *instars("tobacco-hornworm", "days", [3, 3, 3, 3], M, NONE),
    # ladybirds
    ("seven-spot-ladybird", "lower", 12.1, P, OBRYCKI),
    ("seven-spot-ladybird", "span egg to adult degree_days", 197, P, OBRYCKI),
    ("two-spot-ladybird", "lower", 9.0, P, OBRYCKI),
    ("two-spot-ladybird", "span egg to adult degree_days", 263, P, OBRYCKI),
    # black swallowtail
    ("black-swallowtail", "egg days", (4, 9), M, NONE),
    ("black-swallowtail", "span larva days", (10, 30), M, NONE),
    ("black-swallowtail", "pupa days", (9, 18), M, NONE),
    # vinegar fly at 25 °C
    ("vinegar-fly", "egg days", 1, C, NONE),
    *instars("vinegar-fly", "days", [1, 1, (2, 3)], C, NONE),
    ("vinegar-fly", "pupa days", (4, 5), C, NONE),
]


@pytest.mark.parametrize(("species", "where", "value", "kind", "citation"), FACTS)
def test_fact(
    species: str, where: str, value: float | tuple[float, float], kind: str, citation: str
) -> None:
    profile = find(species)
    found = quantity(profile, where)
    assert ((found.low, found.high) if isinstance(value, tuple) else found.value) == value
    assert profile.sources[found.source].kind == kind
    assert citation in profile.sources[found.source].citation


def test_small_white_lengths_at_the_end_of_each_instar() -> None:
    ends = [3.2, 8.8, 14.0, 20.2, 30.1]  # mm, published: Capinera
    profile = find("small-white")
    lengths = [profile.stage(code).length_mm for code in LARVA]
    assert [each.high for each in lengths if each] == ends
    assert [each.low for each in lengths if each][1:] == ends[:-1]
    assert {profile.sources[each.source].citation for each in lengths if each} == {
        "Capinera, Imported cabbageworm, University of Florida IFAS Extension."
    }
    assert lengths[0] is not None  # the hatchling's length is not Capinera's
    assert profile.sources[lengths[0].spread_source or ""].kind == M


def test_hornworm_masses_and_survival() -> None:
    profile = find("tobacco-hornworm")
    # published: last-instar larvae 7.5–9 g, 94–97 % survive (abstract, J. Econ. Entomol.)
    (note,) = [each for each in profile.notes if profile.sources[each.source].kind == P]
    assert "7.5 to 9 g" in note.text
    assert "94 to 97 %" in note.text
    mass = profile.stage("L5").mass_mg
    assert mass is not None
    assert mass.high == 9000


@pytest.mark.parametrize(
    ("species", "where", "celsius"),
    [
        ("painted-lady", "span larva at 22.2 °C days", (22.2, 22.2)),  # the student study
        ("painted-lady", "span larva at 27.7 °C days", (27.7, 27.7)),
        ("painted-lady", "span larva degree_days", (22.2, 27.7)),
        ("silkworm", "L3 days", (24, 24)),  # Rev. Colomb. Entomol.
        ("green-dock-beetle", "lower", (18, 28)),  # Honěk et al. 2003
        ("green-dock-beetle", "span egg to adult degree_days", (18, 28)),
        ("small-white", "L3 days", (19, 19)),  # Capinera
        ("tobacco-hornworm", "span egg to adult days", (26, 26)),  # J. Econ. Entomol.
        ("tobacco-hornworm", "pupa days", (27, 27)),  # from memory
        ("vinegar-fly", "L3 days", (25, 25)),  # common practice
    ],
)
def test_a_value_says_at_which_temperatures_it_was_measured(
    species: str, where: str, celsius: tuple[float, float]
) -> None:
    assert quantity(find(species), where).at_celsius == celsius


def test_numbers_of_instars() -> None:
    # common practice, but for the hornworm's sixth (from memory)
    counts = {
        "painted-lady": 5,
        "monarch": 5,
        "silkworm": 5,
        "green-dock-beetle": 3,
        "vinegar-fly": 3,
        "small-white": 5,
        "seven-spot-ladybird": 4,
        "two-spot-ladybird": 4,
        "black-swallowtail": 5,
    }
    for species, count in counts.items():
        codes = [stage.code for stage in find(species).stages if stage.code.startswith("L")]
        assert codes == [f"L{number}" for number in range(1, count + 1)]


def test_numbers_of_instars_that_vary() -> None:
    mealworm = [each for each in find("mealworm").stages if each.code.startswith("L")]
    assert sum(not each.optional for each in mealworm) == 9  # common practice: from 9 …
    assert len(mealworm) > 20  # … to over 20
    assert find("tobacco-hornworm").stage("L6").optional  # from memory: sometimes six
    assert not find("tobacco-hornworm").stage("L5").optional


class TestDerivedValues:
    """What a profile derives follows from the published values, worked out again here."""

    def test_painted_lady_threshold_from_two_temperatures(self) -> None:
        # student study, Saddleback College: 15.57 d at 22.2 °C, 11.45 d at 27.7 °C
        slope = (1 / 11.45 - 1 / 15.57) / (27.7 - 22.2)
        threshold = 22.2 - (1 / 15.57) / slope
        profile = find("painted-lady")
        assert quantity(profile, "lower").value == pytest.approx(threshold, abs=0.05)
        larva = quantity(profile, "span larva degree_days")
        assert larva.value == pytest.approx(1 / slope, abs=0.5)
        assert profile.sources[larva.source].kind == "derived"

    def test_painted_lady_spread_from_standard_errors(self) -> None:
        # the same study: SEM 0.16 (n = 24), SEM 0.65 (n = 20)
        profile = find("painted-lady")
        cool = quantity(profile, "span larva at 22.2 °C days")
        warm = quantity(profile, "span larva at 27.7 °C days")
        assert cool.sd == pytest.approx(0.16 * 24**0.5, abs=0.005)
        assert warm.sd == pytest.approx(0.65 * 20**0.5, abs=0.005)

    @pytest.mark.parametrize(
        ("species", "celsius", "lower"), [("silkworm", 24, 10), ("small-white", 19, 10)]
    )
    def test_heat_is_days_times_degrees(self, species: str, celsius: float, lower: float) -> None:
        profile = find(species)
        for code in LARVA:
            days, heat = quantity(profile, f"{code} days"), quantity(profile, f"{code} degree_days")
            assert heat.value == pytest.approx(days.centre * (celsius - lower), abs=0.06)
            assert profile.sources[heat.source].kind == "derived"

    def test_no_other_heat_is_called_published(self) -> None:
        # Honěk et al. 2003; Obrycki & Tauber 1981: egg to adult, as a whole
        published = {"green-dock-beetle", "seven-spot-ladybird", "two-spot-ladybird"}
        for listing in bundled():
            profile = find(listing.id)
            kinds = {
                part.name: profile.sources[heat.source].kind
                for parts in (profile.stages, profile.spans)
                for part in parts
                if (heat := part.degree_days) is not None
            }
            claimed = [name for name, kind in kinds.items() if kind == P]
            assert claimed == (["egg to adult"] if listing.id in published else [])

    def test_no_spread_is_called_published_but_the_ranges_of_the_source(self) -> None:
        for species in ("monarch", "silkworm", "green-dock-beetle", "small-white"):
            profile = find(species)
            for stage in profile.stages:
                for each in (stage.days, stage.degree_days, stage.head_width_mm):
                    if each is not None and each.sd is not None:
                        assert profile.sources[each.spread_source or each.source].kind == M


def test_monarch_facts_in_words() -> None:
    profile = find("monarch")
    latex, *_ = profile.stage("egg").confusions  # common practice
    assert latex.taken_for == "a drop of plant latex"
    assert "ridges" in latex.tell
    (relation,) = profile.measure_relations  # common practice
    assert profile.sources[relation.source].kind == C
    (growth,) = profile.notes  # common practice
    assert "2,000-fold" in growth.text
    # the relation holds for the published lengths (University of Minnesota), to half a millimetre
    # and in the last instar to a millimetre
    for number, within in ((4, 0.5), (5, 1.0)):
        back = quantity(profile, f"L{number} back_filament").value
        front = quantity(profile, f"L{number - 1} front_filament").value
        assert back == pytest.approx(front, abs=within)
