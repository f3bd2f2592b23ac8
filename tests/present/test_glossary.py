"""What the words of the trade mean, where a number is among them."""

from rearlog.present.glossary import GLOSSARY
from rearlog.sentences.phrases import INTERVAL


def test_an_interval_holds_the_true_value_in_95_of_100() -> None:
    assert "in 95 of 100 such experiments" in GLOSSARY[INTERVAL]
