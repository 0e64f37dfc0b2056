"""
Physics: pure formulas of SI floats, one phenomenon a file.

Promise: a formula takes floats, returns floats, raises nothing and knows no file, no setting and
no verdict.  Each names its source and the range in which that source holds; whether a value lies
in that range is told by a separate plain function of the same file, for the layer above to turn
into a finding.
"""
