"""Published values: every row of the tables here is computed by the project's own functions."""
