"""Logs of a vehicle's bus: frames by the line, signals by a DBC, answers of OBD-II by the table."""
