"""Uncertainty budgets: what is known of each instrument, line by line, and what it comes to."""
