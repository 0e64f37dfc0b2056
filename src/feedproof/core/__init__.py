"""What knows nothing of fuel or vehicles: units at the edges, findings, errors, compilation."""
