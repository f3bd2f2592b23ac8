"""What `pyproject.toml` cannot say: the sample cohorts go into the package when it is built.

They lie beside it, where people look for them, and nowhere twice: an editable install has none of
its own and shows those (`rearlog/samples.py`).
"""

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py

SAMPLES = "sample_cohorts"


class BuildWithSamples(build_py):
    """The package, and in it a copy of the sample cohorts."""

    def run(self) -> None:
        """Copy the modules, and then the samples, as far as this is no editable install."""
        super().run()
        if not self.editable_mode:
            target = Path(self.build_lib) / "rearlog" / SAMPLES
            ignored = shutil.ignore_patterns(".rearlog", "*.py", "__pycache__")
            shutil.copytree(SAMPLES, target, ignore=ignored, dirs_exist_ok=True)


setup(cmdclass={"build_py": BuildWithSamples})
