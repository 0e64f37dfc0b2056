"""The frozen things that every room speaks of: vehicle, line, kit, fuel, run, margin, outcome."""
