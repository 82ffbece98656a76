"""Many garments times many shapes."""
