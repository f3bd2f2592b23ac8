"""Nothing but rearlog/disk puts a file in its place: this reads the code for other ways."""

import ast
from pathlib import Path

import pytest

import rearlog

ROOT = Path(rearlog.__file__).parent
OTHER_WAYS = {"write_text", "write_bytes", "replace", "rename", "link", "NamedTemporaryFile"}
KNOWN = {
    "store/arriving.py: os.rename",  # new cohorts, of which all or none arrive
    "store/backups.py: os.link",  # a second name for the old file
    "web/forms.py: path.write_bytes",  # for readers of files, in a folder that goes at once
    "cli/standard.py: path.write_bytes",  # standard input, likewise
    "exchange/bundle.py: open",  # the members of an archive that is made in memory
    "gathering/kept.py: open",  # a line more at the end of what may be lost
    "present/json_schema.py: (FOLDER / f'{name}.json').write_text",  # into the source itself
    "cli/unforeseen.py: open",  # a new file with a name of its own
}


def ways_of_writing(source: str) -> set[str]:
    """Calls that write or rename: of `os`, of a path, or `open` with a mode that writes."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        owner, _, name = called.rpartition(".")
        if name == "open" and any(
            isinstance(each, ast.Constant) and each.value in ("w", "wb", "a", "ab", "x", "xb", "r+")
            for each in [*node.args, *(keyword.value for keyword in node.keywords)]
        ):
            found.add("open")
        elif name in ("write_text", "write_bytes", "NamedTemporaryFile") or (
            owner == "os" and name in OTHER_WAYS
        ):
            found.add(called)
    return found


def test_files_are_written_in_one_place() -> None:
    found = {
        f"{file.relative_to(ROOT).as_posix()}: {way}"
        for file in ROOT.rglob("*.py")
        if file.parent.name != "disk"
        for way in ways_of_writing(file.read_text(encoding="utf-8"))
    }
    assert found == KNOWN


@pytest.mark.parametrize(
    "source",
    ["path.write_text('x')", "open(path, 'w')", "path.open(mode='wb')", "os.replace(a, b)"],
)
def test_the_check_notices_another_way(source: str) -> None:
    assert ways_of_writing(source)
