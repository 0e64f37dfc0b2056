"""The verbs of the program, loaded when they are used; the command line is a thin door."""
