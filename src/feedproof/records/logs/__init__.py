"""Text logs as instruments write them: what form a file has, and its channels in SI."""
