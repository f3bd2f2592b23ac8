"""The least that any answer takes: start Python, load numpy, read a file and parse it."""

import sys
from pathlib import Path

import numpy  # noqa: F401 - that it is loaded is what counts
import orjson

orjson.loads(Path(sys.argv[1]).read_bytes())
