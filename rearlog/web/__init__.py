"""The shelf in a browser: one more face over the notebook, the store and the report."""
