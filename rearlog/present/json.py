"""Results for programs: their facts, and beside them the texts that people read."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from msgspec import Struct, json
from msgspec.structs import asdict

from rearlog.records.fields import Marked
from rearlog.sentences.texts import texts_of

RESULTS = {
    "agreement": "analysis.agreement.agreement.Agreement",
    "backups": "store.restoring.States",
    "comparison": "analysis.comparing.compare.Comparison",
    "deadline": "analysis.forecasting.deadline.Deadline",
    "effect": "analysis.comparing.strike_effect.StrikeEffect",
    "durations": "analysis.stages.durations.Durations",
    "durations-by-group": "present.by_group.DurationsByGroup",
    "explained": "present.explaining.Explained",
    "factorial": "analysis.comparing.factorial.Factorial",
    "forecast": "analysis.forecasting.forecast.Forecast",
    "forecast-review": "analysis.forecasting.review.Review",
    "growth": "analysis.growth.growth.Growth",
    "growth-by-group": "present.by_group.GrowthByGroup",
    "growth-by-heat": "analysis.comparing.growth_by_heat.GrowthByHeat",
    "heat": "analysis.stages.stage_heat.Heat",
    "history": "notebook.history.History",
    "identification": "present.identified.IdentifiedAnimal",
    "lineage": "analysis.comparing.lineage.Lineage",
    "names": "present.explaining.Names",
    "progress": "analysis.stages.progress.Progress",
    "reproduction": "analysis.reproduction.reproduction.Reproduction",
    "reproduction-comparison": "analysis.reproduction.reproduction.ReproductionComparison",
    "redactions": "present.redactions.Redactions",
    "sample-size": "analysis.simulation.sample_size.SampleSize",
    "season": "analysis.pooling.season.Season",
    "settings": "settings.standing.StandingSettings",
    "species": "records.profile.Profile",
    "species-list": "present.profiles.SpeciesList",
    "stages": "analysis.stages.stage_counts.StageCounts",
    "survival": "analysis.survival.survival.Survival",
    "survival-by-group": "analysis.comparing.survival_by_group.SurvivalByGroup",
    "thermal": "analysis.comparing.thermal.Thermal",
    "today": "present.due.Today",
    "verification": "present.safekeeping.Verifications",
    "written": "present.written.Written",
}
"""The answers that JSON gives, by the names of their schemas (see `present/json_schema.py`)."""

VERSIONS: dict[str, int] = {}
"""Those not at their first version: it goes up where a key goes, or means something else."""


def full_name(name: str) -> str:
    """The name of a schema as the answer carries it."""
    return f"rearlog/{name}"


def _name_of(kind: type) -> str:
    path = f"{kind.__module__}.{kind.__name__}"
    for name, each in RESULTS.items():
        if path == f"rearlog.{each}":
            return name
    raise TypeError(f"{path} has no schema: name it in RESULTS")


def to_json(result: Any) -> str:
    """A result as one JSON object: the name and version of its schema, then its fields
    and texts as keys, None as null."""
    name = _name_of(type(result))
    document = {"schema": full_name(name), "version": VERSIONS.get(name, 1)} | plain(result)
    return json.format(json.encode(document), indent=2).decode()


def plain(value: Any) -> Any:
    """A result as dictionaries, lists and values. Unknown is None; a NaN is a mistake of ours.

    A text of the same key takes the place of a fact: JSON has said it in words for long.
    """
    if isinstance(value, Struct):
        facts = asdict(value)
        if isinstance(value, Marked):
            facts["struck"] = value.struck
        return plain(facts | texts_of(value))
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, date | datetime):
        return value.isoformat()
    if value != value:
        raise ValueError("a result holds NaN where None is meant")
    if isinstance(value, str):  # names of files may hold broken letters
        return str(value) if value.isascii() else value.encode(errors="replace").decode()
    return value
