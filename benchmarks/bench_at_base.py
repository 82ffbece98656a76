"""What of the demo's garments lies in the skin before anything moves, how far it is brought out, and what layers do.

For every garment: skin in front at the base, share of the cloth in the body, tucked rims, and how far `bring_out`
moves cloth at most, with what is left. Then, for pairs worn one over the other, the cloth of the layer below
that comes through at the base. Prints Markdown tables.
"""

import numpy as np

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.body_context import BodyContext
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.repair.bring_out import bring_out

FOLLOWING = Following(margin_mm=2)
OVER = (
    ("waistcoat", "guernsey_coarse"),
    ("waistcoat", "guernsey"),
    ("coat", "guernsey"),
    ("guernsey", "trousers"),
    ("guernsey", "waistcoat"),
)
"""Outer and inner; the last pair is the wrong way round on purpose."""
CM2, MM, PERCENT = 1e4, 1e3, 100.0


def still(body: Body, garment: Garment) -> Fit:
    """A garment at the base; it need not follow for what is asked here."""
    deltas = np.zeros((len(body.morph_names), *garment.vertices.shape))
    return Fit(body, garment, FOLLOWING, garment.vertices, deltas)


def main() -> None:
    """Print both tables."""
    bodies = make_demo_bodies()
    wardrobe = {name: made.garment for name, made in make_wardrobe(bodies).items()}
    contexts = {name: BodyContext(body) for name, body in bodies.items()}
    print("| garment | skin in front, cm² | in the body, % | tucked rims, cm² | moved at most, mm | left, cm² |")
    print("|---|---|---|---|---|---|")
    for name, garment in wardrobe.items():
        wearer = "man" if name.startswith("man_") else "woman"
        fit, context = still(bodies[wearer], garment), contexts[wearer]
        found, out = GarmentOnBody(fit, context=context).at_base, bring_out(fit, tree=context.tree)
        left = GarmentOnBody(out.fit, context=context).at_base.skin_area
        print(
            f"| {name} | {found.skin_area * CM2:.1f} | {found.inside_share * PERCENT:.1f} "
            f"| {found.tucked_area * CM2:.1f} | {out.largest_move * MM:.1f} | {left * CM2:.1f} |"
        )
    print("\n| worn over | layer below | comes through, cm² | places |")
    print("|---|---|---|---|")
    woman, context = bodies["woman"], contexts["woman"]
    for outer, inner in OVER:
        worn = GarmentOnBody(still(woman, wardrobe[outer]), context=context, under=[still(woman, wardrobe[inner])])
        faults = worn.measure(np.zeros(len(woman.morph_names)))
        places = sum(one.fault == "pierced" for one in faults.places)
        print(f"| {outer} | {inner} | {faults.broken.pierced_area * CM2:.1f} | {places} |")


if __name__ == "__main__":
    main()
