"""Text for LaTeX."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.present.latex import escaped, needs_unicode
from tests.present.latex_reader import set_by_latex


@pytest.mark.parametrize(
    ("text", "latex"),
    [
        ('say "x"', r"say \symbol{34}x\symbol{34}"),
        ("5 % of a_b & #3", r"5 \% of a\_b \& \#3"),
        ("5 ± 0.2 × 3 °C", r"5 $\pm$ 0.2 $\times$ 3 $^{\circ}$C"),
        ("−0.3", "$-$0.3"),
        ("2.4–4.6", "2.4--4.6"),
        ("a--b---c", "a-{-}b-{-}{-}c"),
        ("[x] [y]", "{[}x] [y]"),
        ("*x*", "{*}x*"),
        ("‘Student’s’ “t”", "`Student's' ``t''"),
        ("\\end{table}", r"\textbackslash{}end\{table\}"),
        (" a\n\tb\x00 ", "a b"),
        ("N’s – χ² λ …", r"N's -- $\chi$$^{2}$ $\lambda$ \ldots{}"),
    ],
)
def test_signs_are_written_so_that_they_are_set(text: str, latex: str) -> None:
    assert escaped(text) == latex


TYPED = "".join(map(chr, range(32, 127))) + "éßł±×·°†‡§¶…"


@given(st.text(TYPED))
def test_what_was_typed_is_what_is_set(text: str) -> None:
    assert set_by_latex(escaped(text)) == " ".join(text.split())


@given(st.text())
def test_nothing_closes_what_it_did_not_open(text: str) -> None:
    found = escaped(text)
    assert found.count("{") - found.count(r"\{") == found.count("}") - found.count(r"\}")
    assert all(each.isprintable() for each in found)


def test_letters_beyond_the_usual_fonts_are_noticed() -> None:
    assert not needs_unicode("é ß ſ")
    assert needs_unicode("ƀ")
    assert needs_unicode("蛾")
