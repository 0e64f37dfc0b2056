"""The packaged demo: invented data, and the script that made it."""
