"""The sweep: many garments checked on many shapes."""
