"""Steps from each version of the database to the next, shipped with the program."""
