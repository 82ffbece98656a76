"""Whole jobs, one call each, with frozen results: fit, check, explain, repair, prove, save, report."""
