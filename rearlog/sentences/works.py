"""The works that the methods come from, each once: what a docstring names, and a paper cites.

`works.txt` has them, a line each. Titles, journals, volumes and pages were compared with reference
lists of public code; a title that was not found there is left out. Journals are abbreviated as
everywhere in this project.
"""

from __future__ import annotations

import re
from functools import cache
from importlib import resources

from msgspec import Struct

MOST_AUTHORS = 2
"""Of more authors than this a citation names the first alone."""


class Work(Struct, frozen=True):
    """A published work: an article in a `journal`, or a book where that is None.

    `authors` are written “Family, I. N.”. `title` is None where it is not verified.
    """

    authors: tuple[str, ...]
    year: int
    title: str | None
    journal: str | None = None
    volume: str | None = None
    pages: str | None = None
    edition: int | None = None

    @property
    def families(self) -> tuple[str, ...]:
        """The family names of the authors."""
        return tuple(each.split(", ")[0] for each in self.authors)

    @property
    def cited(self) -> str:
        """How it is cited: Holm 1979, Kaplan & Meier 1958, Campbell et al. 1974."""
        families = self.families
        if len(families) > MOST_AUTHORS:
            return f"{families[0]} et al. {self.year}"
        return f"{' & '.join(families)} {self.year}"

    @property
    def reference(self) -> str:
        """The work in full, as a list of references has it."""
        told = [*self.authors[:-2], " & ".join(self.authors[-2:])]
        edition = f", {_ORDINALS[self.edition]} ed." if self.edition else ""
        parts = [f"{', '.join(told)} {self.year}"]
        parts += [f"{self.title}{edition}".rstrip(".")] if self.title else []
        if self.journal is not None:
            parts.append(f"{self.journal} {self.volume}:{self.pages}")
        return f"{'. '.join(parts)}."


_ORDINALS = {2: "2nd", 3: "3rd"}
_EDITIONS = {f"{word} ed.": number for number, word in _ORDINALS.items()}


def _work(line: str) -> Work:
    """A line of the list: authors, year, title (– where it is not verified), and journal, volume
    and pages as in “Biometrika 34:28–35”, or for a book “book” or its edition, “2nd ed.”."""
    authors, year, title, where = line.split(" | ")
    article = re.fullmatch(r"(.+) (\d+):(.+)", where)
    journal, volume, pages = article.groups() if article else (None, None, None)
    verified = None if title == "–" else title
    edition = _EDITIONS.get(where)
    return Work(tuple(authors.split("; ")), int(year), verified, journal, volume, pages, edition)


_LINES = (resources.files("rearlog.sentences") / "works.txt").read_text(encoding="utf-8")

WORKS = {work.cited: work for work in map(_work, _LINES.splitlines())}
"""All works by how they are cited, in the order of their authors."""


def works_named(text: str) -> tuple[Work, ...]:
    """The works that a text cites, in the order of WORKS.

    With `&` or `and`, all authors named or the first alone (`et al.`), the year in brackets or not.
    """
    told = " ".join(text.split())
    return tuple(work for work in WORKS.values() if _citation(work).search(told))


@cache
def _citation(work: Work) -> re.Pattern[str]:
    *others, last = map(re.escape, work.families)
    every = "".join(f"{each},? +" for each in others) + (f"(?:&|and) +{last}" if others else last)
    short = f"|{others[0]} +et +al\\." if len(work.families) > MOST_AUTHORS else ""
    return re.compile(
        rf"(?<!\D & )(?<!\D and )(?<![\w-])(?:{every}{short}),? +\(?{work.year}(?!\d)"
    )
