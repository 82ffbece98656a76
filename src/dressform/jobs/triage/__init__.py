"""Triage: a folder of complaints measured again, merged into matters, and answered."""
