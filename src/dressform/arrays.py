"""Shape aliases: one letter per axis, the same letter for the same thing everywhere.

`B` body vertices, `G` garment vertices, `V` vertices of any mesh, `F` triangles of any mesh, `Q` queries,
`K` morphs, `J` joints. Lengths are metres; arrays are float64 in memory and float32 in files.
"""

import numpy as np
from jaxtyping import Float, Int

Points = Float[np.ndarray, "V 3"]
BodyPoints = Float[np.ndarray, "B 3"]
ClothPoints = Float[np.ndarray, "G 3"]
Queries = Float[np.ndarray, "Q 3"]
Faces = Int[np.ndarray, "F 3"]
Weights = Float[np.ndarray, " K"]
BodyDeltas = Float[np.ndarray, "K B 3"]
ClothDeltas = Float[np.ndarray, "K G 3"]
VertexScalars = Float[np.ndarray, " V"]
FaceScalars = Float[np.ndarray, " F"]
