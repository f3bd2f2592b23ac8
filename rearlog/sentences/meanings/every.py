"""All entries."""

from __future__ import annotations

from rearlog.sentences.meanings.between import BETWEEN
from rearlog.sentences.meanings.cohort import COHORT
from rearlog.sentences.meanings.coming import COMING
from rearlog.sentences.meanings.marks import MARKS
from rearlog.sentences.meanings.reproduction import REPRODUCTION
from rearlog.sentences.meanings.season import SEASON
from rearlog.sentences.meanings.survival import SURVIVAL
from rearlog.sentences.meanings.trade import TRADE
from rearlog.sentences.meanings.word import Word

WORDS: tuple[Word, ...] = (
    *TRADE,
    *COHORT,
    *SURVIVAL,
    *BETWEEN,
    *COMING,
    *REPRODUCTION,
    *SEASON,
    *MARKS,
)
