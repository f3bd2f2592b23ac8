"""Prints the lowest version of every library that pyproject.toml declares, as pip's constraints."""

import re
import tomllib
from pathlib import Path

PROJECT = tomllib.loads(Path("pyproject.toml").read_text(encoding="utf-8"))["project"]
declared = set(PROJECT["dependencies"]).union(*PROJECT["optional-dependencies"].values())
lowest: dict[str, str] = {}
for each in sorted(declared):
    found = re.fullmatch(r"([\w-]+)>=([\d.]+)", each)
    assert found, f"{each} names no lowest version"
    assert found[1] not in lowest, f"{found[1]} has two lowest versions"
    lowest[found[1]] = found[2]
print(*(f"{name}=={version}" for name, version in lowest.items()), sep="\n")
