"""Several cohorts beside each other: durations, heat, survival, thermal constants."""
