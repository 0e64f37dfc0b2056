"""The HTTP interface: thin doors over the verbs, with the documents that ``--json`` prints."""
