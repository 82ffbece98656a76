"""What the page is told first, as records."""
