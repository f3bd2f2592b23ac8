"""The page as HTML: golden numbers in its tables, and which results stand where."""

import re
from collections.abc import Callable, Sequence
from datetime import timedelta
from functools import partial
from html.parser import HTMLParser
from typing import Any

import pytest
from matplotlib.figure import Figure
from msgspec.structs import replace
from scipy.stats import ttest_ind

from rearlog import processes
from rearlog.analysis.pooling.season import season
from rearlog.charts.style import PAGE, Style
from rearlog.notebook import Notebook
from rearlog.present import contents as contents_module
from rearlog.present import page as pages
from rearlog.present.contents import contents
from rearlog.present.framing import Framing, Readers
from rearlog.records.log import ConstantTemperature
from rearlog.records.profile import Profile
from rearlog.sentences import in_doubt as in_doubt_words
from rearlog.sentences import season as season_words
from tests.builders import START, notebook_of, small_profile, tiny_log
from tests.made_summaries import stage, summary

# L1 took 2, 3, 4 and 5 days of those who were seen passing, in a cohort kept at 20 °C: ten
# degree-days a day. The other cohort took twice as long at 15 °C.
WARM = {str(n): "egg L1! " + "L1 " * (n - 1) + "L2! pupa adult" for n in (2, 3, 4, 5)}
COOL = {
    str(n): "egg egg L1! " + "L1 " * (2 * n - 1) + "L2! L2 pupa pupa adult" for n in (2, 3, 4, 5)
}


def notebook(
    name: str, lives: dict[str, str], celsius: float, profile: Profile | None = None
) -> Notebook:
    kept = ConstantTemperature(celsius, START.date() - timedelta(days=1))
    profile = profile or small_profile(heat={"L1": 30.0})
    log = tiny_log(lives, profile=profile, laid=(-1, 0), temperatures=(kept,), name=name)
    made = notebook_of(log)
    return made


class Tables(HTMLParser):
    """The rows of all tables on a page, and the texts of its headings."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.headings: list[str] = []
        self._in: str | None = None
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._in = "cell"
        elif tag in ("h1", "h2", "h3"):
            self.headings.append("")
            self._in = "heading"

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th", "h1", "h2", "h3"):
            self._in = None

    def handle_data(self, data: str) -> None:
        if self._in == "cell":
            self.rows[-1][-1] += data.strip()
        elif self._in == "heading":
            self.headings[-1] += data.strip()

    def starting(self, first: str) -> list[str]:
        """The rows whose first cell is this, the cells after it parted by spaces."""
        return [" ".join(rest) for cell, *rest in filter(None, self.rows) if cell == first]


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, list[str]]]:
    """Which charts are asked for, and of which cohorts; blank ones are quick to draw."""
    asked: list[tuple[str, list[str]]] = []

    def blank(kind: str) -> Callable[..., Figure]:
        def draw(result: Any, look: Style, **_: object) -> Figure:
            many: Sequence[Any] = result if isinstance(result, list) else [result]
            names = [
                getattr(each, "cohort", None)
                or ", ".join(getattr(one, "name", one) for one in each.cohorts)
                for each in many
            ]
            if not look.narrow:  # each is drawn for a phone too
                asked.append((kind, names))
            return Figure(figsize=(1, 1))

        return draw

    charts = {kind: (blank(kind), alt) for kind, (_, alt) in pages.CHARTS.items()}
    monkeypatch.setattr(pages, "CHARTS", charts)
    return asked


def test_the_numbers_of_one_cohort(drawn: list[tuple[str, list[str]]]) -> None:
    told = Tables(pages.page(contents([notebook("warm", WARM, 20.0)])))
    assert told.headings[0].startswith("warm")
    days = told.starting("L1")
    # n, mean, SE 1.29/√4, SD √(5/3), median, range, ±, 30 ± 1.96 × 3 degree-days, outside of it
    assert "4 3.50 0.65 1.29 3.50 2.0–5.0 0.0 2.4–3.6 3" in days
    assert "2.0–2.0 3.0–3.0 4.0–4.0 –" in days
    assert "4 35.00 12.91 6.45 20.0–50.0 24.1–35.9" in days
    # nobody died: Wilson's upper limit of 0 in 4 is 0.49 (published)
    assert "4 0 0 0 0 4" in days
    assert "0.00 0.00–0.49 0.00 0.00–0.29" in days  # −log10(1 − 0.49) = 0.29
    assert "L1 2.00 2.0–2.0 completed 20.00 2.4–3.6 shorter" in told.starting("2")
    assert "10.00 10.00" in [row.removesuffix(" ").strip() for row in told.starting("2026-03-08")]
    assert [kind for kind, _ in drawn] == [
        "progress",
        *("progress", "stages", "durations", "heat", "survival"),
    ]
    assert {name for _, names in drawn for name in names} == {"warm"}


def test_cohorts_side_by_side(drawn: list[tuple[str, list[str]]]) -> None:
    both = [notebook("warm", WARM, 20.0), notebook("cool", COOL, 15.0)]
    text = pages.page(contents(both))
    told = Tables(text)
    p = f"{ttest_ind([2, 3, 4, 5], [4, 6, 8, 10], equal_var=False).pvalue:.3f}"
    warm, cool = (
        [row for row in told.rows if row[1:3] == [name, "4"]] for name in ("warm", "cool")
    )
    assert ["L1", "warm", "4", "3.50", "0.65", "1.29", "3.50", p, "Welch"] in warm
    assert ["", "cool", "4", "7.00", "1.29", "2.58", "7.00", "", ""] in cool
    # 35 degree-days at either temperature, at 10 and at 5 a day
    assert ["L1", "warm", "4", "35.00", "6.45", "12.91", "35.00"] in [row[:7] for row in warm]
    assert ["", "cool", "4", "35.00", "6.45", "12.91", "35.00", "", ""] in cool
    # the line through 1/3.5 at 20 °C and 1/7 at 15 °C meets 0 at 10 °C
    assert any(row.startswith("10.00 – 35.00 – ") for row in told.starting("L1"))
    rates = [row for row in told.rows if row[0] == "L1" and row[2:4] == ["20.00", "3.50"]]
    assert [row[4:7] for row in rates] == [["0.65", "0.2857", "+0.0000"]]
    between = [(kind, names) for kind, names in drawn if len(names) > 1 or ", " in names[0]]
    assert between == [
        ("progress", ["warm", "cool"]),
        ("durations", ["warm", "cool"]),
        ("pace", ["warm, cool"]),
        ("survival", ["warm", "cool"]),
        ("rate", ["warm, cool"]),
    ]
    assert "Temperature and pace" in told.headings
    assert text.index("Side by side") < text.index("Everyone, day by day")


def folded(text: str) -> list[bool]:
    """Whether what can be folded is, in the order of the page."""
    return ["open" not in each for each in re.findall(r"<details[^>]*>", text)]


def test_one_sentence_and_one_picture_come_first(drawn: list[tuple[str, list[str]]]) -> None:
    told = Framing(title="Our <class>", words="We *liked* it.", readers=Readers.PARENTS)
    text = pages.page(contents([notebook("warm", WARM, 20.0), notebook("cool", COOL, 15.0)]), told)
    assert drawn[0] == ("progress", ["warm", "cool"])
    order = ["<h1>Our &lt;class&gt;", "All 8 became adults", 'class="picture progress"',
             "We <em>liked</em> it.", "What became of them", "The stages", 'class="curious"',
             "Kaplan"]  # fmt: skip
    places = [text.index(each) for each in order]
    assert places == sorted(places)
    before = re.sub(r"<[^>]*>", " ", text[text.index("<h1>") : text.index("<svg")])
    assert len(re.findall(r"[0-9]+", before)) <= 4  # 8, two days and a year


def test_each_individual_can_be_chosen_and_has_its_life_beside_it(
    drawn: list[tuple[str, list[str]]],
) -> None:
    text = pages.page(contents([notebook("warm", WARM, 20.0), notebook("cool", COOL, 15.0)]))
    chosen = re.findall(r'<option value="([^"]+)" data-life="([^"]*)">([^<]*)', text)
    assert [value for value, _, _ in chosen] == [f"{n}/{code}" for n in (0, 1) for code in WARM]
    assert chosen[4][1:] == ("2 in cool: egg, L1 by 11 Mar, L2 by 15 Mar, pupa by 17 Mar, "
                             "adult by 19 Mar, alive on 19 Mar.", "2")  # fmt: skip


def test_parts_of_individuals_are_called_as_they_are_on_the_whole_page() -> None:
    cool = notebook("cool", COOL, 15.0)
    found = pages.drawn(contents([notebook("warm", WARM, 20.0), cool]))
    rows = {each for picture in (found.first.wide or "", found.first.narrow)
            for each in re.findall('data-of="([^"]*)"', picture)}  # fmt: skip
    assert rows == {f"{n}/{code}" for n in (0, 1) for code in WARM}
    (progress, *_) = found.cohorts[1][1][0].pictures
    assert set(re.findall('data-of="([^"]*)"', progress.wide or "")) == {
        f"1/{code}" for code in COOL
    }


def test_the_readers_decide_what_stands_open(drawn: list[tuple[str, list[str]]]) -> None:
    found = pages.drawn(contents([notebook("warm", WARM, 20.0), notebook("cool", COOL, 15.0)]))
    parents, a_class, lab = (folded(pages.told(found, Framing(readers=each))) for each in Readers)
    assert all(parents)
    assert a_class == [False, *parents[1:]]
    assert not any(lab)
    assert len(parents) == len(lab) > 10
    assert pages.told(found) == pages.told(found, Framing(readers=Readers.CLASS))


def test_a_page_has_its_style_and_its_script_each_in_its_place(
    drawn: list[tuple[str, list[str]]],
) -> None:
    text = pages.page(contents([notebook("warm", WARM, 20.0)]))
    (style,) = re.findall(r"<style[^>]*>(.*?)</style>", text, re.S)
    (script,) = re.findall(r"<script[^>]*>(.*?)</script>", text, re.S)
    assert "addEventListener" in script
    assert "addEventListener" not in style
    assert "font-size" in style


def eleven() -> list[Notebook]:
    return [notebook(f"c{place}", WARM, 20.0) for place in range(11)]


def test_of_many_cohorts_what_holds_for_all_stands_open_and_each_is_folded(
    drawn: list[tuple[str, list[str]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(processes, "processors", lambda: 1)
    text = pages.page(contents(eleven()))
    # large pictures: of all together, and side by side; none of one cohort, nor of each stage
    assert [kind for kind, names in drawn] == ["means", "funnel", "pace", "survival", "rate"]
    assert text.count('class="wide"') == 5
    assert text.count('<details class="folded"><summary><h2 id="cohort-') == 11
    assert text.count('class="picture stages') == text.count('class="picture heat') == 0
    assert len(re.findall('class="picture progress small"', text)) == 11
    assert "Of each of the 11 cohorts" in text
    assert "Of the 4 animals in c3" not in text
    assert text.index("Side by side") < text.index('id="cohort-1"')
    told = Tables(text)
    assert len([row for row in told.starting("2026-03-08") if row.startswith("10.00")]) == 11
    lab = pages.page(contents(eleven()), Framing(readers=Readers.LAB))
    assert not any(folded(lab))


def test_ten_cohorts_are_shown_as_two_are(drawn: list[tuple[str, list[str]]]) -> None:
    text = pages.page(contents(eleven()[:10]))
    assert 'class="folded"' not in text
    assert [kind for kind, names in drawn].count("heat") == 10


def test_other_processes_draw_the_same_and_call_individuals_by_their_cohort() -> None:
    found = contents(eleven()[:2])
    parts = [
        partial(pages.cohort_sections, each, number, small=True)
        for number, each in enumerate(found.cohorts)
    ]
    made = list(processes.each_of(pages._made, parts, fewest=2, jobs=2))
    assert made[1] == parts[1]()
    (progress, *_) = made[1][0].pictures
    assert progress.wide is None
    assert set(re.findall('data-of="([^"]*)"', progress.narrow)) == {f"1/{code}" for code in WARM}


def test_a_page_of_many_opens_with_what_they_say_together(
    drawn: list[tuple[str, list[str]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sentence, the means, the funnel, the tables; then what became of all, and each cohort."""
    monkeypatch.setattr(processes, "processors", lambda: 1)
    found = contents(eleven())
    page = pages.drawn(found)
    text = pages.told(page)
    assert found.season is not None
    (lead,) = season_words.leads(found.season)
    assert lead == (
        "Moth test, 11 cohorts, 20.0 °C: it took 6.5 days from egg to adult on average "
        "(6.1 to 6.9 are possible) and 100 % of 44 came to adulthood."
    )
    order = [f'<p class="lead">{lead}</p>', 'class="picture means"', "All cohorts together",
             'class="picture funnel"', season_words.NONE_STANDS_OUT,
             "Days of those that came through, over all cohorts", "How far cohorts differ (days)",
             "What became of them", "<p>All 44 became adults, ", 'id="cohort-1"']  # fmt: skip
    places = [text.index(each) for each in order]
    assert places == sorted(places)
    assert page.first.alt.startswith(
        "Mean days, with where another cohort is expected. From egg to adult it took 6.5 days "
        "(6.1 to 6.9 are possible), one cohort "
    )
    few = pages.page(contents(eleven()[:3]))
    assert "All cohorts together" not in few
    assert '<p class="lead">All 12 became adults, ' in few
    assert text.count("became adults, ") == few.count("became adults, ") == 1
    assert [kind for kind, names in drawn].count("means") == 1


def test_of_many_of_several_species_each_has_its_sentence_and_its_charts(
    drawn: list[tuple[str, list[str]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(processes, "processors", lambda: 1)
    monkeypatch.setattr(contents_module, "MOST_OPEN", 4)
    other = replace(small_profile(heat={"L1": 30.0}), id="other", scientific_name="Alter mothus")
    alike = [notebook(f"a{place}", WARM, 20.0) for place in range(3)]
    apart = [notebook(f"b{place}", COOL, 15.0, other) for place in range(2)]
    found = contents([*alike, *apart])
    page = pages.drawn(found)
    text = pages.told(page)
    (lead,) = re.findall('<p class="lead">(.*?)</p>', text)
    assert re.findall(r"([A-Z]\w+ \w+), (\d) cohorts", lead) == [
        ("Moth test", "3"), ("Alter mothus", "2")
    ]  # fmt: skip
    assert [kind for kind, names in drawn][:4] == ["means", "funnel", "funnel", "means"]
    lived, together = page.season
    assert [each.alt.count("Alter mothus") for each in lived.pictures] == [0, 1]
    assert "13.0 days" in together.pictures[0].alt
    assert any(each.startswith("Alter mothus: ") for each in together.lead)


def test_a_mean_over_unlike_temperatures_is_told_on_a_page_without_commands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(contents_module, "MOST_OPEN", 2)
    unlike = [notebook(f"c{place}", WARM, at) for place, at in enumerate((15.0, 20.0, 25.0))]
    _, together = pages.season_sections(contents(unlike))
    (told,) = (each for each in together.lead if "unlike things" in each)
    assert told.endswith("or those of one temperature with each other.")


def test_without_sites_the_means_of_many_may_be_as_high_as_any_picture(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Three sites, one of them with two cohorts, have a mean over them; of the first species, and
    of nobody that came through there is none."""
    looks: list[Style] = []

    def draw(_: Any, look: Style, **how: object) -> Figure:
        assert how == {"invented": False}
        looks.append(look)
        return Figure(figsize=(1, 1))

    monkeypatch.setattr(pages, "CHARTS", {"means": (draw, lambda _: "")})
    found = contents(eleven())
    pages.first_picture(found)
    assert looks == [PAGE, pages.PHONE]
    at_sites = [summary(f"a{n}", stage(20.0 + n), site="HDGG"[n]) for n in range(4)]
    at_sites += [summary("a4", stage(22.0), site="K")]
    other = [summary(f"b{n}", stage(20.0 + n), species="Pieris rapae") for n in range(4)]
    more = [summary(f"c{n}", stage(20.0 + n), species="Pieris rapae") for n in range(6)]
    young = summary("d", stage(None, None, completed=0, in_stage=20), known=0, reached=0)
    for cohorts, low in (
        (at_sites, True),
        ([*at_sites, *other], True),
        ([*at_sites, *more], False),
        ([young], False),
    ):
        looks.clear()
        pages.first_picture(replace(found, season=season(cohorts)))
        assert looks == ([pages.FIRST, pages.FIRST_ON_PHONE] if low else [PAGE, pages.PHONE])


def test_the_first_picture_is_brief_and_that_below_tells_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    told: list[object] = []

    def draw(_: Any, look: Style, **how: object) -> Figure:
        told.append(how.get("brief"))
        return Figure(figsize=(1, 1))

    charts = {kind: (draw, lambda _: "") for kind in pages.CHARTS}
    monkeypatch.setattr(pages, "CHARTS", charts)
    found = contents([notebook("warm", WARM, 20.0)])
    pages.first_picture(found)
    assert told == [True, True]
    told.clear()
    pages.cohort_sections(found.cohorts[0], 0, small=False)
    assert {*told} == {None}


def test_twenty_doubts_are_listed_and_more_are_counted(
    drawn: list[tuple[str, list[str]]],
) -> None:
    log = tiny_log({"1": "egg L2 L1"}, name="odd")
    looks = tuple(replace(each, number=n) for n, each in enumerate(log.all_observations, start=1))
    (found,) = contents([notebook_of(replace(log, all_observations=looks))], START).cohorts
    (doubt,) = found.in_doubt
    assert "doubt" not in [
        each.key for each in pages.cohort_sections(replace(found, in_doubt=()), 0, small=True)
    ]
    line = f"{in_doubt_words.words(doubt)}."
    for count, more in ((20, []), (21, ["And 1 more: rearlog verify odd lists them."])):
        every = replace(found, in_doubt=(doubt,) * count)
        (section,) = (
            each for each in pages.cohort_sections(every, 0, small=True) if each.key == "doubt"
        )
        assert section.title == "What is in doubt"
        assert section.lead == [*[line] * 20, *more]


def test_pages_of_which_each_cohort_is_folded_are_made_on_all_processors(
    drawn: list[tuple[str, list[str]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of three parts beside the cohorts: from eleven of these on."""
    asked: list[tuple[int, int]] = []

    def each_of(work: Callable[[Any], Any], parts: Sequence[Any], *, fewest: int) -> list[Any]:
        asked.append((len(parts), fewest))
        return [None, [], [], *([] for _ in parts[3:])]

    monkeypatch.setattr(pages, "each_of", each_of)
    found = contents(eleven()[:1])
    for count in (1, 11):
        pages.drawn(replace(found, cohorts=found.cohorts * count))
    assert asked == [(4, 14), (14, 14)]


def test_every_sentence_that_opens_a_section_has_its_full_stop(
    drawn: list[tuple[str, list[str]]],
) -> None:
    growing = notebook("warm", {"2": "egg L1", "3": "egg L1!"}, 20.0)
    found = pages.drawn(contents([growing], START))
    ((_, sections),) = found.cohorts
    (forecast,) = [each for each in sections if each.key == "forecast"]
    assert forecast.lead[-1] == "Passed over unless seen: L3."
    assert all(line.endswith(".") for each in sections for line in each.lead)
