"""The size card by its command."""

from pathlib import Path

from pypdf import PdfReader

from tests.cli.conftest import Run


def test_a_card_of_a_species_and_of_a_cohort(run: Run, room: Path, folder: Path) -> None:
    result = run("card", "--species", "monarch", "-o", "card.pdf", "--paper", "letter")
    assert "7 stages at true size: card.pdf" in result.stderr
    [page] = PdfReader(folder / "card.pdf").pages
    assert (page.mediabox.width, page.mediabox.height) == (612, 792)
    run("card", "--cohort", "room", "-o", "own.pdf")
    assert "painted lady, room" in PdfReader(folder / "own.pdf").pages[0].extract_text()


def test_nothing_is_overwritten_and_one_species_is_named(
    run: Run, room: Path, folder: Path
) -> None:
    (folder / "card.pdf").write_text("mine")
    run("card", "--species", "monarch", "-o", "card.pdf", fails=2)
    assert (folder / "card.pdf").read_text() == "mine"
    for words in ([], ["--species", "monarch", "--cohort", "room"]):
        told = run("card", *words, "-o", "other.pdf", fails=2).stderr
        assert "name the species with --species, or a cohort with --cohort" in told
    told = run("card", "--species", "monarch", "-o", "card.svg", fails=2).stderr
    assert "neither PDF nor PNG" in told
