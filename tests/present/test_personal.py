"""What of a log that may tell who somebody is stands on a page."""

from msgspec.structs import replace

from rearlog.present.personal import shown_on_the_page
from rearlog.records.log import CohortLog
from tests.builders import tiny_log


def test_what_a_page_shows_of_people_is_told() -> None:
    plain = tiny_log({"1": "egg L1 dead"})
    assert shown_on_the_page([plain], observers=False) == (
        "it shows the cohorts' names, the individuals' codes; "
        "no observers, notes, containers, clutches"
    )

    def told(log: CohortLog) -> str:
        shown = shown_on_the_page([plain, log], observers=False)
        return shown.partition("codes")[2].partition(";")[0]

    assert told(tiny_log({"1": "egg dead:mould"})) == ", causes of death in your words"
    for field, value, name in (
        ("place", "window", "places"),
        ("food", "leek", "food"),
        ("factors", {"line": "A"}, "factors"),
        ("origins", ("spring",), "what cohorts come from"),
    ):
        header = replace(plain.cohort, **{field: value})  # type: ignore[arg-type]
        assert told(replace(plain, cohort=header)) == f", {name}"
    compared = shown_on_the_page([plain], observers=True)
    assert compared.endswith(
        "codes, the observers who are compared; no notes, containers, clutches"
    )
