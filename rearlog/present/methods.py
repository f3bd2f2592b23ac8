"""What a paragraph of methods rests on, gathered from cohorts, and the works that it cites."""

from __future__ import annotations

import platform
from collections import Counter
from collections.abc import Iterable, Sequence
from importlib.metadata import version

from rearlog import __version__
from rearlog.analysis.stages.look_intervals import look_intervals
from rearlog.analysis.stages.stage_heat import coverage
from rearlog.notebook import Notebook, compare, compare_reproduction, thermal
from rearlog.present.contents import one_species
from rearlog.present.latex import bibtex_entry, escaped
from rearlog.records.profile import Source
from rearlog.sentences.methods import StudiedCohort, Study
from rearlog.sentences.works import Work, works_named


def study(notebooks: Sequence[Notebook]) -> Study:
    """What was done with these cohorts: compared where there are several, and their thresholds
    where they are of one species.

    Raises UsageError for a cohort that is given twice.
    """
    several = len(notebooks) > 1
    laying = [each for each in notebooks if each.has_life_table]
    compared = compare_reproduction(laying) if len(laying) > 1 else None
    alone = tuple(each.reproduction() for each in laying) if compared is None else ()
    return Study(
        tuple(map(_studied, notebooks)),
        compare(notebooks) if several else None,
        thermal(notebooks) if several and one_species(notebooks) else None,
        alone if compared is None else compared.cohorts,
        compared,
        {
            "rearlog": __version__,
            "Python": platform.python_version(),
            **{name: version(name) for name in ("numpy", "scipy")},
        },
    )


def _studied(notebook: Notebook) -> StudiedCohort:
    log, curve = notebook.log, notebook.heat_curve
    known = coverage(notebook.daily_temperatures)
    return StudiedCohort(
        name=notebook.name,
        species=log.cohort.species.scientific_name,
        entered=dict(Counter(each.stage for each in log.individuals)),
        invented=log.cohort.invented,
        looks=look_intervals(log),
        celsius=notebook.celsius,
        kept=notebook.daily_temperatures.kept,
        heat=None if curve is None else curve.settings,
        threshold=None if curve is None else _source(notebook),
        filled=known.filled,
        unknown=known.missing,
        settled=len({each.individual for each in notebook.in_doubt}),
        means=any(each.mean is not None for each in notebook.durations().stages),
        survival=notebook.survival(),
        growth=notebook.growth(),
    )


def _source(notebook: Notebook) -> Source | None:
    """Where the lower threshold of the profile comes from."""
    species = notebook.log.cohort.species
    return None if species.lower is None else species.sources[species.lower.source]


def published_thresholds(found: Study) -> tuple[Source, ...]:
    """The published sources of the thresholds above which degree-days were counted, each once;
    without those that name a work of WORKS."""
    used = [each.threshold for each in found.cohorts if each.threshold]
    sources = dict.fromkeys(each for each in used if each.kind == "published")
    return tuple(each for each in sources if not works_named(each.citation))


def bibtex(works: Iterable[Work], thresholds: Iterable[Source] = ()) -> str:
    """Works as entries of BibTeX, a key each such as KaplanMeier1958; what is not known is left
    out. Sources of thresholds are notes as their profiles have them: Threshold1."""
    noted = [
        bibtex_entry("misc", f"Threshold{number}", {"note": escaped(each.citation)})
        for number, each in enumerate(thresholds, 1)
    ]
    return "\n".join([*map(_entry, works), *noted])


def _entry(work: Work) -> str:
    fields = {
        "author": " and ".join(map(escaped, work.authors)),
        "year": str(work.year),
        # within double braces capitals stay as they are
        "title": None if work.title is None else f"{{{escaped(work.title)}}}",
        "journal": None if work.journal is None else escaped(work.journal),
        "volume": work.volume,
        "pages": None if work.pages is None else escaped(work.pages),
        "edition": None if work.edition is None else str(work.edition),
    }
    return bibtex_entry("book" if work.journal is None else "article", key(work), fields)


def key(work: Work) -> str:
    """By what a text of LaTeX cites a work: plain letters, and the year."""
    import unicodedata  # start-up time: only for a bibliography

    plain = unicodedata.normalize("NFKD", work.cited.replace(" et al.", "EtAl"))
    return "".join(each for each in plain if each.isascii() and each.isalnum())
