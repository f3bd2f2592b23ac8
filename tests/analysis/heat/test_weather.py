"""Reference: simulated series of days."""

import numpy as np
import pytest
from scipy.integrate import quad
from statsmodels.api import GLS, add_constant

from rearlog.analysis.heat.weather import (
    Weather,
    _as_if_not_moved,
    lever,
    rise,
    sum_off_mean,
    weather,
)

# what is assumed of rooms, written down once more
LIKENESS = ((0.3, 0.25), (0.6, 0.4), (0.8, 0.25), (0.9, 0.1))
USUAL_SD, SD_KNOWN_FROM = 1.2, 1
TREND_SHARE, USUAL_TREND, FLATTENS = 0.7, 0.15, 0.97

ALIKE = 0.6


def rooms(series, days, alike=ALIKE, trend=0.0):
    """Days that each resemble the one before: first-order autoregressions of SD 2 °C."""
    rng = np.random.default_rng(7)
    made = np.empty((series, days))
    made[:, 0] = rng.normal(0, 2, series)
    for day in range(1, days):
        noise = rng.normal(0, 2 * np.sqrt(1 - alike**2), series)
        made[:, day] = alike * made[:, day - 1] + noise
    return made + trend * np.arange(days)


@pytest.mark.parametrize("alike", [0.3, 0.6, 0.9])
@pytest.mark.parametrize("ahead", [1, 10, 30])
def test_a_sum_to_come_is_off_the_last_mean_as_often_as_it_says(ahead, alike):
    series = rooms(4000, 60, alike)
    off = series[:, 30 : 30 + ahead].sum(axis=1) - ahead * series[:, 23:30].mean(axis=1)
    assert 2 * np.sqrt(sum_off_mean(np.array(ahead), alike)) == pytest.approx(off.std(), rel=0.05)


@pytest.mark.parametrize(("alike", "trend"), [(0.3, 0.0), (0.6, 0.0), (0.8, 0.0), (0.6, 0.1)])
def test_what_is_learned_of_a_room_holds_its_days_to_come(alike, trend):
    """Nine in ten of the sums of ten days lie within 1.645 SD, whatever the room is like."""
    series = rooms(600, 30, alike, trend)
    held = []
    for each in series:
        learned = weather(each[:20])
        told = 10 * each[13:20].mean() + learned.likely_trend * lever(np.array(10.0))
        held.append(abs(each[20:].sum() - told) < 1.645 * np.sqrt(learned.variance(np.array(10.0))))
    assert 0.85 <= np.mean(held) <= 0.99


def test_a_trend_is_believed_where_it_is_plain_and_nowhere_else():
    calm = 20 + rooms(300, 28) / 4
    steep = calm + 0.2 * np.arange(28)
    assert np.mean([weather(each).likely_trend != 0 for each in calm]) < 0.15
    believed = np.array([weather(each).likely_trend for each in steep])
    assert np.mean(believed > 0) > 0.99
    assert believed.mean() == pytest.approx(0.2, abs=0.03)


def test_a_move_to_a_warmer_place_is_no_trend():
    rng = np.random.default_rng(8)
    moved = np.repeat([12.0, 22.0], [6, 12]) + rng.normal(0, 0.2, 18)
    assert weather(moved).likely_trend == 0
    assert weather(np.repeat([12.0, 22.0], [4, 12])).likely_trend == 0
    assert weather(12 + 0.6 * np.arange(18) + rng.normal(0, 0.2, 18)).likely_trend > 0.3


@pytest.mark.parametrize(
    ("change", "jump", "moved"),
    [(0.1, 1.7, False), (0.1, 1.9, True), (1.0, 5.9, False), (1.0, 6.1, True), (1.0, -6.1, True)],
)
def test_a_leap_of_six_times_the_usual_change_is_a_move(change, jump, moved):
    """By hand; a usual change of less than 0.3 °C counts as that. The days before are raised."""
    before = np.array([20.0, 20 + change, 20.0])
    after = before[-1] + jump + np.array([0.0, change, 0.0, change])
    found = _as_if_not_moved(np.append(before, after))
    assert found == pytest.approx(np.append(before + (jump if moved else 0), after))


def test_four_weeks_tell_of_the_weather_and_no_fewer_than_six_days():
    series = np.random.default_rng(4).normal(20, 1, 40)
    told = [weather(each).likely_trend for each in (series, series[-28:])]
    sds = [weather(each).sd for each in (series, series[-28:], series[-27:])]
    assert told[0] == told[1]
    assert sds[0].tolist() == sds[1].tolist() != sds[2].tolist()
    assert weather(series[:6]) is not None
    assert weather(series[:5]) is None


def test_a_quiet_fortnight_does_not_promise_quiet_days():
    """The SD of single days lies between that of the record, 0.1 °C, and what is usual."""
    learned = weather(np.random.default_rng(9).normal(20, 0.1, 14))
    assert 0.2 < np.sqrt(learned.weight @ learned.sd**2) < 0.7 < USUAL_SD


@pytest.mark.parametrize(
    ("weight", "trend", "sd", "likely"),
    [
        ([1.0], [0.5], [0.4], 0.5),
        ([1.0], [0.5], [0.6], 0.0),
        ([0.5, 0.5], [0.0, 1.0], [0.0, 0.0], 0.0),  # the mean is no farther off than its SD
        ([0.2, 0.8], [0.0, -1.0], [0.0, 0.1], -0.8),  # 0.64 beside 0.8·0.01 + 0.2·0.64 + 0.8·0.04
    ],
)
def test_a_trend_is_likely_where_its_mean_is_beyond_its_sd(weight, trend, sd, likely):
    """By hand: the variance is that within the models and that between them."""
    none = np.zeros(len(weight))
    found = Weather(np.array(weight), none, none, np.array(trend), np.array(sd))
    assert found.likely_trend == pytest.approx(likely)


def test_what_models_differ_in_of_the_trend_is_doubt_about_the_likely_one():
    """By hand: about 0.3 degrees a day, 0.05² within and 0.1² between the models."""
    half, none = np.full(2, 0.5), np.zeros(2)
    found = Weather(half, none, none, np.array([0.2, 0.4]), np.full(2, 0.05))
    assert found.likely_trend == pytest.approx(0.3)
    days = np.array([1.0, 7.0, 20.0])
    assert found.variance(days) == pytest.approx((0.05**2 + 0.1**2) * lever(days) ** 2)


def test_a_trend_goes_on_and_flattens():
    """One degree a day from the middle of the last seven days, added up day by day by hand."""
    first, second = 3 + FLATTENS, 3 + FLATTENS + FLATTENS**2
    assert rise(np.array([1.0, 2.0])) == pytest.approx([first, second])
    assert lever(np.array([1.0, 2.0])) == pytest.approx([first, first + second])
    assert rise(np.array(1e4)) == pytest.approx(3 + FLATTENS / (1 - FLATTENS))


def test_what_is_not_known_of_a_trend_widens_with_the_days():
    sure, unsure = (
        Weather(np.ones(1), np.array([0.6]), np.ones(1), np.zeros(1), np.array([sd]))
        for sd in (0.0, 0.1)
    )
    days = np.array([1.0, 20.0])
    added = unsure.variance(days) - sure.variance(days)
    assert added == pytest.approx((0.1 * lever(days)) ** 2)


@pytest.mark.parametrize("days", [[20.0] * 9, [20.0, 25.0, 21.0]])
def test_days_that_are_all_alike_or_too_few_tell_of_no_weather(days):
    assert weather(np.array(days)) is None


def test_the_likelihood_of_a_level_is_that_of_a_numerical_integration():
    """Of five days about a level that may be anything, beside the same with likeness 0.8."""
    celsius = np.array([19.0, 20.5, 21.0, 20.0, 22.5, 21.5, 20.5, 19.5])
    learned = weather(celsius)
    assert learned is not None
    levels = learned.trend_sd == 0

    def density(alike):
        def of(level, log_sd):
            sd = np.exp(log_sd)
            first = (celsius[0] - level) / sd
            z = (celsius[1:] - level - alike * (celsius[:-1] - level)) / sd / np.sqrt(1 - alike**2)
            n = len(celsius)
            expected = np.exp(-SD_KNOWN_FROM * (USUAL_SD / sd) ** 2 / 2) / sd**SD_KNOWN_FROM
            return (
                expected * np.exp(-(first**2 + z @ z) / 2) / sd**n / (1 - alike**2) ** ((n - 1) / 2)
            )

        inner = lambda log_sd: quad(of, 0, 40, args=(log_sd,), points=[20.5], limit=200)[0]  # noqa: E731
        return quad(inner, -2, 4, limit=200)[0]

    by_hand = {0.3: 0.25 * density(0.3), 0.6: 0.4 * density(0.6), 0.8: 0.25 * density(0.8)}
    ours = dict(zip(learned.alike[levels].tolist(), learned.weight[levels].tolist(), strict=True))
    assert ours[0.6] / ours[0.3] == pytest.approx(by_hand[0.6] / by_hand[0.3], rel=0.02)
    assert ours[0.8] / ours[0.3] == pytest.approx(by_hand[0.8] / by_hand[0.3], rel=0.02)


def likeness_of(days, alike):
    """The correlations of days of which each resembles the one before, (n, n)."""
    return alike ** np.abs(np.subtract.outer(np.arange(days), np.arange(days)))


def test_trends_are_those_of_generalised_least_squares():
    """By statsmodels, from the correlations as a matrix, with the days that are taken to have
    shown the usual SD beside its residuals; then drawn towards no trend."""
    celsius = 20 + rooms(1, 28, 0.6, 0.1)[0]
    learned = weather(celsius)
    for place, (alike, _) in enumerate(LIKENESS):
        line = GLS(celsius, add_constant(np.arange(28)), sigma=likeness_of(28, alike)).fit()
        around = line.scale * line.df_resid + SD_KNOWN_FROM * USUAL_SD**2
        scale = around / (line.df_resid + SD_KNOWN_FROM)
        doubt = line.bse[1] ** 2 / line.scale * scale
        drawn = USUAL_TREND**2 / (USUAL_TREND**2 + doubt)
        assert learned.trend[2 * place + 1] == pytest.approx(line.params[1] * drawn)
        assert learned.trend_sd[2 * place + 1] ** 2 == pytest.approx(doubt * drawn)
        # the mean of an inverse gamma distribution of so many degrees of freedom
        freedom = line.df_resid + SD_KNOWN_FROM
        assert learned.sd[2 * place + 1] ** 2 == pytest.approx(around / (freedom - 2))
    assert learned.trend[::2].tolist() == learned.trend_sd[::2].tolist() == [0.0] * len(LIKENESS)


@pytest.mark.parametrize("trend", [0.02, 0.2])
def test_models_are_weighed_by_what_the_record_makes_of_them(trend):
    """By matrices, level and spread integrated out, and the trend by adding up over a grid."""
    n = 28
    celsius = 20 + rooms(1, n, 0.6, trend)[0]
    slopes = np.linspace(-1, 1, 4001)
    prior = np.exp(-((slopes / USUAL_TREND) ** 2) / 2)
    left = celsius[:, None] - slopes * np.arange(n)[:, None]
    expected = []
    for alike, share in LIKENESS:
        matrix = likeness_of(n, alike)
        inverse = np.linalg.inv(matrix)
        size = inverse.sum()
        level = inverse.sum(axis=0) @ left / size
        around = np.einsum("is,ij,js->s", left - level, inverse, left - level)
        around += SD_KNOWN_FROM * USUAL_SD**2
        factor = np.linalg.det(matrix) ** -0.5 * size**-0.5
        likely = factor * around ** (-(n - 1 + SD_KNOWN_FROM) / 2)
        still = likely[len(slopes) // 2]
        expected += [
            share * (1 - TREND_SHARE) * still,
            share * TREND_SHARE * (likely * prior).sum() / prior.sum(),
        ]
    assert weather(celsius).weight == pytest.approx(np.array(expected) / sum(expected), rel=0.05)
