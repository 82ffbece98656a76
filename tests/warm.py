"""What a fresh checkout computes once: compiled kernels, and the demo's bodies and garments.

Two processes of tests would each make the same at the same time. Before they start, one process compiles the kernels
and another makes the demo.
"""

import os
import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent
COMPILED = TESTS.parent / "src" / "dressform" / "mesh" / "__pycache__"
KERNELS = """
import dressform
from phantoms import phantom_body, phantom_tube
worn = dressform.fit(phantom_body(), phantom_tube(clearance=0.008, rings=12, sides=20))
dressform.check(worn, shapes=0)
dressform.prove(dressform.repair(worn).fit)
"""
"""A fit, its faults and their causes, a repair and a certificate: nearly every kernel."""
DEMO = """
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
make_wardrobe(make_demo_bodies())
"""
"""The bodies and the wardrobe, which the demo keeps in its cache."""


def is_cold() -> bool:
    """Whether no kernel of this checkout was ever compiled."""
    return next(COMPILED.glob("*.nbi"), None) is None


def warm() -> None:
    """Make both at the same time; what fails here is made by the tests that need it, and fails there."""
    known = {**os.environ, "PYTHONPATH": os.pathsep.join([str(TESTS), os.environ.get("PYTHONPATH", "")])}
    for part in [subprocess.Popen([sys.executable, "-c", code], env=known) for code in (KERNELS, DEMO)]:
        part.wait()
