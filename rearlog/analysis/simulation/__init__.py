"""Invented cohorts, for lessons, planning and tests."""
