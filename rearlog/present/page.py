"""The self-contained page: results in, one HTML text out. Nothing is computed here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, partial
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.pooling.random_effects import SiteEffects
from rearlog.charts.fonts import embedded
from rearlog.charts.output import on_page
from rearlog.charts.style import LOOKS, PAGE, Style
from rearlog.present.agreement import agreement_tables
from rearlog.present.answers import (
    durations_tables,
    growth_tables,
    heat_tables,
    individuals_table,
    stage_count_tables,
    survival_tables,
)
from rearlog.present.between import comparison_tables, thermal_tables
from rearlog.present.contents import MOST_OPEN, CohortResults, Contents
from rearlog.present.everyone import everyone
from rearlog.present.forecast import forecast_tables
from rearlog.present.framing import Framing
from rearlog.present.glossary import GLOSSARY
from rearlog.present.pictures import ChartOnPage, beside, painter
from rearlog.present.plainly import codes, plainly
from rearlog.present.policy import environment, guarded
from rearlog.present.season import pooled_tables
from rearlog.present.tables import Table
from rearlog.processes import each_of
from rearlog.records.cautions import CAUTIONS
from rearlog.records.command_text import in_browser
from rearlog.sentences import agreement as agreement_words
from rearlog.sentences import compare as comparison_words
from rearlog.sentences import completeness as completeness_words
from rearlog.sentences import durations as durations_words
from rearlog.sentences import forecast as forecast_words
from rearlog.sentences import growth as growth_words
from rearlog.sentences import heat_mortality as mortality_words
from rearlog.sentences import in_doubt as doubt_words
from rearlog.sentences import progress as progress_words
from rearlog.sentences import reproduction as reproduction_words
from rearlog.sentences import season as season_words
from rearlog.sentences import stage_comparison as stage_words
from rearlog.sentences import stage_counts as stage_counts_words
from rearlog.sentences import stage_heat as stage_heat_words
from rearlog.sentences import survival as survival_words
from rearlog.sentences import survival_difference as survival_difference_words
from rearlog.sentences import thermal as thermal_words
from rearlog.sentences.phrases import cohorts_in_a_row

if TYPE_CHECKING:
    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.pooling.season import Season
    from rearlog.analysis.stages.stage_counts import StageCounts


ALT_TEXTS: dict[str, Callable[[Any], str]] = {
    "progress": progress_words.alt_text,
    "stages": stage_counts_words.alt_text,
    "durations": durations_words.alt_text,
    "heat": stage_heat_words.alt_text,
    "survival": survival_words.alt_text,
    "growth": growth_words.alt_text,
    "reproduction": reproduction_words.alt_text,
    "forecast": forecast_words.alt_text,
    "agreement": agreement_words.alt_text,
    "pace": comparison_words.alt_text,
    "rate": thermal_words.alt_text,
    "mortality": mortality_words.alt_text,
    "means": season_words.means_alt,
    "funnel": season_words.funnel_alt,
}
"""What stands for each chart where it cannot be seen."""

CHARTS = {kind: (painter(kind), alt_text) for kind, alt_text in ALT_TEXTS.items()}
"""How each chart is drawn, and that text."""

PHONE = LOOKS["phone"]
FIRST = replace(PAGE, width_in=11.3, height_in=5.8, tallest_in=5.8, text_pt=10.0, least_pt=8.0)
FIRST_ON_PHONE = replace(PHONE, height_in=5.0, tallest_in=5.0)
"""The looks of the first picture, which is to be seen at once."""

USUAL = Framing()

OF = 'data-of="'
"""Which individual a part of a picture belongs to."""

MOST_DOUBTS = 20
"""How many doubts are listed; the others are counted."""

_PARTS = (["tokens.css", "page.css", "charts.css"], ["page.js"], embedded())
"""The styles and the scripts of the page, and the letters of its charts."""

ONE_RESULT = ("rate", "mortality", "pace", "means", "funnel")
"""Charts that take one result for all cohorts; the others take a list."""


class Section(Struct, frozen=True):
    """A heading with what it comes to, pictures, the rest of the words, the numbers that have no
    picture, and tables with a row an individual."""

    key: str
    title: str
    lead: Sequence[str] = ()
    words: Sequence[str] = ()
    pictures: Sequence[ChartOnPage] = ()
    numbers: Sequence[Table] = ()
    tables: Sequence[Table] = ()


class Drawn(Struct, frozen=True):
    """All that a page shows of some cohorts, whoever reads it."""

    contents: Contents
    first: ChartOnPage
    season: Sequence[Section]
    between: Sequence[Section]
    cohorts: Sequence[tuple[CohortResults, Sequence[Section]]]


def page(contents: Contents, framing: Framing = USUAL) -> str:
    """The page as HTML text. It needs no network and nothing beside it.

    Raises UsageError for words of one's own that are too long.
    """
    return told(drawn(contents), framing)


def drawn(contents: Contents) -> Drawn:
    """The pictures and the tables of a page, which take nearly all of its time: those of many
    cohorts are made on all processors."""
    every = contents.cohorts
    of_each = partial(cohort_sections, small=contents.many)
    parts: list[Callable[[], Any]] = [
        partial(first_picture, contents),
        partial(season_sections, contents),
        partial(between_sections, contents),
        *(partial(of_each, each, number) for number, each in enumerate(every)),
    ]
    first, season, between, *sections = each_of(_made, parts, fewest=MOST_OPEN + 4)
    return Drawn(contents, first, season, between, list(zip(every, sections, strict=True)))


def _made(part: Callable[[], Any]) -> Any:
    return part()


def told(drawn: Drawn, framing: Framing = USUAL, *, in_browser: bool = False) -> str:
    """The page for some readers, made `in_browser` or by a command; raises UsageError for words of
    one's own that are too long."""
    contents = drawn.contents
    return (
        environment(in_browser=in_browser)
        .get_template("page.html.j2")
        .render(
            contents=contents,
            title=framing.title or names_of(contents),
            readers=framing.readers,
            words=own_words(framing.words),
            everyone=everyone(contents),
            first=drawn.first,
            invented=any(each.cohort.invented for each in contents.cohorts),
            plainly=plainly(contents),
            codes=codes(contents),
            season=drawn.season,
            between=drawn.between,
            cohorts=drawn.cohorts,
            sources=sources(contents),
            tests=comparison_words.made_tests(contents.comparison) if contents.comparison else "",
            glossary=GLOSSARY.items(),
            cautions=CAUTIONS,
            **_guards(),
        )
    )


def own_words(text: str) -> Markup:
    """Words of one's own as HTML."""
    if not text.strip():
        return Markup("")
    from rearlog.present.own_words import as_html  # start-up time: few pages have any

    return as_html(text)


def names_of(contents: Contents) -> str:
    """The title of a page that was given none."""
    return cohorts_in_a_row([each.cohort.name for each in contents.cohorts])


def first_picture(contents: Contents) -> ChartOnPage:
    """Everyone in one picture, low enough to be seen at once beneath title and sentence; of many
    cohorts their means or those of their sites, which is higher where the sites are not told."""
    every = contents.cohorts
    invented = any(each.cohort.invented for each in every)
    picture = _painter("f-", invented, FIRST, FIRST_ON_PHONE)
    if contents.season is not None:
        whole = contents.season.species[0].whole
        at_sites = whole is not None and isinstance(whole.best, SiteEffects)
        paint = picture if at_sites else _painter("f-", invented)
        return paint("means", contents.season, [])
    return picture("progress", [each.progress for each in every], [], brief=True)


def policy() -> str:
    """The Content-Security-Policy that stands in every such page."""
    return str(_guards()["policy"])


@cache
def _guards() -> dict[str, Markup]:
    """Style, script and policy: the same in every page, and large with the letters in them."""
    return guarded(*_PARTS)


def season_sections(contents: Contents) -> list[Section]:
    """What the page shows of many cohorts as one: who lived, how long it took, who stands out."""
    if contents.season is None:
        return []
    season = contents.season
    kinds = [replace(season, species=(each,)) for each in season.species]
    words = [*map(in_browser, season_words.words(season))]
    if not any(each.stand_out for each in season.species):
        words.append(season_words.NONE_STANDS_OUT)
    return [
        Section("lived", "Who lived", pictures=_of_kinds("funnel", "s", kinds, season.invented)),
        Section(
            "together",
            "How long it took, and who stands out",
            words,
            pictures=_of_kinds("means", "m", kinds[1:], season.invented),
            numbers=pooled_tables(season),
        ),
    ]


def _of_kinds(
    kind: str, prefix: str, seasons: Sequence[Season], invented: bool
) -> list[ChartOnPage]:
    """A chart for each species."""
    return [
        _painter(f"{prefix}{number}-", invented)(kind, each, [])
        for number, each in enumerate(seasons)
    ]


def cohort_sections(results: CohortResults, number: int, *, small: bool) -> list[Section]:
    """What the page shows of one cohort, by its number on the page; as `small`, the pictures for
    phones alone, and of the stages of a day and of heat the numbers alone."""
    name, invented = results.cohort.name, results.cohort.invented
    stage_counts = [results.stage_counts]
    picture = _painter(
        f"{number}-", invented, number=number, stage_counts=stage_counts, small=small
    )
    counts = stage_count_tables(results.stage_counts)
    sections = [
        Section(
            "progress",
            "Everyone, day by day",
            pictures=[
                picture("progress", results.progress, []),
                *([] if small else [picture("stages", results.stage_counts, counts)]),
            ],
            numbers=counts if small else [],
            tables=individuals_table(results.durations),
        ),
        _answered(
            "How long the stages took",
            durations_words,
            results.durations,
            picture("durations", results.durations, durations_tables(results.durations)),
        ),
    ]
    if results.heat is not None:
        tables = heat_tables(results.heat, daily=True)
        charts = [] if small else [picture("heat", results.heat, tables)]
        lead = [stage_heat_words.lead(results.heat)]
        numbers = tables if small else []
        sections.append(Section("heat", "The heat they had", lead, [], charts, numbers))
    if results.forecast is not None:
        tables = forecast_tables(results.forecast)
        chart = picture("forecast", results.forecast, tables)
        noticed = [each + "." for each in forecast_words.notices(results.forecast)]
        lead = [forecast_words.lead(results.forecast), *noticed]
        words: Sequence[str] = forecast_words.words(results.forecast)
        sections.append(Section("forecast", "When the adults should come", lead, words, [chart]))
    chart = picture("survival", results.survival, survival_tables(results.survival))
    sections.append(_answered("Who lived", survival_words, results.survival, chart))
    if results.growth.series:
        chart = picture("growth", results.growth, growth_tables(results.growth))
        sections.append(_answered("How they grew", growth_words, results.growth, chart))
    if results.agreement.pairs:
        tables = agreement_tables(results.agreement)
        chart = picture("agreement", results.agreement, tables)
        title = "Whether those who look agree"
        sections.append(_answered(title, agreement_words, results.agreement, chart))
    if results.in_doubt:
        lead = [doubt_words.words(each) + "." for each in results.in_doubt[:MOST_DOUBTS]]
        if (more := len(results.in_doubt) - MOST_DOUBTS) > 0:
            lead.append(doubt_words.others(more, name) + ".")
        sections.append(Section("doubt", "What is in doubt", lead))
    sections.append(
        Section(
            "quality", "How complete the log is", completeness_words.words(results.completeness)
        )
    )
    return sections


def _answered(title: str, say: Any, result: Any, chart: ChartOnPage) -> Section:
    """An answer with its chart; `say` is the module of its sentences."""
    return Section(chart.kind, title, [say.lead(result)], say.words(result), [chart])


def between_sections(contents: Contents) -> list[Section]:
    """What the page shows of several cohorts side by side."""
    if contents.comparison is None:
        return []
    every = contents.cohorts
    invented = any(each.cohort.invented for each in every)
    picture = _painter("b-", invented, compared=contents.comparison)
    comparison = comparison_tables(contents.comparison)
    sections = [
        Section(
            "compared",
            "Side by side",
            [
                comparison_words.lead(contents.comparison),
                survival_difference_words.lead(contents.comparison.survival),
            ],
            [
                *map(stage_words.words, contents.comparison.whole),
                survival_difference_words.words(contents.comparison.survival),
            ],
            [
                *(
                    []
                    if contents.many
                    else [picture("durations", [e.durations for e in every], comparison)]
                ),
                picture("pace", contents.comparison, comparison if contents.many else []),
                picture("survival", [each.survival for each in every], []),
            ],
        )
    ]
    if contents.thermal is not None:
        tables = thermal_tables(contents.thermal)
        chart = picture("rate", contents.thermal, tables)
        shown = contents.thermal.shown()
        words = [f"{shown.stage}: {' '.join(thermal_words.words(shown))}"] if shown else []
        lead = [thermal_words.lead(contents.thermal)]
        sections.append(Section("thermal", "Temperature and pace", lead, words, [chart]))
    return sections


def _painter(
    prefix: str,
    invented: bool,
    wide: Style = PAGE,
    narrow: Style = PHONE,
    number: int = 0,
    stage_counts: Sequence[StageCounts] = (),
    compared: Comparison | None = None,
    *,
    small: bool = False,
) -> Callable[..., ChartOnPage]:
    """Draws charts, `small` ones for phones alone; the prefix keeps the names inside each picture
    its own.

    Charts call cohorts by their places in them: of those of a single cohort that is its `number`.
    """

    def paint(kind: str, result: Any, tables: Sequence[Table], **how: Any) -> ChartOnPage:
        draw, alt_text = CHARTS[kind]
        results = result if isinstance(result, list) or kind in ONE_RESULT else [result]
        more = how | beside(kind, lambda: stage_counts, lambda: compared)

        def drawn(look: Style, which: str) -> Markup:
            figure = draw(results, look=look, invented=invented, **more)
            svg = on_page(figure, f"{prefix}{kind[:2]}{which}")
            return Markup(svg.replace(f"{OF}0/", f"{OF}{number}/") if number else svg)

        large = None if small else drawn(wide, "w")
        return ChartOnPage(kind, large, drawn(narrow, "n"), alt_text(results), tables)

    return paint


def sources(contents: Contents) -> list[str]:
    """Where the profile values come from, each once."""
    lines = {
        f"{source.citation} ({source.kind})": None
        for each in contents.cohorts
        for source in each.cohort.species.sources.values()
    }
    return list(lines)
