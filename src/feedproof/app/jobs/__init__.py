"""
Long work beside a server: verbs of the front door in processes of their own.

No web framework in here.  Screens and the HTTP interface use `feedproof.app.jobs.running.Jobs`.
"""
