"""Estimators, intervals and tests on plain numbers: nothing here knows of insects."""
