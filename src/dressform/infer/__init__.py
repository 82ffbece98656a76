"""The shape that a garment was modelled on, inferred from how it lies on the body."""
