"""Trials of what must never lose a record: short in every test run, in full by `dev.py torture`."""
