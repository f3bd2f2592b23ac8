"""What is taken for the temperature to come, in words."""

from __future__ import annotations

from rearlog.analysis.forecasting.future_temperature import TemperatureBasis


def basis(taken: TemperatureBasis | None) -> str:
    """How warm it is taken to be, and why: what follows on “Temperature to come:”."""
    if taken is None:
        return "not known"
    if not taken.given and not taken.recent_days:
        return f"{taken.celsius:g} °C, as planned for the cohort"
    if not taken.given:
        lately = f"{taken.celsius:.1f} °C, the mean of the last {taken.recent_days} days on record"
        if not taken.trend:
            return lately
        way = "warmer" if taken.trend > 0 else "cooler"
        return f"{lately}, taken to get {way}: by {abs(taken.trend):.2f} °C a day, then less"
    if taken.first is None:
        return f"{taken.celsius:g} °C, as given"
    return (
        f"as given for {taken.first} to {taken.last} ({taken.celsius:.1f} °C on average), "
        f"then the mean of the last {taken.recent_days} days"
    )
