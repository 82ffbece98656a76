"""What causes cost: seconds of processor time to explain a check, over those of the check itself.

Prints one Markdown table, a row per garment of the demo: shapes checked, clusters found, swaps measured, both times and
their ratio. The check is what `dressform check` does with its defaults, in one process.

Run: python benchmarks/bench_explain.py [--shapes 64] [GARMENT ...]
"""

import argparse
import time
from unittest.mock import patch

import dressform.causes.explain as explaining
from dressform.body.body import Body
from dressform.body.shapes import DEFAULT_SOBOL, ShapeSettings
from dressform.causes.explain import explain_garment
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.trial import make_trial
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.sweep.run import choose_shapes, run_sweep


def scenes() -> dict[str, tuple[Body, Fit, str]]:
    """The woman's good garments, then those with a fault, each with its body, its fit and its way."""
    bodies = {**make_demo_bodies(), "faulty": make_faulty_body()}
    wardrobe, truth = make_wardrobe(make_demo_bodies()), read_truth()
    worn = [(good.name, good.name, good.body, "smooth") for good in truth.good if good.body == "woman"]
    worn += [(f"{fault.name} on {fault.body}", fault.name, fault.body, fault.method) for fault in truth.fault]
    return {
        title: (bodies[body], make_fit(bodies[body], wardrobe[name].garment, Following(method=method)), method)
        for title, name, body, method in dict.fromkeys(worn)
    }


def row(title: str, body: Body, fit: Fit, method: str, *, sobol: int, context: ExplainedBody) -> tuple[float, float]:
    """Check and explain one garment, print its row and return both times."""
    start = time.process_time()
    shapes = choose_shapes({title: fit}, settings=ShapeSettings(sobol=sobol))
    rows = run_sweep({title: fit}, shapes).rows
    middle = time.process_time()
    with patch.object(explaining, "make_trial", wraps=make_trial) as swaps:
        told = explain_garment(ExplainedGarment(fit, context=context), rows, key=title)
    end = time.process_time()
    check, explain = middle - start, end - middle
    causes = ", ".join(sorted({each.cause or "none" for each in told[:3]})) or "clean"
    figures = f"{len(rows)} | {len(told)} | {swaps.call_count} | {check:.1f} | {explain:.1f} | {explain / check:.2f}"
    print(f"| {title} | {figures} | {causes} |", flush=True)
    return check, explain


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("garments", nargs="*", help="garments; all where left out")
    parser.add_argument("--shapes", type=int, default=DEFAULT_SOBOL, help="size of the Sobol sample")
    options = parser.parse_args()
    contexts: dict[str, ExplainedBody] = {}
    print("| garment | shapes | clusters | swaps | check, s | explain, s | ratio | causes of the first three |")
    print("|---|---|---|---|---|---|---|---|")
    totals = [0.0, 0.0]
    for title, (body, fit, method) in scenes().items():
        if options.garments and title not in options.garments:
            continue
        key = f"{body.name} {len(body.morph_names)}"
        context = contexts.setdefault(key, ExplainedBody(body))
        for place, seconds in enumerate(row(title, body, fit, method, sobol=options.shapes, context=context)):
            totals[place] += seconds
    print(f"| all | | | | {totals[0]:.1f} | {totals[1]:.1f} | {totals[1] / max(totals[0], 1e-9):.2f} | |")


if __name__ == "__main__":
    main()
