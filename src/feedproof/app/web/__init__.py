"""The screens and the HTTP API: thin doors over the verbs, for a browser on this machine."""
