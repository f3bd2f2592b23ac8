"""No two classes of one name: whoever reads one knows which is meant."""

import ast
from pathlib import Path

import rearlog

ROOT = Path(rearlog.__file__).parent


def classes_of(source: str) -> list[str]:
    return [node.name for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ClassDef)]


def repeated(sources: dict[str, str]) -> dict[str, list[str]]:
    """The names of classes that stand in several places, with these places."""
    places: dict[str, list[str]] = {}
    for file, source in sources.items():
        for name in classes_of(source):
            places.setdefault(name, []).append(file)
    return {name: files for name, files in places.items() if len(files) > 1}


def test_no_two_classes_share_a_name() -> None:
    files = {
        str(file.relative_to(ROOT)): file.read_text(encoding="utf-8") for file in ROOT.rglob("*.py")
    }
    assert len(files) > 100
    assert repeated(files) == {}


def test_a_repeated_name_would_be_found() -> None:
    one = "class Doubt:\n    pass\n\n\nclass Look:\n    pass\n"
    other = "def f():\n    class Doubt:\n        pass\n"
    assert repeated({"one.py": one, "other.py": other}) == {"Doubt": ["one.py", "other.py"]}
