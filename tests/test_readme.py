"""What stands at the top of the README; that its commands print what it shows: test_documents."""

from tests.consoles import README


def test_the_job_stands_first() -> None:
    first = README.read_text(encoding="utf-8").split("\n\n")[1]
    assert "look at each one every day" in first
