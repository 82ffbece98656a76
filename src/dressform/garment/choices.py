"""What a following can be set to, and what it is by default; known without loading any numerics."""

from dressform.garment.methods import SMOOTH

NO_STRENGTH = 0.0
FULL_STRENGTH = 1.0
KEEP, SCALE = "keep", "scale"
EASES = (KEEP, SCALE)
OWN, LIFTED, SMOOTHED, NEAREST_PART, ONE_JOINT = "own", "lifted", "smoothed", "nearest-part", "one-joint"
NO_JOINTS = "none"
JOINT_WEIGHTS = (OWN, LIFTED, SMOOTHED, NEAREST_PART, ONE_JOINT, NO_JOINTS)
HEAVIEST = ""
"""In place of a joint's name: the joint that carries most of the part."""

DEFAULT_METHOD = SMOOTH
DEFAULT_EASE = KEEP
SMOOTH_ROTATION_SHARE = 0.5
"""Rotation share of the smooth method where none is given; that of the others is 0."""
DEFAULT_FALLOFF_MM = 30.0
MAX_FALLOFF_MM = 1000.0
DEFAULT_MARGIN_MM = 2.0
MAX_MARGIN_MM = 100.0
