"""`dressform fit --levels`: one garment's levels of detail."""
