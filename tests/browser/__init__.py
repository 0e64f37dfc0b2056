"""Screens in a real browser."""
