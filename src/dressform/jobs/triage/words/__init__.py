"""The words of complaints: a vocabulary, a little tolerance for spelling, and what a note says by them."""
