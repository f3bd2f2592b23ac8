import pytest

from rearlog.exchange.celsius import NotATemperature, Unit, celsius, is_number, unit_in


@pytest.mark.parametrize(
    ("text", "unit", "degrees"),
    [
        ("21.5", "C", 21.5), ("21,5", "C", 21.5), ("-3", "C", -3.0), ("−3", "C", -3.0),
        (" +.5 ", "C", 0.5), ("60", "C", 60.0), ("-30", "C", -30.0),
        # fixed points of the Fahrenheit scale (definition)
        ("32", "F", 0.0), ("-22", "F", -30.0), ("140", "F", 60.0), ("98.6", "F", 37.0),
    ],
)  # fmt: skip
def test_numbers_in_both_units(text: str, unit: Unit, degrees: float) -> None:
    assert celsius(text, unit) == degrees
    assert is_number(text)


@pytest.mark.parametrize(
    "text", ["", "NaN", "inf", "21.5.1", "1_0", "1e1", "21.5 °C", "--", "1,234.5"]
)
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(NotATemperature, match="is not a number"):
        celsius(text, "C")
    assert not is_number(text)


@pytest.mark.parametrize(
    ("text", "unit"), [("60.1", "C"), ("-30.1", "C"), ("140.2", "F"), ("-23", "F")]
)
def test_what_cannot_be(text: str, unit: Unit) -> None:
    with pytest.raises(NotATemperature, match=f"{text} °{unit} cannot be"):
        celsius(text, unit)


def test_a_reading_in_the_wrong_unit_is_suspected() -> None:
    with pytest.raises(NotATemperature) as mistake:
        celsius("72", "C")
    assert "if it is °F, add --unit F" in mistake.value.remedy


@pytest.mark.parametrize(
    ("title", "unit"),
    [
        ("Temp (°C)", "C"), ("Temp, °F", "F"), ("temp_c", "C"), ("TEMP_F", "F"), ("°C", "C"),
        ("Temperature [C]", "C"), ("Celsius", "C"), ("degF", "F"), ("Temp. in deg C", "C"),
        ("Fahrenheit", "F"), ("ºC", "C"), ("Temperature", None), ("Comment", None), ("Cell", None),
        ("Fan", None), ("min", None),
    ],
)  # fmt: skip
def test_units_in_titles(title: str, unit: Unit | None) -> None:
    assert unit_in(title) == unit
