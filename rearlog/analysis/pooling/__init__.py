"""Many cohorts as one: means over cohorts and sites, and which cohorts stand out."""
