"""Do the fast tests notice a fault? python -m tests.mutation [PATHS] [--sample N] [--seed S]"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

from tests.mutation.coverage import ROOT
from tests.mutation.equivalent import is_equivalent, reasons
from tests.mutation.operators import Mutant, mutants
from tests.mutation.picking import picked
from tests.mutation.trials import LONGEST, Trial, run


def main() -> None:
    """Prints each fault that no test notices, then how many there were and were caught, by file."""
    options = _options()
    trials: list[Trial] = []

    def told(trial: Trial) -> None:
        trials.append(trial)
        if trial.by is None:
            mutant = trial.mutant
            print(f"{mutant.name}    line {mutant.line}, {trial.tests} tests", flush=True)

    run(_wanted(options), told, options.tests, options.longest, options.anew)
    share = _summary(trials)
    sys.exit(1 if share < options.least else 0)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("paths", nargs="*", default=["rearlog"], help="files or folders")
    parser.add_argument("--sample", type=int, help="so many faults, picked at random")
    parser.add_argument("--seed", type=int, default=1, help="of that choice (default 1)")
    parser.add_argument("--least", type=float, default=0.0, help="share caught for exit code 0")
    parser.add_argument("--tests", nargs="+", default=["tests"], help="only these files or folders")
    parser.add_argument("--longest", type=float, default=LONGEST, help="seconds of tests a fault")
    parser.add_argument("--anew", action="store_true", help="trace all tests again")
    return parser.parse_args()


def _wanted(options: argparse.Namespace) -> list[Mutant]:
    files: list[Path] = []
    for path in (ROOT / each for each in options.paths):
        files += sorted(path.rglob("*.py")) if path.is_dir() else [path]
    listed = reasons()
    found = [
        mutant
        for file in files
        for mutant in mutants(str(file.relative_to(ROOT)), file.read_text(encoding="utf-8"))
        if not is_equivalent(mutant, listed)
    ]
    if options.sample is None or options.sample >= len(found):
        return found
    return picked(found, options.sample, options.seed)


def _summary(trials: list[Trial]) -> float:
    """Prints faults and the share caught by file and in all; returns the latter."""
    of_file = Counter(trial.mutant.path for trial in trials)
    caught = Counter(trial.mutant.path for trial in trials if trial.by is not None)
    for path, number in of_file.items():
        print(f"{caught[path]:6} of {number:5} {caught[path] / number:6.1%}  {path}")
    share = caught.total() / len(trials) if trials else 1.0
    print(f"{caught.total():6} of {len(trials):5} {share:6.1%}  in all")
    return share


if __name__ == "__main__":
    main()
