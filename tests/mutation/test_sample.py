"""That the fast tests notice faults: a sample of them, so many as REARLOG_FAULTS says."""

import os
import subprocess
import sys

import pytest

from tests.mutation.coverage import ROOT
from tests.mutation.equivalent import fits, reasons
from tests.mutation.operators import mutants

AIM = 0.9
ROOMS = ("analysis", "charts", "present", "sentences")
TESTS = (
    *("analysis", "charts", "published", "sentences", "test_notebook.py"),
    *(
        f"present/{each.name}"
        for each in sorted((ROOT / "tests" / "present").glob("test_*.py"))
        if each.name != "test_explaining.py"
    ),
    *("frames", "interface"),
    *("cli/test_answers.py", "cli/test_between.py", "cli/test_full.py"),
)
"""Those that look at results; tracing the other commands, the pages of the browser, and each
explanation by itself, of which every one has all answers worked out, would take longer than all of
these."""


@pytest.mark.slow
def test_nine_in_ten_faults_are_caught() -> None:
    """The floor is two standard errors of a share of that size below the aim."""
    number = int(os.environ.get("REARLOG_FAULTS", "30"))
    floor = AIM - 2 * (AIM * (1 - AIM) / number) ** 0.5
    done = subprocess.run(
        [
            *(sys.executable, "-m", "tests.mutation", *(f"rearlog/{room}" for room in ROOMS)),
            *("--sample", str(number), "--least", f"{floor:.4f}"),
            *("--tests", *(f"tests/{each}" for each in TESTS)),
        ],
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.slow
def test_every_fault_that_is_called_equivalent_is_still_one_of_the_code() -> None:
    """A line of the list that fits nothing any more is taken out with the code that it spoke of."""
    names = [
        each.name
        for file in sorted((ROOT / "rearlog").rglob("*.py"))
        for each in mutants(str(file.relative_to(ROOT)), file.read_text(encoding="utf-8"))
    ]
    listed = reasons()
    assert listed
    assert all(listed.values())
    assert [name for name in listed if not any(fits(name, each) for each in names)] == []
