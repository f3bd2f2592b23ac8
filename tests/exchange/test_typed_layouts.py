"""Records as tables with types."""

from datetime import UTC, datetime
from pathlib import Path

import rearlog
from rearlog.exchange.layouts import OBSERVATIONS
from rearlog.exchange.typed_layouts import (
    typed_individuals,
    typed_observations,
    typed_temperatures,
)

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


def test_observations_of_cohorts_of_several_species() -> None:
    logs = [rearlog.open(SAMPLES / name).log for name in ("room.json", "life_table/dock-19.json")]
    table = typed_observations(logs)
    frame = table.to_frame()
    assert frame.groupby("cohort").size().to_dict() == {
        log.cohort.name: sum(map(len, log.checks.values())) for log in logs
    }
    assert list(frame.columns) == [each.name for each in OBSERVATIONS.columns]
    assert str(frame["at"].dtype) == "datetime64[us, UTC]"
    order = list(frame["stage"].cat.categories)
    for log in logs:
        places = [order.index(code) for code in log.cohort.species.codes]
        assert places == sorted(places)
    first = next(iter(logs[0].all_observations))
    assert frame["at"].iloc[0] == first.at.astimezone(UTC)
    assert table.to_arrow().schema.field("mass_mg").metadata == {
        b"meaning": b"Body mass.",
        b"unit": b"mg",
    }


def test_individuals_and_temperatures() -> None:
    logs = [rearlog.open(SAMPLES / "room.json").log]
    individuals = typed_individuals(logs).to_frame("polars")
    assert individuals["individual"].to_list() == [each.code for each in logs[0].individuals]
    assert individuals["cohort"].unique().to_list() == ["room"]
    temperatures = typed_temperatures(logs).to_frame()
    assert set(temperatures["kind"]) <= {"day", "constant", "reading"}
    assert str(temperatures["date"].dtype) == "datetime64[us]"
    assert temperatures["at"].dtype == individuals.to_pandas()["entered_at"].dtype
    assert isinstance(individuals["entered_at"][0], datetime)
