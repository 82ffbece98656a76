"""The shaped body: base body, morphs, range of weights, skeleton, tape measures."""
