OUTSIDE=()
def general_assumptions(a): return []
