"""Who looks: what is typed is not always initials."""

import sys

import pytest

from rearlog.cli import asking


def test_keys_and_signs_are_no_initials(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = iter(["+", "d", "12", "K.T."])
    monkeypatch.setattr(asking, "ask", lambda question: next(typed))
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    assert asking.initials(["d", "+"]) == "K.T."
    assert capsys.readouterr().out.count("is no initials") == 3
