"""
Long work beside a server: verbs of the front door in processes of their own.

No web framework in here.  Screens and the HTTP interface use `feedproof.app.jobs.running.Jobs`::

    jobs = Jobs(workspace)                     # once, at start; `jobs.start()` warms a process
    job = jobs.submit("fit", case, {"level": "25 %"})     # InputError: all mistakes of form
    job = jobs.state(job.id)                   # state, progress, findings: to_document(job)
    job = await jobs.ended(job.id, 20.0)       # or jobs.wait(...) in a thread
    jobs.result(job.id)                        # the document of --json, or what the verb raised
    jobs.cancel(job.id); jobs.again(job.id)    # again: after interrupted, or with new logs
    jobs.list(case)                            # the newest first
    jobs.latest("prove", case)                 # Kept: result, is_current, changes, computed
    jobs.identical("prove", case, {})          # Kept only where a job would find it again
    jobs.close()                               # at the end; under a second
"""
