"""The tidy tables in which cohorts are published: what each column holds, and in which unit."""

from __future__ import annotations

from rearlog.exchange.tables import Kind as ColumnKind
from rearlog.exchange.tables import Layout, Reference, TableColumn
from rearlog.records.fields import FIELDS, Field, Kind
from rearlog.records.rules import COLDEST_C, HOTTEST_C
from rearlog.records.values import ID, LABEL, NAME, SITE

PROFILES = "profiles"
"""The folder of the species profiles, one JSON file each."""

DAY, CONSTANT, READING = "day", "constant", "reading"
"""The kinds of temperature records."""

_COHORT = TableColumn(
    "cohort",
    "string",
    "What the cohort is called in this data set: its label, with its site where labels meet.",
    required=True,
    pattern=rf"{LABEL.pattern}( \(.{{1,150}}\))?",
)
_INDIVIDUAL = TableColumn("individual", "string", "Code of the individual.", required=True)
_NUMBER = TableColumn(
    "number", "integer", "Number of the record in the cohort's log.", required=True, least=1
)
_NOTE = TableColumn("note", "string", "Anything else that was noted.")
_OF_COHORT = Reference(("cohort",), "cohorts")
_OF_INDIVIDUAL = Reference(("cohort", "individual"), "individuals")


_KINDS: dict[Kind, ColumnKind] = {
    Kind.MOMENT: "datetime",
    Kind.FLAG: "boolean",
    Kind.MEASURE: "number",
    Kind.COUNT: "integer",
}


def _told(field: Field) -> TableColumn:
    """The column of a field of an observation."""
    return TableColumn(
        field.name,
        _KINDS.get(field.kind, "string"),
        field.meaning,
        field.unit or None,
        required=field.kind in (Kind.CODE, Kind.MOMENT),
        among=field.among,
        pattern=NAME.pattern if field.kind is Kind.NAME else None,
        least=0 if field.kind in (Kind.MEASURE, Kind.COUNT) else None,
        most=field.most if field.kind is Kind.COUNT else None,
    )


TIDY = Layout(
    "observations",
    "Observations",
    "One row a check: one look at one individual at one moment.",
    tuple(map(_told, FIELDS)),
    ("individual", "at", "by"),
)
"""The tidy observations of one cohort, as they come in and go out by themselves."""


def _celsius(name: str, description: str) -> TableColumn:
    return TableColumn(name, "number", description, "°C", least=COLDEST_C, most=HOTTEST_C)


COHORTS = Layout(
    "cohorts",
    "Cohorts",
    "Individuals started together and kept under one temperature regime.",
    (
        _COHORT,
        TableColumn(
            "profile",
            "string",
            f"The species profile: the name of a JSON file in the folder {PROFILES}.",
            required=True,
            pattern="[A-Za-z0-9_-]{1,80}",
        ),
        TableColumn("scientific_name", "string", "The species.", required=True),
        TableColumn("zone", "string", "Time zone (IANA) in which days are counted.", required=True),
        TableColumn("started", "datetime", "The cohort's zero.", required=True),
        TableColumn(
            "check_time",
            "string",
            "Time of day at which a check without a time stands.",
            required=True,
            pattern="([01][0-9]|2[0-3]):[0-5][0-9]",
        ),
        TableColumn("site", "string", "The school or laboratory.", pattern=SITE.pattern),
        TableColumn(
            "latitude", "number", "Where that is (WGS 84).", "degrees north", least=-90, most=90
        ),
        TableColumn(
            "longitude", "number", "Where that is (WGS 84).", "degrees east", least=-180, most=180
        ),
        TableColumn("place", "string", "Where in it they were kept."),
        TableColumn("food", "string", "What they ate."),
        _celsius("planned_celsius", "The temperature that was planned."),
        TableColumn(
            "factors",
            "string",
            "What else sets it apart: factor=level, parted by semicolons.",
        ),
        TableColumn(
            "origins",
            "string",
            "The cohorts that it comes from, parted by semicolons, each perhaps with the codes of "
            "individuals: cohort:code,code.",
        ),
        TableColumn("label", "string", "What the cohort is called.", pattern=LABEL.pattern),
        TableColumn(
            "id",
            "string",
            "UUID of the cohort, by which it is known again whatever it is called.",
            pattern=ID.pattern,
        ),
        TableColumn(
            "invented",
            "boolean",
            "Whether the records are invented (simulated, or made up to show something).",
            required=True,
        ),
    ),
    ("cohort",),
)

INDIVIDUALS = Layout(
    "individuals",
    "Individuals",
    "One row an insect, from its entry into the cohort on.",
    (
        _COHORT,
        _INDIVIDUAL,
        TableColumn("entered_at", "datetime", "When it entered.", required=True),
        TableColumn("stage", "string", "The stage in which it entered.", required=True),
        TableColumn("laid_after", "datetime", "Its egg was laid after this."),
        TableColumn("laid_by", "datetime", "Its egg was laid no later than this."),
        TableColumn("container", "string", "The cup, box or cage."),
        TableColumn("clutch", "string", "The batch of eggs that it came from."),
        _NOTE,
    ),
    ("cohort", "individual"),
    (_OF_COHORT,),
)

OBSERVATIONS = Layout(
    "observations",
    "Observations",
    "One row a check: one look at one individual at one moment. The passage into a stage lies "
    "after the last check that showed an earlier stage and no later than the first that showed "
    "it or a later one.",
    (
        _COHORT,
        _NUMBER,
        *TIDY.columns,
    ),
    ("cohort", "number"),
    (_OF_COHORT, _OF_INDIVIDUAL),
)

TEMPERATURES = Layout(
    "temperatures",
    "Temperatures",
    f"One row a temperature of one of three kinds. {DAY}: the lowest and the highest of a date; "
    f"{CONSTANT}: one kept from a date until another (blank: until further notice); {READING}: "
    "one that a logger read at a moment.",
    (
        _COHORT,
        _NUMBER,
        TableColumn(
            "reading",
            "integer",
            "Place in a run of readings, from 1; 1 for the other kinds.",
            required=True,
            least=1,
        ),
        TableColumn(
            "kind", "string", "What the row tells.", required=True, among=(DAY, CONSTANT, READING)
        ),
        TableColumn("date", "date", "The day, or the first day of a constant temperature."),
        TableColumn("until", "date", "The last day of a constant temperature."),
        TableColumn("at", "datetime", "The moment of a reading."),
        _celsius("min_c", "The lowest temperature of the day."),
        _celsius("max_c", "The highest temperature of the day."),
        _celsius("celsius", "The constant temperature, or the reading."),
        TableColumn(
            "source", "string", "Where the temperature comes from, such as a logger's file."
        ),
    ),
    ("cohort", "number", "reading"),
    (_OF_COHORT,),
)

DURATIONS = Layout(
    "durations",
    "Stage durations (derived)",
    "Derived from the other tables, nothing of its own: how long each individual was in each "
    "stage. The true duration is certainly between low and high.",
    (
        _COHORT,
        _INDIVIDUAL,
        TableColumn("stage", "string", "The stage.", required=True),
        TableColumn("outcome", "string", "What became of it in this stage.", required=True),
        TableColumn(
            "days", "number", "Estimate, from midpoint to midpoint of both passages.", "days"
        ),
        TableColumn("low", "number", "The least that it can have been.", "days", least=0),
        TableColumn("high", "number", "The most that it can have been; blank if not over.", "days"),
        TableColumn(
            "degree_days",
            "number",
            "Heat received, by the profile's thresholds; blank where temperatures are missing.",
            "degree-days °C",
        ),
    ),
    ("cohort", "individual", "stage"),
    (_OF_COHORT, _OF_INDIVIDUAL),
)
