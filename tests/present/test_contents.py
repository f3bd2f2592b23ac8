"""What a page holds of one cohort and of several, of one species or of two."""

from msgspec.structs import replace

from rearlog.notebook import Notebook
from rearlog.present.contents import contents
from tests.builders import notebook_of, small_profile, tiny_log


def cohort(name: str, species: str = "test-moth") -> Notebook:
    profile = replace(small_profile(), id=species, scientific_name=species)
    log = tiny_log({"1": "egg L1 L2 pupa adult"}, name=name, profile=profile, laid=(-1, 0))
    return notebook_of(log)


def test_cohorts_of_one_species_alone_have_thermal_constants() -> None:
    one = contents([cohort("a")])
    assert (one.comparison, one.thermal) == (None, None)
    alike = contents([cohort("a"), cohort("b")])
    assert alike.comparison is not None
    assert alike.thermal is not None
    apart = contents([cohort("a"), cohort("b", "other-moth")])
    assert apart.comparison is not None
    assert apart.thermal is None
