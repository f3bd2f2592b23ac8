"""The durations, the survival and the heat of a cohort file, computed by rearlog.

Run it with a cohort file; it prints some of the figures as JSON.
"""

from __future__ import annotations

import sys

import orjson

import rearlog


def main() -> None:
    cohort = rearlog.open(sys.argv[1])
    durations, survival, heat = cohort.durations(), cohort.survival(), cohort.heat()
    found = {
        "durations": {
            stage.stage: {
                "n": stage.completed,
                "mean": stage.mean,
                "sd": stage.sd,
                "median": stage.median,
                "half_by": stage.npmle_median and stage.npmle_median[1],
                "degree_days": warm.mean,
                "degree_days_sd": warm.sd,
            }
            for stage, warm in zip(durations.stages, heat.stages, strict=True)
        },
        "kaplan_meier": [
            [row.day, row.at_risk, row.survival, row.se] for row in survival.kaplan_meier
        ],
        "deaths": {row.stage: row.died for row in survival.stage_table},
    }
    sys.stdout.write(orjson.dumps(found).decode())


if __name__ == "__main__":
    main()
