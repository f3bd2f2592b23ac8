"""How many individuals a comparison needs, in words."""

from __future__ import annotations

from rearlog.analysis.simulation.sample_size import SampleSize
from rearlog.sentences.heat_needs import assumed
from rearlog.sentences.texts import Texts

TEXTS: Texts = {SampleSize: {"assumptions": lambda result: assumed(result.assumptions)}}
