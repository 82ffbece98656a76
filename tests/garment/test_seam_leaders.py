"""Vertices that a seam holds twice lead to one."""

import numpy as np

from dressform.garment.parts import seam_leaders
from fault_meshes import sheet


def test_vertices_of_a_seam_have_one_leader_and_others_lead_themselves() -> None:
    vertices, faces = sheet(1.0, count=4)
    right = vertices[faces][:, :, 0].mean(axis=1) > 0
    both = np.concatenate([vertices, vertices])
    cut = np.where(right[:, None], faces + len(vertices), faces)
    leaders = seam_leaders(both, cut)
    np.testing.assert_array_equal(np.unique(leaders[cut]), np.arange(len(vertices)))
    np.testing.assert_array_equal(seam_leaders(vertices, faces), np.arange(len(vertices)))


def test_the_two_faces_of_a_doubled_cloth_stay_apart() -> None:
    vertices, faces = sheet(1.0, count=4)
    both, doubled = np.concatenate([vertices, vertices]), np.concatenate([faces, faces[:, ::-1] + len(vertices)])
    np.testing.assert_array_equal(seam_leaders(both, doubled), np.arange(len(both)))
