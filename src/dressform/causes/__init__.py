"""Explains faults: swaps one ingredient at a time, measures the fault again, and words advice for the maker."""
