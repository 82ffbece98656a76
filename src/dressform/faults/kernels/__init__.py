"""Compiled loops of the faults."""
