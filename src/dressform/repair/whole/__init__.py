"""Cloth that moves as a whole: stiff parts, and what lies beyond an extremity."""
