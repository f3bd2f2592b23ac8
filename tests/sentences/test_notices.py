"""What a reader should know of a forecast is said of every kind."""

from datetime import date

import pytest

from rearlog.analysis.forecasting.future_temperature import (
    NoTemperatureOnRecord,
    NoTemperatureSince,
    TemperatureBasis,
)
from rearlog.analysis.forecasting.notices import (
    CountedInDays,
    LengthUnknown,
    NoLengthKnown,
    StandsStill,
)
from rearlog.analysis.forecasting.phases import DaysOnly
from rearlog.analysis.stages.heat_needs import Assumption, HeatFromDays, RecentGoesOn
from rearlog.analysis.stages.profile_values import Extrapolation, SpreadAssumed, StagesPassedOver
from rearlog.sentences.future_temperature import basis
from rearlog.sentences.heat_needs import assumed
from rearlog.sentences.notices import noticed

DAY, LATER = date(2026, 3, 9), date(2026, 3, 12)


@pytest.mark.parametrize(
    ("notice", "said"),
    [
        (
            NoTemperatureSince(DAY),
            (
                "No temperature since 2026-03-09; "
                "to fill it: rearlog temps tiny --min MIN --max MAX --on 2026-03-10"
            ),
        ),
        (
            NoTemperatureOnRecord(23.0, planned=True),
            "No temperature on record: taken to have been 23 °C, as planned for the cohort",
        ),
        (
            CountedInDays(True, ((20.0, 24.0), (22.0, 22.0))),
            "No temperature is known: counted in the profile's days, at 20 to 24 °C",
        ),
        (
            CountedInDays(False, ()),
            "No lower threshold is known: counted in the profile's days, whatever the temperature",
        ),
        (StandsStill(4.0), "At 4.0 °C development stands still"),
        (LengthUnknown("L2"), "How long L2 takes is not known: nothing beyond it"),
        (
            DaysOnly("L2", 10.0, 12.0),
            "L2 is known in days, not in degree-days: 10 days at 12 degrees above it",
        ),
        (
            DaysOnly("L2", 10.0, None),
            "L2 is known in days, not in degree-days: 10 days whatever the temperature",
        ),
        (SpreadAssumed("L2", 0.1), "Individuals are taken to differ by 10 % (SD) in L2"),
        (StagesPassedOver(("L6", "L7")), "Passed over unless seen: L6, L7"),
        (
            Extrapolation(("L1",), (20.0, 20.0), 27.04),
            "Extrapolated: L1 measured at 20 °C, here 27.0 °C",
        ),
        (
            NoLengthKnown(),
            "Nothing can be foretold: nobody has said how long the stages of this species take; to "
            "learn it of cohorts that are over: rearlog species learn COHORT -o FILE",
        ),
    ],
)
def test_a_notice_in_words(notice, said):
    assert noticed([notice], "tiny") == (said,)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            HeatFromDays("L2", 4.5, 8.3),
            "L2 takes 37 degree-days: 4.5 days at 8.3 degrees above the lower threshold",
        ),
        (SpreadAssumed("L2", 0.104), "Individuals differ by 10 % (SD) in L2"),
        (StagesPassedOver(("L6", "L7")), "Nobody passes through L6, L7"),
        (
            Extrapolation(("L1", "L2"), (20.0, 24.0), 27.04),
            "Extrapolated: L1, L2 measured at 20 to 24 °C, here 27.0 °C",
        ),
        (
            RecentGoesOn(LATER),
            "after 2026-03-12 the mean temperature of the last days goes on",
        ),
    ],
)
def test_what_was_assumed_in_words(found: Assumption, said: str) -> None:
    assert assumed([found, found]) == (said,)


@pytest.mark.parametrize(
    ("taken", "said"),
    [
        (None, "not known"),
        (TemperatureBasis(21.04, False, None, None, 5, 0.0), "21.0 °C, the mean of the last 5 days "
         "on record"),
        (TemperatureBasis(21.0, False, None, None, 7, -0.12), "21.0 °C, the mean of the last 7 "
         "days on record, taken to get cooler: by 0.12 °C a day, then less"),
        (TemperatureBasis(21.5, False, None, None, 0, 0.0), "21.5 °C, as planned for the cohort"),
        (TemperatureBasis(21.5, True, None, None, 7, 0.0), "21.5 °C, as given"),
        (TemperatureBasis(21.5, True, DAY, LATER, 7, 0.0), "as given for 2026-03-09 to 2026-03-12 "
         "(21.5 °C on average), then the mean of the last 7 days"),
    ],
)  # fmt: skip
def test_the_temperature_to_come_in_words(taken, said):
    assert basis(taken) == said
