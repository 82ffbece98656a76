"""Makes garments follow bodies: lifts, measures, and ships the fit as plain morph targets."""

__version__ = "0.1.0"
