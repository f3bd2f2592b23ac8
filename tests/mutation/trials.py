"""Runs the tests of each fault in a process of its own, forked from one that has imported all."""

from __future__ import annotations

import gc
import importlib
import json
import os
import re
import resource
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any, NoReturn

import pytest

from tests.mutation.coverage import ROOT, Coverage, Trace, all_caches, keep, kept_traces, trace
from tests.mutation.operators import Mutant
from tests.mutation.planting import functions_by_file, plant

PACKAGE = str(ROOT / "rearlog")
LONGEST = 10.0
"""CPU seconds of tests for one fault: of a function that half of all tests call, the quickest."""
PATIENCE = 4.0
"""So much longer than the tests took may a fault take them: beyond, it is caught as endless."""


@dataclass(frozen=True)
class Trial:
    """What became of a fault: `by` names the test that caught it, None where none did."""

    mutant: Mutant
    by: str | None
    tests: int


def run(
    wanted: Sequence[Mutant],
    told: Callable[[Trial], None],
    tests: Sequence[str] = ("tests",),
    longest: float = LONGEST,
    anew: bool = False,
) -> None:
    """Tries all faults one after another, with no more than the `longest` seconds of tests each;
    `anew`: traces all tests again, also unchanged ones."""
    with tempfile.TemporaryDirectory() as scratch:
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = f"{scratch}/hypothesis"
        arguments = ["-o", "addopts=", "-m", "not slow and not browser", "--import-mode=importlib"]
        arguments += ["-p", "no:terminal", "-p", "no:cacheprovider", "--capture=sys"]
        arguments += [f"--basetemp={scratch}/pytest", f"--rootdir={ROOT}"]
        arguments += [str(ROOT / each) for each in tests]
        status = pytest.main(arguments, plugins=[_Trials(wanted, told, longest, anew)])
        if status != pytest.ExitCode.OK:
            raise SystemExit(f"the tests cannot be collected: {status!r}")


class _Trials:
    def __init__(
        self, wanted: Sequence[Mutant], told: Callable[[Trial], None], longest: float, anew: bool
    ) -> None:
        self.wanted, self.told, self.longest, self.anew = wanted, told, longest, anew
        self.failed: list[str] = []
        self.caught_by: Counter[str | None] = Counter()

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection(self) -> None:
        import hypothesis  # not before pytest, which rewrites it

        # a failing example need not be made small, and the next fault must not meet it again
        phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
        hypothesis.settings.register_profile(
            "mutation",
            hypothesis.settings.get_profile("rearlog"),
            phases=phases,
            database=None,
            derandomize=True,
            print_blob=False,
        )
        hypothesis.settings.load_profile("mutation")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        self.coverage = Coverage(self._traces())
        for path in {mutant.path for mutant in self.wanted}:
            _module(path)  # also those that no test has imported yet: else nothing is planted
        self.functions = functions_by_file(PACKAGE)
        self.importers = _importers()
        self.caches = all_caches()
        texts = {path: path.read_text(encoding="utf-8") for path in {i.path for i in session.items}}
        self.texts = {test: texts[item.path] for test, item in self.items.items()}
        self.sources = {
            path: (ROOT / path).read_text(encoding="utf-8")
            for path in {mutant.path for mutant in self.wanted}
        }
        gc.collect()
        gc.freeze()  # forked processes share what none of them writes to
        for mutant in self.wanted:
            self.told(self._trial(mutant))
        return True

    def _traces(self) -> list[Trace]:
        files: dict[str, list[pytest.Item]] = {}
        for item in self.items.values():
            files.setdefault(str(item.path.relative_to(ROOT)), []).append(item)
        kept = {} if self.anew else kept_traces(item[0].path for item in files.values())
        known = {
            name: traces
            for name, traces in kept.items()
            if {test for test, _, _ in traces} == {item.nodeid for item in files[name]}
        }
        try:
            for name in sorted(set(files) - set(known)):
                print(f"tracing {name}", file=sys.stderr, flush=True)
                traced = _in_a_fork(lambda: trace(files[name], PACKAGE))  # noqa: B023 - called here
                known[name] = traced
        finally:  # also of a run that was stopped; large, so not after each file
            keep(known)
        return [each for traces in known.values() for each in traces]

    def _trial(self, mutant: Mutant) -> Trial:
        tests = self._tests(mutant)
        allowed = PATIENCE * sum(self.coverage.seconds[test] for test in tests) + 2

        def attempt() -> str | None:
            resource.setrlimit(resource.RLIMIT_CPU, (int(allowed) + 1, int(allowed) + 2))
            signal.alarm(int(10 * allowed) + 60)  # for a fault that waits
            try:
                self._plant(mutant)
            except Exception:
                return "the import"
            self.failed.clear()
            for test, following in zip(tests, [*tests[1:], None], strict=True):
                item, after = self.items[test], self.items.get(following or "")
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
                if self.failed:
                    return self.failed[0]
            return None

        by = _in_a_fork(attempt, otherwise="the time limit")
        self.caught_by[by] += 1
        return Trial(mutant, by, len(tests))

    def _plant(self, mutant: Mutant) -> None:
        functions = self.functions.get(str(ROOT / mutant.path), [])
        source = self.sources[mutant.path]
        for cache in self.caches:  # filled while tests were collected
            cache.cache_clear()
        plant(_module(mutant.path), source, mutant.index, functions, not mutant.in_function)

    def _tests(self, mutant: Mutant) -> list[str]:
        """Those that call the function: the module's own first, then those that caught most, the
        near before the far and the quick before the long."""
        if mutant.in_function:
            found = self.coverage.of_function(mutant.path, mutant.scope)
        else:
            paths = {mutant.path, *self.importers.get(mutant.path, ())}
            found = {test for path in paths for test in self.coverage.of_file(path)}
            name = _dotted(mutant.path)  # a test may look at a constant and call nothing
            found |= {test for test, text in self.texts.items() if name in text}
        path = Path(mutant.path.replace("rearlog", "tests", 1))
        near, own = str(path.parent), str(path.with_name(f"test_{path.name}"))
        order = sorted(
            found & set(self.items),
            key=lambda test: (
                not test.startswith(own),
                -self.caught_by[test] if self.coverage.seconds[test] < 1 else 0,
                not test.startswith(near),
                self.coverage.seconds[test],
            ),
        )
        chosen: list[str] = []
        total = 0.0
        for test in order:  # one that takes too long is passed over for the quicker ones behind it
            if total + self.coverage.seconds[test] <= self.longest or not chosen:
                chosen.append(test)
                total += self.coverage.seconds[test]
        return chosen


def _module(path: str) -> ModuleType:
    return importlib.import_module(_dotted(path))


def _dotted(path: str) -> str:
    return ".".join(Path(path).with_suffix("").parts)


def _importers() -> dict[str, set[str]]:
    """For each module of the package the others that take something from it by name."""
    found: dict[str, set[str]] = {}
    for file in Path(PACKAGE).rglob("*.py"):
        for name in re.findall(r"from (rearlog[\w.]*) import", file.read_text(encoding="utf-8")):
            path = name.replace(".", "/") + ".py"
            found.setdefault(path, set()).add(str(file.relative_to(ROOT)))
    return found


def _in_a_fork(work: Callable[[], object], otherwise: object = None) -> Any:
    """What a function returns in a process of its own; `otherwise` if that does not end well."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        _answer(work, writing)
    os.close(writing)
    with open(reading, "rb") as pipe:
        answer = pipe.read()
    os.waitpid(child, 0)
    return json.loads(answer) if answer else otherwise


def _answer(work: Callable[[], object], writing: int) -> NoReturn:
    try:
        answer = json.dumps(work()).encode()
        with open(writing, "wb") as pipe:
            pipe.write(answer)
    finally:
        os._exit(0)
