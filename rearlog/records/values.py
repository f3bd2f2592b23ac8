"""What the values of records may be: patterns of names, and types by which documents are read."""

from __future__ import annotations

import re
import sys
from datetime import datetime
from typing import Annotated

from msgspec import Meta

CODE = re.compile(r"\w{1,24}")
"""What an individual may be called."""

NAME = re.compile(r"\w{1,24}(-\w{1,24})?")
"""What a mate or a cage may be called; each code of an individual is such a name too."""

LABEL = re.compile(r"[A-Za-z0-9_-]{1,64}")
"""What a cohort may be called; a new file is called so, and so is a cohort among origins."""

SITE = re.compile(r"[^;:\s\x00-\x1f\x7f](?:[^;:\x00-\x1f\x7f]{0,98}[^;:\s\x00-\x1f\x7f])?")
"""What a site may be called: a short text in which no semicolon and no colon stands."""

ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[1-8][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
"""A UUID as it is written in the file: in lower case."""

FACTOR = re.compile(r"[^\W\d][\w-]{0,31}")
"""What a factor may be called: it is typed behind --by, and stands in formulas of a design."""
LEVEL = re.compile(r"[^;\s\x00-\x1f\x7f](?:[^;\x00-\x1f\x7f]{0,58}[^;\s\x00-\x1f\x7f])?")
"""What a level may be called: a short text in which no semicolon stands, which parts levels."""
ORIGIN = re.compile(rf"{LABEL.pattern}(?::{CODE.pattern}(?:,{CODE.pattern})*)?")
"""A cohort's name, and behind a colon perhaps codes of its individuals."""

TOKEN = re.compile(r"[A-Za-z0-9_-]{8,64}")
"""What a device may call a look that it tells."""

PHOTO = re.compile(r"[0-9a-f]{64}")
"""What a picture is called: the SHA-256 of its bytes."""

MOST_COUNTED = 1_000_000
"""No count is larger."""

_LARGEST = sys.float_info.max  # neither an infinity nor NaN


def _whole(pattern: re.Pattern[str]) -> Meta:
    return Meta(pattern=rf"^(?:{pattern.pattern})\Z")


Moment = Annotated[datetime, Meta(tz=True)]
Number = Annotated[float, Meta(ge=-_LARGEST, le=_LARGEST)]
Measure = Annotated[float, Meta(gt=0, le=_LARGEST)]
Count = Annotated[int, Meta(ge=0, le=MOST_COUNTED)]
Latitude = Annotated[float, Meta(ge=-90, le=90)]
Longitude = Annotated[float, Meta(ge=-180, le=180)]
TimeOfDay = Annotated[str, Meta(pattern=r"^([01]\d|2[0-3]):[0-5]\d\Z")]
Code = Annotated[str, _whole(CODE)]
Name = Annotated[str, _whole(NAME)]
Label = Annotated[str, _whole(LABEL)]
Site = Annotated[str, _whole(SITE)]
Id = Annotated[str, _whole(ID)]
Factor = Annotated[str, _whole(FACTOR)]
Level = Annotated[str, _whole(LEVEL)]
Origin = Annotated[str, _whole(ORIGIN)]
Token = Annotated[str, _whole(TOKEN)]
Photo = Annotated[str, _whole(PHOTO)]
