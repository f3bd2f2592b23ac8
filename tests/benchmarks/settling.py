"""What settling by the fewest mistakes is worth, beside believing every call and dropping animals.

Run it with: python -m tests.benchmarks.settling [COHORTS]
"""

from __future__ import annotations

import sys

from tests.analysis.mistaken_calls import Habits, pooled, trial

COHORTS = 400
SEED = 20_260_301
WRONG = (0.0, 0.05, 0.10, 0.15)


def main() -> None:
    cohorts = int(sys.argv[1]) if len(sys.argv) > 1 else COHORTS
    print(f"95 % intervals of the mean days in L1 to L5, 40 animals, {cohorts} cohorts a row")
    print("wrong  same again   way       hold  lowest instar  bias   width  animals")
    for taps in (False, True):
        for wrong in WRONG:
            for way, by_stage in trial(SEED, Habits(wrong, taps=taps), cohorts).items():
                every = pooled(by_stage)
                stage, least = min(by_stage.items(), key=lambda item: item[1].part)
                print(
                    f"{wrong:4.0%}   {'“no change”' if taps else 'called     '}  {way:8}  "
                    f"{every.part:5.1%}  {least.part:5.1%} ({stage})   "
                    f"{every.bias / every.cohorts:+.3f}  {every.width / every.cohorts:.2f}   "
                    f"{every.animals / every.cohorts:.1f}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
