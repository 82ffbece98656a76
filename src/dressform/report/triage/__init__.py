"""A triage shown: drafted answers in plain words, as Markdown and as a page."""
