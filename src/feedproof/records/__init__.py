"""The case folder: document, raw logs, journal, results; and logs read from files."""
