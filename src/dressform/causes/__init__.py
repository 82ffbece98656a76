"""Why each fault is there: one ingredient swapped at a time, the fault measured again, and words for its maker."""
