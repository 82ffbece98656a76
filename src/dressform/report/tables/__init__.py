"""Tables and sentences that people read."""
