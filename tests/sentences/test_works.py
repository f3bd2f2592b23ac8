"""Works that are cited stand in one list, and docstrings say of them what that says."""

import re
from pathlib import Path

import pytest

import rearlog
from rearlog.sentences.works import WORKS, Work, works_named

ROOT = Path(rearlog.__file__).parent
ARTICLE = re.compile(
    r"(?:[A-Z][\w’-]+|et al\.) \(?(?P<year>(?:18|19|20)\d\d), "
    r"(?P<where>(?:[A-Z][\w.]+ )(?:[\w.]+ )*?\d+:\d+–\d+)"
)
"""A citation with journal, volume and pages."""


def articles() -> list[tuple[str, str, str]]:
    """Every article that a module names in full: the module, the text up to the journal, where."""
    found = []
    for file in sorted(ROOT.rglob("*.py")):
        if file.name == "works.py":
            continue
        text = " ".join(file.read_text(encoding="utf-8").split())
        for each in ARTICLE.finditer(text):
            before = text[max(0, each.start() - 90) : each.start("where")]
            found.append((str(file.relative_to(ROOT)), before, each["where"]))
    return found


def test_every_article_of_a_docstring_is_in_the_list() -> None:
    told = articles()
    assert len(told) > 60
    unknown = [
        f"{file}: {before[-60:]}{where}"
        for file, before, where in told
        if not any(
            where == f"{work.journal} {work.volume}:{work.pages}" for work in works_named(before)
        )
    ]
    assert unknown == []


def test_every_book_is_somewhere_cited_as_it_stands_in_the_list() -> None:
    """With its title and edition, behind its authors and year."""
    joined = re.compile(r"""["']\s*\n\s*f?["']""")  # a text in two pieces
    texts = [
        " ".join(joined.sub("", file.read_text(encoding="utf-8")).split())
        for file in sorted(ROOT.rglob("*.py"))
        if file.name != "works.py"
    ]
    books = [each for each in WORKS.values() if each.journal is None]
    assert len(books) > 15
    for book in books:
        assert book.title is not None
        edition = {None: "", 2: ", 2nd ed.", 3: ", 3rd ed."}[book.edition]
        title = book.title.split(", vol.")[0] if ", vol." in book.title else book.title + edition
        told = [f"{who} {book.year}, {title}" for who in (book.families[-1], "et al.")]
        assert any(each in text for each in told for text in texts), told


def test_works_are_in_the_order_of_authors_and_years_each_once() -> None:
    works = list(WORKS.values())
    order = [(each.authors[0].casefold(), each.authors[1:2], each.year) for each in works]
    assert [each[0] for each in order] == sorted(each[0] for each in order)
    assert len({each.cited for each in works}) == len(works) > 70
    assert all((each.journal is None) == (each.pages is None) for each in works)
    assert all(each.title for each in works if each.journal is None)


@pytest.mark.parametrize(
    ("text", "cited"),
    [
        ("straight line (Campbell et al. 1974)", ["Campbell et al. 1974"]),
        ("Campbell, Frazer, Gilbert, Gutierrez\n & Mackauer 1974, J.", ["Campbell et al. 1974"]),
        ("Ikemoto and Takai (2000)", ["Ikemoto & Takai 2000"]),
        ("Tukey 1953 and Hartley 1942", ["Hartley 1942"]),
        ("Holm 1979; Welch 1951", ["Holm 1979", "Welch 1951"]),
        ("Fleiss, Cohen & Everitt 1969", ["Fleiss et al. 1969"]),
        ("Somebody & Welch 1951", []),
        ("Somebody and Welch 1951", []),
        ("Welch 19511, Vonwelch 1951, welch 1951", []),
        ("De Gruttola and Lagakos 1989", ["De Gruttola & Lagakos 1989"]),
    ],
)
def test_citations_are_found_in_texts(text: str, cited: list[str]) -> None:
    assert [each.cited for each in works_named(text)] == cited


def test_a_reference_is_written_as_lists_of_references_have_it() -> None:
    assert WORKS["Kaplan & Meier 1958"].reference == (
        "Kaplan, E. L. & Meier, P. 1958. Nonparametric estimation from incomplete observations. "
        "J. Am. Stat. Assoc. 53:457–481."
    )
    assert WORKS["Burnham & Anderson 2002"].reference == (
        "Burnham, K. P. & Anderson, D. R. 2002. Model Selection and Multimodel Inference, 2nd ed."
    )
    assert WORKS["Conover 1999"].reference.endswith("Statistics, 3rd ed.")
    assert WORKS["Dyar 1890"].reference == "Dyar, H. G. 1890. Psyche 5:420–422."
    three = Work(("One, A.", "Two, B.", "Three, C."), 1999, "Title", edition=3)
    assert three.reference == "One, A., Two, B. & Three, C. 1999. Title, 3rd ed."
    assert three.cited == "One et al. 1999"
