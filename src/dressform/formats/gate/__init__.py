"""What a shop accepts: the file of rules, and what was judged by it."""
