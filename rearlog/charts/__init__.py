"""Pictures, each drawn from one result."""
