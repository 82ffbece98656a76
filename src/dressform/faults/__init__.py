"""Measures faults of a garment on its body, one file per fault."""
