"""The house has one way through it: this reads every import and refuses a wrong one."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import rearlog

ROOT = Path(rearlog.__file__).parent
MAY_IMPORT = {
    "records": set(),
    "processes": set(),
    "frames": {"records"},
    "disk": {"records"},
    "store": {"settings", "disk", "records"},
    "species": {"records"},
    "settings": {"species", "disk", "records"},
    "drawings": {"records"},
    "exchange": {"settings", "frames", "drawings", "disk", "records"},
    "analysis": {"frames", "records"},
    "sentences": {"analysis", "drawings", "records"},
    "charts": {"sentences", "analysis", "disk", "records"},
    "notebook": {"store", "analysis", "exchange", "frames", "records"},
    "gathering": {
        "frames",
        "processes",
        "notebook",
        "store",
        "exchange",
        "species",
        "analysis",
        "disk",
        "records",
    },
    "present": {
        "processes",
        "gathering",
        "charts",
        "sentences",
        "notebook",
        "analysis",
        "drawings",
        "exchange",
        "frames",
        "species",
        "store",
        "records",
    },
    "interface": {
        "settings",
        "gathering",
        "notebook",
        "present",
        "charts",
        "sentences",
        "analysis",
        "exchange",
        "frames",
        "species",
        "store",
        "records",
    },
    "web": {
        "settings",
        "notebook",
        "present",
        "charts",
        "sentences",
        "analysis",
        "drawings",
        "exchange",
        "frames",
        "species",
        "store",
        "records",
    },
    "cli": {
        "web",
        "notebook",
        "present",
        "gathering",
        "charts",
        "sentences",
        "analysis",
        "exchange",
        "frames",
        "species",
        "settings",
        "store",
        "disk",
        "records",
    },
}
ROOMS = {
    "statistics": set(),
    "heat": {"statistics"},
    "stages": {"heat", "statistics"},
    "survival": {"stages", "statistics"},
    "growth": {"stages", "heat", "statistics"},
    "agreement": {"stages", "statistics"},
    "reproduction": {"survival", "stages", "statistics"},
    "comparing": {"reproduction", "survival", "stages", "heat", "statistics"},
    "simulation": {"stages", "heat", "statistics"},
    "forecasting": {"stages", "heat", "statistics"},
    "pooling": {"forecasting", "comparing", "survival", "stages", "heat", "statistics"},
}
"""The rooms of the analysis, and what each may import beside `analysis.arrays`."""
FILES = sorted(ROOT.rglob("*.py"))


def package_of(file: Path) -> str:
    return file.relative_to(ROOT).parts[0].removesuffix(".py")


def imported(source: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written in full"
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def wrong_imports(package: str, source: str) -> list[str]:
    allowed = MAY_IMPORT[package] | {package}
    inside = {name.split(".")[1] for name in imported(source) if name.startswith("rearlog.")}
    return sorted(inside & set(MAY_IMPORT) - allowed)


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_arrows_point_one_way(file: Path) -> None:
    package = package_of(file)
    if package == "__init__":
        return  # the package itself: checked by test_the_package_loads_nothing
    assert wrong_imports(package, file.read_text(encoding="utf-8")) == []


def wrong_rooms(room: str, source: str) -> list[str]:
    inside = {
        name.split(".")[2] for name in imported(source) if name.startswith("rearlog.analysis.")
    }
    return sorted(inside & set(ROOMS) - ROOMS[room] - {room})


@pytest.mark.parametrize(
    "file",
    [
        file
        for file in FILES
        if file.is_relative_to(ROOT / "analysis") and file.parent != ROOT / "analysis"
    ],
    ids=lambda file: str(file.relative_to(ROOT)),
)
def test_rooms_of_the_analysis_point_one_way(file: Path) -> None:
    assert wrong_rooms(file.parent.name, file.read_text(encoding="utf-8")) == []


def test_the_check_notices_a_wrong_arrow() -> None:
    assert wrong_imports("analysis", "from rearlog.cli.main import main") == ["cli"]
    assert wrong_imports("records", "import rearlog.store.storage") == ["store"]
    assert wrong_rooms("heat", "from rearlog.analysis.stages.events import ALIVE") == ["stages"]


def test_values_are_structs() -> None:
    wrong = [
        str(file.relative_to(ROOT))
        for file in FILES
        if "dataclasses" in imported(file.read_text(encoding="utf-8"))
    ]
    assert wrong == [], "values are frozen structs of msgspec, not dataclasses"


def test_the_check_notices_a_dataclass() -> None:
    assert "dataclasses" in imported("from dataclasses import dataclass")
    assert "dataclasses" in imported("def f():\n    import dataclasses")


def test_modules_form_no_circle() -> None:
    names = {".".join(("rearlog", *file.relative_to(ROOT).with_suffix("").parts)) for file in FILES}
    arrows = {
        ".".join(("rearlog", *file.relative_to(ROOT).with_suffix("").parts)): {
            name for name in imported(file.read_text(encoding="utf-8")) if name in names
        }
        for file in FILES
    }
    done: set[str] = set()

    def visit(module: str, path: tuple[str, ...]) -> None:
        assert module not in path, f"a circle: {' → '.join((*path, module))}"
        if module not in done:
            for other in arrows[module]:
                visit(other, (*path, module))
            done.add(module)

    for module in arrows:
        visit(module, ())


TESTS = Path(__file__).parent


def wrong_for_a_test(source: str) -> list[str]:
    """Other tests, and benchmarks: what tests share lives in modules that are neither."""
    return [
        name
        for name in imported(source)
        if name.startswith("tests.")
        and (name.startswith("tests.benchmarks") or name.split(".")[-1].startswith("test_"))
    ]


@pytest.mark.parametrize(
    "file",
    [file for file in sorted(TESTS.rglob("*.py")) if file.parent.name != "benchmarks"],
    ids=lambda file: str(file.relative_to(TESTS)),
)
def test_no_test_rests_on_another_or_on_a_benchmark(file: Path) -> None:
    assert wrong_for_a_test(file.read_text(encoding="utf-8")) == []


def test_the_check_notices_a_test_that_rests_on_another() -> None:
    assert wrong_for_a_test("from tests.store.test_kills import run") == ["tests.store.test_kills"]
    assert wrong_for_a_test("import tests.benchmarks.costs") == ["tests.benchmarks.costs"]
    assert wrong_for_a_test("from tests.builders import seen") == []
