"""One garment's levels of detail fitted together, compared and written."""
