"""Degree-days: of a day, of a record of temperatures, and as a function of time."""
