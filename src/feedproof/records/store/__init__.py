"""The database of what crosses cases, and an index of cases that can be rebuilt."""
