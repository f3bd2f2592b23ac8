"""What is to come, from what a cohort has shown so far."""
