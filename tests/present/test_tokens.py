"""One visual language: the pages' colours are those of the charts, and can be read."""

import re

import pytest

from rearlog.charts import palette
from rearlog.present.policy import template

LIGHT, DARK = (
    dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", part))
    for part in template("tokens.css").split("@media")
)


def test_the_light_page_has_the_colours_of_the_charts() -> None:
    named = {"ink": palette.INK, "line": palette.HAIRLINE, "mark": palette.PALE}
    named |= {"alarm": palette.ALARM, "card": palette.PAPER}
    assert {name: LIGHT[name] for name in named} == named


def luminance(colour: str) -> float:
    """Relative luminance (W3C, WCAG 2.2, from the sRGB values)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("text", "under"),
    [
        *(
            (text, under)
            for text in ("ink", "muted", "accent", "alarm")
            for under in ("paper", "card")
        ),
        ("ink", "mark"),
        ("on-accent", "accent"),
    ],
)
def test_text_stands_out_from_what_it_is_on(tokens: dict[str, str], text: str, under: str) -> None:
    bright, dim = sorted(map(luminance, (tokens[text], tokens[under])), reverse=True)
    assert (bright + 0.05) / (dim + 0.05) >= 4.5


RULE = re.compile(
    r':is\(\.chart \*, \.mark\)\[(fill|stroke)="(#[0-9a-f]{6})"\] \{ (?:fill|stroke): ([^;]+); \}'
)


def dark(part: str) -> dict[str, str]:
    """What the colours of charts become on a dark page, as fills or as strokes."""
    rules = [found for found in RULE.findall(template("charts.css")) if found[0] == part]
    named = {f"var(--{name})": colour for name, colour in DARK.items()}
    return {light: named.get(shown, shown) for _, light, shown in rules}


def contrast(one: str, other: str) -> float:
    bright, dim = sorted(map(luminance, (one, other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


def test_charts_on_a_dark_page_can_be_read() -> None:
    fills, strokes = dark("fill"), dark("stroke")
    assert fills == strokes
    assert fills[palette.PAPER] == DARK["card"]
    for text in (palette.INK, palette.MUTED, palette.ALARM):
        assert contrast(fills[text], DARK["card"]) >= 4.5
    for mark in palette.COHORTS:
        assert contrast(strokes.get(mark.colour, mark.colour), DARK["card"]) >= 3
    seen = [strokes.get(mark.colour, mark.colour) for mark in palette.COHORTS]
    assert len(set(seen)) == len(seen)


def test_letters_on_the_stages_stay_readable_on_a_dark_page() -> None:
    fills = dark("fill")
    white = 'text[fill="#ffffff"] { fill: #ffffff; }'
    assert white in template("charts.css")
    for colour in palette.stage_colours(
        ["egg", "L1", "L3", "L5", "prepupa", "pupa", "adult"]
    ).values():
        letters = palette.text_on(colour)
        shown = letters if letters == palette.PAPER else fills.get(letters, letters)
        assert contrast(fills.get(colour, colour), shown) >= 4.5
