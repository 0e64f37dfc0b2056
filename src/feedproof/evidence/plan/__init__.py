"""Plan a test: which order, how many runs, what they can exclude, which step to improve first."""
