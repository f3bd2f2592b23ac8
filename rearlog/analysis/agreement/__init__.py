"""Whether those who look see the same."""
