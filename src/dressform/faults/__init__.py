"""What is measurably wrong, one file per fault."""
