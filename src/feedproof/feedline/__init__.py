"""The feed line as a system: lowering to numbers, coupled solution, pull, staircase, margins."""
