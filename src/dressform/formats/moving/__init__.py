"""What says how bodies move: stances, sliders of joints, joints that follow morphs."""
