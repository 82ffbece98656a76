"""Small PLY files for tests."""

import struct

import numpy as np

HEADER = """ply
format {format} 1.0
comment a square and a triangle
element vertex 5
property float x
property float y
property float z
property uchar red
property double strength
property float s
property float t
element face {faces}
property list uchar int vertex_indices
property uchar flag
element other 1
property short value
end_header
"""
POINTS = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0.5, 2, 0]])
REDS = [0, 51, 102, 204, 255]
MIXED = [[0, 1, 2, 3], [3, 2, 4]]
EVEN = [[0, 1, 2], [0, 2, 3], [3, 2, 4]]


def text(polygons: list[list[int]]) -> bytes:
    rows = [f"{x} {y} {z} {red} 0.5 {x} {y}" for (x, y, z), red in zip(POINTS, REDS)]
    rows += [f"{len(polygon)} {' '.join(map(str, polygon))} 7" for polygon in polygons]
    return (HEADER.format(format="ascii", faces=len(polygons)) + "\n".join([*rows, "3"]) + "\n").encode()


def binary(polygons: list[list[int]], *, order: str) -> bytes:
    name = {"<": "binary_little_endian", ">": "binary_big_endian"}[order]
    data = HEADER.format(format=name, faces=len(polygons)).encode()
    for (x, y, z), red in zip(POINTS, REDS):
        data += struct.pack(order + "fffBdff", x, y, z, red, 0.5, x, y)
    for polygon in polygons:
        data += struct.pack(f"{order}B{len(polygon)}iB", len(polygon), *polygon, 7)
    return data + struct.pack(order + "h", 3)
