"""A profile of one's own: asked for, or told by options."""

from pathlib import Path

import pytest

from rearlog.species.catalogue import find
from tests.cli.conftest import Run
from tests.cli.terminal import Terminal

ANSWERS = "brown moth\n\n5\negg 4-6, pupa 12 at 20-24\nL1 0.3\nc\n"


def test_five_answers_make_a_profile_with_which_a_cohort_starts(run: Run, folder: Path) -> None:
    result = run("species", "new", text=ANSWERS)
    assert "rearlog start NAME --species brown-moth.toml --eggs 12" in result.stderr
    profile = find("brown-moth.toml")
    assert profile.sources["told"].kind == "common practice"
    assert profile.codes[1:6] == ("L1", "L2", "L3", "L4", "L5")
    assert "in order, 8 stages, 1 source" in run("species", "check", "brown-moth.toml").stderr
    run("start", "cups", "--species", "brown-moth.toml", "--eggs", "6", "--zone", "UTC")
    assert "4" in run("species", "show", "cups").stdout
    run("today", "cups")


def test_enter_is_an_answer_to_everything(run: Run, folder: Path) -> None:
    run("species", "new", text="\n" * 5)
    assert find("unnamed-insect.toml").sources == {}


def test_not_known_is_an_answer_in_words_too(run: Run, folder: Path) -> None:
    run("species", "new", text="unknown\nnot known\nNobody knows.\n?\n-\n")
    in_words = (folder / "unnamed-insect.toml").read_text(encoding="utf-8")
    (folder / "unnamed-insect.toml").unlink()
    run("species", "new", text="\n" * 5)
    assert (folder / "unnamed-insect.toml").read_text(encoding="utf-8") == in_words
    run("species", "new", "--days", "not known", "-o", "other.toml")
    assert find("other.toml").sources == {}


def test_a_mistyped_answer_is_asked_again(run: Run, folder: Path) -> None:
    result = run("species", "new", text="moth\n\nmany\n5\negg four\negg 4\n\nx\np\n\nKT 2025\n")
    for told in ("“many” is no number", "“egg four” is not understood", "“x” is none of them",
                 "what nobody can look up is not published"):  # fmt: skip
        assert told in result.stdout
    source = find("moth.toml").sources["told"]
    assert (source.kind, source.citation) == ("published", "KT 2025")


@pytest.mark.parametrize("count", range(6))
def test_answers_that_end_write_nothing(run: Run, folder: Path, count: int) -> None:
    text = "".join(line + "\n" for line in ANSWERS.splitlines()[:count])
    told = run("species", "new", text=text, fails=2).stderr
    assert "the answers ended before the questions did; nothing was written" in told
    assert [*folder.iterdir()] == []


def test_options_ask_nothing(run: Run, folder: Path) -> None:
    result = run(
        "species", "new", "--name", "bug", "--stages", "egg,nymph,adult", "--instars", "5",
        "--days", "nymph 30 at 25", "--known", "own", "-o", "my-bug.toml", text="",
    )  # fmt: skip
    assert "Five questions" not in result.stdout
    assert find("my-bug.toml").sources["told"].citation == "Seen with animals of my own."
    told = run("species", "new", "--name", "bug", "-o", "my-bug.toml", fails=2).stderr
    assert "my-bug.toml exists already" in told
    run("species", "new", "--name", "bug", "-o", "my-bug.toml", "--force")
    assert find("my-bug.toml").sources == {}


def test_lists_may_be_told_in_several_pieces(run: Run, folder: Path) -> None:
    new = ("species", "new", "--name", "bug", "--instars", "2")
    run(*new, "-o", "one.toml", "--stages", "egg, larva,adult", "--days", "L1 9 at 22, egg 5 at 20",
        "--heads", "L1 0.3, L2 0.5")  # fmt: skip
    run(*new, "-o", "two.toml", "--stages", "egg", "--stages", "larva,adult", "--days",
        "L1 9 at 22", "--days", "egg 5 at 20", "--days", "unknown", "--heads", "L1 0.3", "--heads",
        "L2 0.5")  # fmt: skip
    profile = find("two.toml")
    assert profile == find("one.toml")
    assert [profile.stage(code).days.value for code in ("egg", "L1")] == [5, 9]
    told = run(*new, "--days", "egg 4", "--days", "egg 5", fails=2).stderr
    assert "egg is told of twice" in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--days", "egg soon"], "“egg soon” is not understood"),
        (["--name", "x", "-o", "x.txt"], "end its name in .toml"),
        (["--known", "guessed"], "guessed"),
        (["--name", "x", "-o", "nowhere/x.toml"], "no folder nowhere"),
        (["--days", "egg 4", "--known", "published"], "where was it published?"),
    ],
)
def test_options_that_cannot_be(run: Run, folder: Path, words: list[str], told: str) -> None:
    assert told in run("species", "new", *words, fails=2).stderr
    assert [*folder.iterdir()] == []


def test_on_a_terminal_the_end_of_the_input_writes_nothing(folder: Path) -> None:
    screen = Terminal(folder, "species", "new")
    screen.wait_for("   > ")
    screen.type("moth\n")
    screen.wait_for("   > ")
    screen.type("\x04")
    assert screen.end() == 2
    assert "nothing was written" in screen.shown
    assert [*folder.iterdir()] == []


def test_an_interrupt_writes_nothing(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_question: str) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr("rearlog.cli.species.ask", interrupted)
    assert "Nothing was written." in run("species", "new", fails=1).stdout
    assert [*folder.iterdir()] == []
