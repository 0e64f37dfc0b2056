"""What each result screen shows, as plain data: worked out beside the server, kept, then filled in."""
