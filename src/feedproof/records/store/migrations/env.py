"""What Alembic loads to run the steps, inside the transaction that the store has opened."""

from alembic import context

# Without a running migration there is no configuration: whoever reads all modules imports this too.
if hasattr(context, "config"):
    # The caller's transaction is the only one: a killed migration leaves nothing half done.
    context.configure(connection=context.config.attributes["connection"])
    context.run_migrations()
