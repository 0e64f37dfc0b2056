"""The archive of repeatability: the workshop's own baseline repeats, pooled."""
