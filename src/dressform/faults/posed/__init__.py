"""Faults at a stance: what the pose itself does to body and cloth is told apart from what the cloth does."""
