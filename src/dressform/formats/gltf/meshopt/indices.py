"""Modes 1 and 2 of EXT_meshopt_compression: triangles, and other indices [EXTMeshopt, appendix A].

A triangle mostly shares an edge with one of the last few, and its third corner is mostly the next vertex that has not
been used or one of the last few: one byte says so. What is rarer is spelled out.
"""

from collections import deque
from typing import Any

import numpy as np
from jaxtyping import Int

TRIANGLES_HEADER, INDICES_HEADER = 0xE1, 0xD1
TABLE_BYTES, INDICES_TAIL = 16, 4
FIFO = 16
LARGEST = 2**32


def decode_triangles(data: bytes, count: int) -> Int[np.ndarray, " N"]:
    """Indices of triangles, (count,).

    Raises:
        ValueError: the stream is not of this mode, or its bytes do not come out even; says what was found.

    Proof: tests/formats/gltf/meshopt/test_codec.py
    """
    triangles = count // 3
    if len(data) < 1 + triangles + TABLE_BYTES or data[0] != TRIANGLES_HEADER:
        raise ValueError("does not begin as a stream of triangles" if data else "is empty")
    end = len(data) - TABLE_BYTES
    reader = _Triangles(data, 1 + triangles, end, data[end:])
    found = [reader.triangle(code) for code in data[1 : 1 + triangles]]
    if reader.at != end:
        raise ValueError(f"has {end - reader.at} bytes too many")
    return np.array(found, dtype=np.int64).reshape(-1)


def decode_indices(data: bytes, count: int) -> Int[np.ndarray, " N"]:
    """Indices of anything, (count,).

    Raises:
        ValueError: the stream is not of this mode, or its bytes do not come out even; says what was found.

    Proof: tests/formats/gltf/meshopt/test_codec.py
    """
    if len(data) < 1 + count + INDICES_TAIL or data[0] != INDICES_HEADER:
        raise ValueError("does not begin as a stream of indices" if data else "is empty")
    end, at, last, found = len(data) - INDICES_TAIL, 1, [0, 0], []
    for _ in range(count):
        value, at = _varint(data, at, end)
        baseline, step = value & 1, value >> 1
        last[baseline] = (last[baseline] + ((step >> 1) ^ -(step & 1))) % LARGEST
        found.append(last[baseline])
    if at != end:
        raise ValueError(f"has {end - at} bytes too many")
    return np.array(found, dtype=np.int64)


def encode_triangles(faces: Int[np.ndarray, "F 3"]) -> bytes:
    """A stream of triangles; they come out in their order, each perhaps begun at another of its corners."""
    writer = _TriangleWriter()
    codes = bytes(writer.code(*triangle) for triangle in faces.tolist())
    return bytes([TRIANGLES_HEADER]) + codes + bytes(writer.data) + bytes(TABLE_BYTES)


class _Fifos:
    """The edges and vertices that were used last, the newest first."""

    def __init__(self, unused: int) -> None:
        self.next = self.last = 0
        self.edges: deque[tuple[int, int]] = deque([(unused, unused)] * FIFO, maxlen=FIFO)
        self.vertices: deque[int] = deque([unused] * FIFO, maxlen=FIFO)

    def fresh(self) -> int:
        """The next vertex that has not been used."""
        self.next += 1
        return self.next - 1

    def push_edge_triangle(self, a: int, b: int, c: int, *, is_new: bool) -> None:
        """Remember a triangle that shared an edge."""
        self.edges.appendleft((c, b))
        self.edges.appendleft((a, c))
        if is_new:
            self.vertices.appendleft(c)

    def push_whole(self, a: int, b: int, c: int, *, new: tuple[bool, bool]) -> None:
        """Remember a triangle that shared none."""
        self.edges.extendleft([(b, a), (c, b), (a, c)])
        self.vertices.extendleft([a, *(vertex for vertex, is_new in zip((b, c), new) if is_new)])


class _Triangles(_Fifos):
    def __init__(self, data: bytes, at: int, end: int, table: bytes) -> None:
        super().__init__(unused=0)
        self.data, self.at, self.end, self.table = data, at, end, table

    def triangle(self, code: int) -> tuple[int, int, int]:
        """The corners that one code tells."""
        high, low = code >> 4, code & 15
        if high == 15:
            return self._whole(low)
        a, b = self.edges[high]
        if low == 0:
            c = self.fresh()
        elif low < 13:
            c = self.vertices[low]
        elif low < 15:
            c = self.last = (self.last + (2 * low - 27)) % LARGEST
        else:
            c = self._index()
        self.push_edge_triangle(a, b, c, is_new=low == 0 or low >= 13)
        return a, b, c

    def _whole(self, low: int) -> tuple[int, int, int]:
        if low < 14:
            told, read = self.table[low], self.fresh
        else:
            if self.at >= self.end:
                raise ValueError("ends too early")
            told = self.data[self.at]
            self.at += 1
            if told == 0:
                self.next = 0
            read = self.fresh if low == 14 else self._index
        spelled = low >= 14
        a = read()
        b = self._corner(told >> 4, spelled)
        c = self._corner(told & 15, spelled)
        ends = (0, 15) if spelled else (0,)
        self.push_whole(a, b, c, new=(told >> 4 in ends, told & 15 in ends))
        return a, b, c

    def _corner(self, told: int, spelled: bool) -> int:
        if told == 0:
            return self.fresh()
        return self._index() if spelled and told == 15 else self.vertices[told - 1]

    def _index(self) -> int:
        value, self.at = _varint(self.data, self.at, self.end)
        self.last = (self.last + ((value >> 1) ^ -(value & 1))) % LARGEST
        return self.last


class _TriangleWriter(_Fifos):
    def __init__(self) -> None:
        super().__init__(unused=-1)
        self.data = bytearray()

    def code(self, *corners: int) -> int:
        """The code of a triangle; what it needs beside is appended to `data`."""
        for a, b, c in (corners, corners[1:] + corners[:1], corners[2:] + corners[:2]):
            high = _place(self.edges, (a, b), FIFO - 1)
            if high >= 0:
                low = self._third(c)
                self.push_edge_triangle(a, b, c, is_new=low == 0 or low >= 13)
                return high << 4 | low
        return self._spelled(*corners)

    def _third(self, c: int) -> int:
        if c == self.next:
            self.fresh()
            return 0
        place = _place(self.vertices, c, 13)
        if place > 0:
            return place
        if abs(c - self.last) == 1:
            low = 13 if c < self.last else 14
            self.last = c
            return low
        self._spell(c)
        return 15

    def _spelled(self, *corners: int) -> int:
        """A triangle that shares no recent edge, begun at the corner that is fresh, if one is."""
        turns = (corners, corners[1:] + corners[:1], corners[2:] + corners[:2])
        a, b, c = next((turned for turned in turns if turned[0] == self.next), corners)
        is_fresh = a == self.next
        both_follow = (b, c) == ((a + 1, a + 2) if is_fresh else (self.next, self.next + 1))
        if is_fresh and both_follow:  # the first entry of the table, which is zeros
            self.next += 3
            self.push_whole(a, b, c, new=(True, True))
            return 0xF0
        place = len(self.data)
        self.data.append(0)
        if is_fresh:
            self.fresh()
        else:
            self._spell(a)
        if both_follow:  # 0 for both would count from 0 again: the second is told by itself, so the third is not next
            self._spell(b)
            told = (15, self._told(c))
        else:
            told = (self._told(b), self._told(c))
        self.data[place] = told[0] << 4 | told[1]
        self.push_whole(a, b, c, new=(told[0] in (0, 15), told[1] in (0, 15)))
        return 0xFE if is_fresh else 0xFF

    def _told(self, vertex: int) -> int:
        if vertex == self.next:
            self.fresh()
            return 0
        place = _place(self.vertices, vertex, 14)
        if place >= 0:
            return place + 1
        self._spell(vertex)
        return 15

    def _spell(self, vertex: int) -> None:
        step = vertex - self.last
        value = (step << 1) ^ (step >> 63)
        self.last = vertex
        while value > 0x7F:
            self.data.append(value & 0x7F | 0x80)
            value >>= 7
        self.data.append(value)


def _place(fifo: deque[Any], wanted: object, most: int) -> int:
    """Where something stands among the newest, -1 where it does not."""
    for place in range(most):
        if fifo[place] == wanted:
            return place
    return -1


def _varint(data: bytes, at: int, end: int) -> tuple[int, int]:
    """An unsigned number of 7 bits a byte, and where the next begins."""
    value = 0
    for shift in range(0, 35, 7):
        if at >= end:
            raise ValueError("ends too early")
        byte = data[at]
        at += 1
        value |= (byte & 0x7F) << shift
        if byte < 0x80:
            return value % LARGEST, at
    raise ValueError("holds a number of more than five bytes")
