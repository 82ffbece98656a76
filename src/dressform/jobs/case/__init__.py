"""Cases: complaints saved as files, found again, and replayed."""
