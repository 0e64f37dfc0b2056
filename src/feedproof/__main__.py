"""``python -m feedproof`` is the command line."""

from feedproof.app.cli import entry

entry()
