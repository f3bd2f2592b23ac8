"""What names mean: each entry has its names, a sentence, and a function that there is."""

from importlib import import_module

from rearlog.analysis.reproduction.estimates import Measure
from rearlog.sentences.meanings.between import BETWEEN
from rearlog.sentences.meanings.cohort import COHORT
from rearlog.sentences.meanings.coming import COMING
from rearlog.sentences.meanings.every import WORDS
from rearlog.sentences.meanings.marks import MARKS
from rearlog.sentences.meanings.methods import METHODS
from rearlog.sentences.meanings.reproduction import MEASURES, REPRODUCTION, measured
from rearlog.sentences.meanings.season import SEASON
from rearlog.sentences.meanings.survival import SURVIVAL
from rearlog.sentences.meanings.trade import TRADE
from rearlog.sentences.meanings.word import Word
from rearlog.sentences.reproduction import CALLED


def entries() -> list[Word]:
    """Those of every file, in the order of the page."""
    files = (TRADE, COHORT, SURVIVAL, BETWEEN, COMING, REPRODUCTION, SEASON, MARKS)
    return [word for words in files for word in words]


def is_there(function: str) -> bool:
    """Whether the analysis has a function of this dotted name."""
    module, _, name = function.rpartition(".")
    return callable(getattr(import_module(f"rearlog.analysis.{module}"), name))


def test_every_entry_has_names_and_a_sentence() -> None:
    for each in entries():
        told = (each.names, each.kinds, each.charts)
        assert all(isinstance(names, tuple) for names in told), each
        assert all(name == name.strip() for names in told for name in names), each
        assert each.names
        assert isinstance(each.says, str)
        assert each.says == each.says.strip()
        assert not each.says.endswith(".")
        assert not each.by or is_there(each.by), each


def test_all_entries_are_among_all_words() -> None:
    assert entries() == list(WORDS)


def test_a_measure_is_called_by_its_key_its_heading_and_its_symbol() -> None:
    made = measured(Measure.FINITE_RATE, "how many times as many", "exp(r)", "here")
    key, heading = str(Measure.FINITE_RATE), CALLED[Measure.FINITE_RATE]
    assert made == Word((key, heading, "λ"), "how many times as many", "exp(r)", "here", made.kinds)
    assert made.kinds == ("Estimate",)
    assert measured(Measure.LIFE, "days").names == (str(Measure.LIFE), "days that an egg lives")
    assert [each.names[0] for each in MEASURES] == [str(each) for each in CALLED]


def test_an_interval_is_told_in_a_hundred_experiments() -> None:
    (told,) = (each.says for each in TRADE if "interval" in each.names[0])
    assert told == "made so that it holds the true value in 95 of 100 such experiments"


def test_what_a_method_assumes_is_a_sentence_and_what_checks_it_are_tests() -> None:
    for name, each in METHODS.items():
        assert is_there(name)
        assert isinstance(each.assumes, str)
        assert isinstance(each.checked, tuple)
        assert bool(each.assumes) == each.assumes.endswith("."), name
        assert all(file.endswith(".py") for file in each.checked), name
        assert not each.part_of or is_there(each.part_of), name
