"""What cohorts are called beside each other, and what they are known again by."""

from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.records.errors import UsageError
from rearlog.records.identity import named_id, new_id
from rearlog.records.labels import called, in_line, labels, own_label, refuse_twice
from rearlog.records.log import Cohort
from rearlog.records.values import ID
from tests.builders import tiny_log

A = "3f2a91c0-0000-4000-8000-000000000001"
B = "3f2b91c0-0000-4000-8000-000000000002"
C = "77bc91c0-0000-4000-8000-000000000003"


def cohort(name: str, site: str | None = None, known: str = A) -> Cohort:
    return replace(tiny_log({"1": "egg"}).cohort, name=name, site=site, id=known)


def test_a_label_of_its_own_stands_alone() -> None:
    assert labels([cohort("room", "Northfield"), cohort("hall", "Northfield", B)]) == [
        "room", "hall",
    ]  # fmt: skip


def test_where_labels_meet_the_site_stands_behind() -> None:
    rooms = [cohort("room", "Northfield"), cohort("room", "Southgate", B), cohort("hall", None, C)]
    assert labels(rooms) == ["room (Northfield)", "room (Southgate)", "hall"]
    assert labels([cohort("room"), cohort("room", "Southgate", B)]) == ["room", "room (Southgate)"]


def test_where_sites_meet_too_as_much_of_the_identity_as_it_needs() -> None:
    assert labels([cohort("room"), cohort("room", None, C)]) == ["room (3f2a)", "room (77bc)"]
    one_school = [cohort("room", "North", each) for each in (A, B, C)]
    assert labels(one_school) == [
        "room (North, 3f2a)", "room (North, 3f2b)", "room (North, 77bc)",
    ]  # fmt: skip
    longer = C[:6] + "ff" + C[8:]
    assert labels([cohort("room", None, C), cohort("room", None, longer)]) == [
        "room (77bc91c)", "room (77bc91f)",
    ]  # fmt: skip


def test_copies_are_called_alike_and_refused() -> None:
    both = [cohort("room", "Northfield"), cohort("room", "Northfield")]
    assert labels(both) == ["room", "room"]
    with pytest.raises(UsageError, match="the same cohort is given twice: room"):
        refuse_twice(both)
    with pytest.raises(UsageError, match="given twice: hall"):  # whatever it is called
        refuse_twice([cohort("room"), cohort("hall")])
    refuse_twice([cohort("room"), cohort("room", None, B)])


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["room", "hall"]),
            st.sampled_from([None, "North", "South", "3f2a"]),
            st.uuids(),
        ),
        max_size=12,
        unique_by=lambda each: each[2],
    )
)
def test_no_two_are_called_alike(told: list[tuple[str, str | None, UUID]]) -> None:
    some = [cohort(name, site, str(known)) for name, site, known in told]
    found = labels(some)
    assert len(set(found)) == len(found)
    assert [own_label(each) for each in found] == [each.name for each in some]
    assert [each.name for each in called(some)] == found
    assert labels(called(some)) == found


def test_identities_are_uuids_as_the_standard_has_them() -> None:
    made, named = new_id(), named_id("room", "UTC")
    assert UUID(made).version == 4
    assert UUID(named).version == 5
    assert all(map(ID.fullmatch, (made, named)))
    assert made != new_id()
    assert named == named_id("room", "UTC") != named_id("room ", "UTC")


def test_a_cohort_that_is_given_no_identity_makes_one_of_what_it_is() -> None:
    first = tiny_log({"1": "egg"}).cohort
    assert first.id == tiny_log({"1": "L1"}).cohort.id
    assert first.id != tiny_log({"1": "egg"}, name="other").cohort.id
    assert replace(first, name="other").id == first.id  # renamed, it stays the same


def test_names_stand_as_people_count() -> None:
    names = ["School 10", "school 2", "School 1", "Åsgård 3", "4b", "10a", "School"]
    assert sorted(names, key=in_line) == [
        *("4b", "10a"),
        *("School", "School 1", "school 2", "School 10", "Åsgård 3"),
    ]
