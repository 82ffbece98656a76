"""The shaped body: base shape, morphs, range of weights, skeleton, tape measures."""
