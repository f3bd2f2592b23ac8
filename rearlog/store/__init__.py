"""Cohort files: kept whole, locked, checksummed, backed up."""
