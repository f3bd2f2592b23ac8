"""The self-contained page."""
