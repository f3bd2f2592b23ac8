"""The invented cohorts that come with every copy, to look at and to try things with."""

from __future__ import annotations

from pathlib import Path

SAMPLES = "sample_cohorts"
_KINDS = (".json", ".csv", ".md")


def sample_folder() -> Path:
    """Where they are: in the package, or beside it where it is used from its source."""
    package = Path(__file__).parents[1]
    inside = package / SAMPLES
    return inside if inside.is_dir() else package.parent / SAMPLES


def sample_files() -> dict[str, bytes]:
    """All files by their paths in the folder, `/` between the parts: cohorts, raw data, read-me."""
    folder = sample_folder()
    found = sorted(each for each in folder.rglob("*") if each.suffix in _KINDS)
    return {
        each.relative_to(folder).as_posix(): each.read_bytes()
        for each in found
        if not any(part.startswith(".") for part in each.relative_to(folder).parts)
    }


def sample_cohorts() -> list[Path]:
    """The cohort files of the story that the report is of."""
    return sorted(sample_folder().glob("*.json"))
