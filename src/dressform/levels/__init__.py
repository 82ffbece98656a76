"""One garment's levels of detail: the finer level's motion carried to the coarser, and how far the two are apart."""
