"""Pictures, papers and words, made from results that are handed in."""
