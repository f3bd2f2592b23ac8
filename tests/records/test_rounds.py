from datetime import date

from msgspec.structs import replace

from rearlog.records.log import (
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Mark,
    Observation,
    Readings,
)
from rearlog.records.rounds import last_round, records_of, rounds_of
from tests.builders import moment, seen, tiny_log

DAYS = [date(2026, 3, 9 + step) for step in range(8)]


def entered(log: CohortLog, *rounds: tuple[float, str]) -> CohortLog:
    """The log with rounds of all its individuals, each entered an hour after it was made."""
    observations: list[Observation] = []
    for day, states in rounds:
        for code, state in zip(log.by_code, states.split(), strict=True):
            check = replace(seen(code, day, state), entered=moment(day + 1 / 24))
            observations.append(replace(check, number=len(observations) + 1))
    return replace(log, all_observations=tuple(observations))


LOG = entered(tiny_log({"1": "egg", "2": "egg"}), (1, "egg L1"), (2, "L1 dead"), (3, "L1 dead"))


def test_a_round_tells_what_was_new_in_it() -> None:
    assert [(each.first_record, each.last_record, each.changes) for each in rounds_of(LOG)] == [
        (1, 2, "2 L1"),
        (3, 4, "1 L1; 2 dead"),
        (5, 6, "2 dead"),
    ]


def test_what_is_struck_changes_nothing_and_is_counted() -> None:
    mark = Mark(moment(5), "wrong cup")
    observations = (LOG.all_observations[0], replace(LOG.all_observations[1], marks=(mark,)))
    (only,) = rounds_of(replace(LOG, all_observations=observations))
    assert (only.records, only.struck, only.changed) == (2, 1, 0)


def test_the_last_round_is_the_last_of_which_a_record_stands() -> None:
    assert [each.number for each in last_round(LOG)] == [5, 6]
    mark = Mark(moment(5), "wrong cup")
    observations = [replace(each, marks=(mark,)) for each in LOG.all_observations[3:]]
    left = replace(LOG, all_observations=(*LOG.all_observations[:3], *observations))
    assert [each.number for each in last_round(left)] == [3]
    assert last_round(tiny_log({"1": "egg"})) == []


def test_of_one_moment_entered_twice_there_are_two_rounds() -> None:
    late = replace(seen("1", 2, "L1"), entered=moment(9), number=7)
    log = replace(LOG, all_observations=(*LOG.all_observations, late))
    assert [each.at for each in rounds_of(log)] == [moment(day) for day in (1, 2, 3, 2)]


def test_records_of_a_day_with_its_temperatures() -> None:
    kept = (
        DayExtremes(DAYS[2], 18, 23),
        ConstantTemperature(24, DAYS[1], DAYS[3]),
        ConstantTemperature(22, DAYS[5]),
        Readings(moment(1.9), (0, 86400), (20.0, 21.0)),
    )
    log = replace(LOG, all_temperatures=kept)
    observations, temperatures = records_of(log, on=DAYS[2])
    assert [each.number for each in observations] == [3, 4]
    assert temperatures == (kept[0], kept[1], kept[3])
    assert records_of(log, on=DAYS[7])[1] == (kept[2],)
    assert records_of(log, individual="1", on=DAYS[2]) == ((observations[0],), ())


def test_a_round_that_took_a_while_is_one() -> None:
    """A tapped page has a time for each individual; what one file brought of one day is a round."""
    entered = moment(5)
    log = tiny_log({"1": "egg", "2": "egg"})
    checks = tuple(
        replace(seen(code, day, "egg"), entered=entered, number=number)
        for number, (code, day) in enumerate([("1", 1), ("2", 1.01), ("1", 2), ("2", 2.01)], 1)
    )
    log = replace(log, all_observations=checks)
    assert [each.records for each in rounds_of(log)] == [2, 2]
    assert [each.number for each in last_round(log)] == [3, 4]
