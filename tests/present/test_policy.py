"""What templates become, before a page is made of them."""

from datetime import date

import pytest
from jinja2 import UndefinedError

from rearlog.present.policy import environment, guarded, inert_json


def test_a_line_with_a_tag_alone_leaves_nothing_on_the_page() -> None:
    made = environment().from_string("<p>\n  {% if a %}\n{{ a }}\n  {% endif %}\n</p>")
    assert made.render(a="<b>") == "<p>\n&lt;b&gt;\n</p>"
    with pytest.raises(UndefinedError):
        made.render()


def test_letters_inside_of_a_style_are_let_in_where_there_are_some() -> None:
    bare, lettered = (guarded(["page.css"], ["page.js"], each) for each in ("", "@font-face {}"))
    assert "font-src" not in bare["policy"]
    assert "; font-src data:; base-uri 'none'; " in lettered["policy"]
    assert lettered["style"] == "@font-face {}" + bare["style"]


def test_data_cannot_end_the_element_that_they_stand_in() -> None:
    day = date(2026, 3, 9)
    assert inert_json({"a": "</script>", "day": day}) == (
        r'{"a": "\u003c/script>", "day": "2026-03-09"}'
    )
