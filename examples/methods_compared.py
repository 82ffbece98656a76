# %% [markdown]
# # Four methods, one garment
#
# A garment can follow a body by several methods. Here each of them carries the same guernsey to the same shapes, and
# the same faults are measured. Open this file as a notebook, or run it as a script, in the folder that
# `dressform demo` filled.

# %%
import numpy as np

import dressform as df

body = df.load_body("body.glb", base="woman")
guernsey = df.load_garment("garments/guernsey.glb")
body, guernsey

# %% [markdown]
# One `Following` says how the garment follows; everything that is not said is as always.

# %%
methods = ("nearest", "nearest-three", "surface", "smooth")
fits = {method: df.fit(body, guernsey, df.Following(method=method)) for method in methods}
fits["smooth"]

# %% [markdown]
# A fit is linear in the weights: the cloth at a shape is one product.

# %%
shape = body.weights({"belly": 1.0, "hips": 0.5})
for method, fit in fits.items():
    moved = np.linalg.norm(fit.at(shape) - fit.base, axis=1)
    print(f"{method}: moves by {1e3 * moved.mean():.1f} mm on average, {1e3 * moved.max():.1f} mm at most")

# %% [markdown]
# Checked together, the methods stand beside each other. Causes are not sought here, as it is the methods that differ.

# %%
result = df.check(fits, shapes=4, causes=False)
for method in methods:
    worst = max(row.values["pucker"] for row in result.swept.of(method))
    print(f"{method}: pucker up to {worst:.4f}")
