"""What an export holds, as logs again: of a data package, or of a Darwin Core archive."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from rearlog.exchange.bundle import opened
from rearlog.exchange.darwin_core import META
from rearlog.exchange.data_package import DESCRIPTOR, read_data_package
from rearlog.exchange.layouts import OBSERVATIONS
from rearlog.exchange.table_logs import ReadProfile
from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import CohortLog


def exported_logs(path: Path, read_profile: ReadProfile, now: datetime) -> list[CohortLog]:
    """The logs in a folder or a ZIP archive; raises ImportRefused with all that cannot be taken."""
    with opened(path) as unpacked:
        archived = (unpacked / META).is_file()
        if not archived and not (unpacked / DESCRIPTOR).is_file():
            message = f"there is neither {DESCRIPTOR} nor {META} in it"
            raise ImportRefused(Problem(message, str(path)))
        if archived and not (unpacked / OBSERVATIONS.file).is_file():
            message = f"there is no {OBSERVATIONS.file} in it: it is of another program or version"
            raise ImportRefused(Problem(message, str(path), "export it anew, if it is yours"))
        return read_data_package(unpacked, read_profile, now)
