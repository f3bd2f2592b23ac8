"""The arithmetic: pure functions on numbers that return frozen results."""
