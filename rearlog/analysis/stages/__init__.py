"""From checks to stages: events as intervals, how long stages took, and what was expected."""
