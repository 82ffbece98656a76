"""Explaining: the causes of what a check found, garment by garment, and the picture of one swap."""
