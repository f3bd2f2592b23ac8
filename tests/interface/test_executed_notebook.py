"""The page on Python as a notebook: executed by a kernel, its answers are shown as tables."""

import doctest
import re
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from tests.consoles import BLOCK, DOCUMENTS, ROOT, beside_the_samples

FENCE = re.compile(r"^(```.*?^```)$", re.S | re.M)


def as_notebook(text: str) -> Any:
    """A page as a notebook: a cell for each block of Python and for the text between them."""
    cells = []
    for part in FENCE.split(text):
        block = BLOCK.match(part)
        if block is None or block[1] != "python":
            cells.append(nbformat.v4.new_markdown_cell(part.strip()))
            continue
        examples = doctest.DocTestParser().get_examples(block[2])
        cells.append(nbformat.v4.new_code_cell("".join(each.source for each in examples)))
    return nbformat.v4.new_notebook(cells=cells)


@pytest.mark.slow
def test_the_page_runs_as_a_notebook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = (DOCUMENTS / "python.md").read_text(encoding="utf-8")
    until, _, _after = text.partition("## Record looks")
    notebook = as_notebook(until)
    shown = nbformat.v4.new_code_cell("room.durations()")
    picture = nbformat.v4.new_code_cell('room.chart("durations", size="column")')
    notebook.cells += [shown, picture]
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    with beside_the_samples(tmp_path):
        done = NotebookClient(notebook, timeout=120, kernel_name="python3").execute()
    *_, table, drawn = done.cells
    (out,) = table.outputs
    assert out["data"]["text/plain"].startswith("<Durations of room")
    assert "<caption>" in out["data"]["text/html"]
    assert out["data"]["text/html"].count("<tr>") == 8
    assert drawn.outputs[0]["data"]["image/png"]
    assert not any(
        each["output_type"] == "error"
        for cell in done.cells
        if cell.cell_type == "code"
        for each in cell.outputs
    )
