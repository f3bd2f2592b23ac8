"""Which tests run which functions, and how long each takes: found once, kept between runs."""

from __future__ import annotations

import cProfile
import functools
import gc
import hashlib
import json
import time
from collections.abc import Iterable
from pathlib import Path
from types import CodeType

import pytest

ROOT = Path(__file__).parents[2]
KEPT = ROOT / ".cache" / "mutation.json"

Trace = tuple[str, float, list[str]]


class Coverage:
    """The tests of every function; `seconds` of CPU that each test takes by itself."""

    def __init__(self, traces: Iterable[Trace]) -> None:
        self.seconds: dict[str, float] = {}
        self._of_function: dict[str, set[str]] = {}
        self._of_file: dict[str, set[str]] = {}
        for test, seconds, calls in traces:
            self.seconds[test] = seconds
            for call in calls:
                path = call.partition("::")[0]
                self._of_function.setdefault(call, set()).add(test)
                self._of_file.setdefault(path, set()).add(test)

    def of_function(self, path: str, scope: str) -> set[str]:
        """The tests that call a function, or that within which it stands."""
        while scope and f"{path}::{scope}" not in self._of_function:
            scope = scope.rpartition(".")[0]
        return self._of_function.get(f"{path}::{scope}", set())

    def of_file(self, path: str) -> set[str]:
        """The tests that call any function of a module."""
        return self._of_file.get(path, set())


def fingerprint(file: Path) -> str:
    """What tells a file from its other versions."""
    return hashlib.sha256(file.read_bytes()).hexdigest()[:16]


def kept_traces(files: Iterable[Path]) -> dict[str, list[Trace]]:
    """The traces of the test files that are as they were."""
    if not KEPT.exists():
        return {}
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    names = {str(file.relative_to(ROOT)): file for file in files}
    return {
        name: [(test, seconds, calls) for test, seconds, calls in entry["traces"]]
        for name, entry in kept.items()
        if name in names and fingerprint(names[name]) == entry["fingerprint"]
    }


def keep(traces: dict[str, list[Trace]]) -> None:
    """Kept for the next run, beside what tells whether a test file has changed."""
    KEPT.parent.mkdir(exist_ok=True)
    KEPT.write_text(
        json.dumps(
            {
                name: {"fingerprint": fingerprint(ROOT / name), "traces": each}
                for name, each in traces.items()
            }
        ),
        encoding="utf-8",
    )


def all_caches() -> list[functools._lru_cache_wrapper[object]]:
    """What functions of the project and its tests remember."""
    return [
        each
        for each in gc.get_objects()
        if isinstance(each, functools._lru_cache_wrapper)
        and each.__module__.startswith(("rearlog", "tests"))
    ]


def trace(items: Iterable[pytest.Item], root: str) -> list[Trace]:
    """Runs each test by itself, shared fixtures and caches made anew, and notes what it calls."""
    caches = all_caches()
    traces = []
    for item in items:
        for cache in caches:
            cache.cache_clear()
        profiler = cProfile.Profile(subcalls=False, builtins=False)  # in C, unlike sys.settrace
        begun = time.process_time()
        profiler.enable()
        try:
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
        finally:
            profiler.disable()
        seconds = time.process_time() - begun
        called = [each.code for each in profiler.getstats() if isinstance(each.code, CodeType)]
        names = {_name(code) for code in called if code.co_filename.startswith(root)}
        traces.append((item.nodeid, seconds, sorted(names)))
    return traces


def _name(code: CodeType) -> str:
    """`rearlog/…/file.py::Class.method`; what is inside a function counts as the function."""
    scope = code.co_qualname.partition(".<locals>")[0]
    return f"{Path(code.co_filename).relative_to(ROOT)}::{scope}"
