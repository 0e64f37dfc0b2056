"""Fitting: what the runs of a case teach about its line, its pump and its elements."""
