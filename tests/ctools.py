"""The system's C compiler, without which a test is skipped, and `runtime/dressform_follow.h` from Python."""

import ctypes
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

RUNTIME = Path(__file__).resolve().parent.parent / "runtime"
HEADER = RUNTIME / "dressform_follow.h"
STRICT = ("-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "-Wconversion", "-Wshadow")
SANITIZERS = ("-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")
OK = 0
POSITION, NORMAL = 0, 1
NONE = 0xFFFFFFFF


def compiler(names: tuple[str, ...] = ("cc", "gcc", "clang"), variable: str = "CC") -> str:
    """A C compiler: the one that CC names, else the first on the search path."""
    found = os.environ.get(variable) or next(filter(None, map(shutil.which, names)), None)
    if found is None:
        pytest.skip(f"no compiler found ({', '.join(names)}): install one, or set {variable} to its path")
    return found


def build(source: Path, made: Path, *flags: str, with_compiler: str | None = None) -> Path:
    """Compile one source with every warning an error; the program or library that was made."""
    command = [with_compiler or compiler(), *flags, str(source), "-o", str(made)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return made


def has_sanitizers(folder: Path) -> bool:
    """Whether what is compiled with sanitizers can be linked here."""
    empty = folder / "empty.c"
    empty.write_text("int main(void) { return 0; }\n", encoding="utf-8")
    command = [compiler(), *SANITIZERS, str(empty), "-o", str(folder / "empty")]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


class File(ctypes.Structure):
    """`dressform_file`; only the number of meshes is read."""

    _fields_ = (
        *((name, ctypes.c_void_p) for name in ("json", "binary")),
        *((name, ctypes.c_size_t) for name in ("json_size", "binary_size")),
        *((name, ctypes.c_void_p) for name in ("views", "accessors", "meshes")),
        *((name, ctypes.c_uint32) for name in ("view_count", "accessor_count", "mesh_count")),
    )


class ClothFields(ctypes.Structure):
    """`dressform_cloth`."""

    _fields_ = (
        *((name, ctypes.c_uint32) for name in ("vertex_count", "target_count", "block_count")),
        *((name, ctypes.POINTER(ctypes.c_float)) for name in ("points", "base")),
        ("slots", ctypes.POINTER(ctypes.c_uint32)),
        ("deltas", ctypes.POINTER(ctypes.c_float)),
        ("piece_count", ctypes.c_uint32),
        ("weights", ctypes.POINTER(ctypes.c_float)),
        ("changed", ctypes.POINTER(ctypes.c_ubyte)),
        ("active", ctypes.POINTER(ctypes.c_uint32)),
        ("active_weights", ctypes.POINTER(ctypes.c_float)),
        ("active_count", ctypes.c_uint32),
        ("sources", ctypes.c_void_p),
        ("factors", ctypes.c_void_p),
    )


class Table(ctypes.Structure):
    """`dressform_table`."""

    _fields_ = (("rows", ctypes.c_void_p), ("slider_count", ctypes.c_uint32), ("target_count", ctypes.c_uint32))


class Refused(Exception):
    """What the header said of a file or call."""


class Header:
    """The header, compiled into a library."""

    def __init__(self, folder: Path) -> None:
        flags = (*STRICT, "-O3", "-x", "c", "-shared", "-fPIC", "-DDRESSFORM_FOLLOW_IMPLEMENTATION")
        self.compiled = ctypes.CDLL(str(build(HEADER, folder / "follow.so", *flags)))
        self.compiled.dressform_says.restype = ctypes.c_char_p
        self.compiled.dressform_target_count.restype = ctypes.c_uint32
        self.compiled.dressform_target_find.restype = ctypes.c_uint32
        self.compiled.dressform_slider_find.restype = ctypes.c_uint32

    def done(self, status: int) -> None:
        """Raise what a status says, unless it is well."""
        if status != OK:
            raise Refused(self.compiled.dressform_says(status).decode())

    def block(self) -> int:
        """Vertices of a block, by the header's own text."""
        line = next(one for one in HEADER.read_text(encoding="utf-8").splitlines() if "define DRESSFORM_BLOCK " in one)
        return int(line.split()[2].rstrip("u"))

    def open(self, glb: bytes, *, shift: int = 0) -> "OpenFile":
        """A file that is open; `shift` moves its bytes and its memory off their alignment."""
        return OpenFile(self, glb, shift)


class OpenFile:
    """A `dressform_file`, with the bytes and the memory that it lies in."""

    def __init__(self, header: Header, glb: bytes, shift: int) -> None:
        self.header, self.shift, self.file = header, shift, File()
        self.bytes = ctypes.create_string_buffer(bytes(shift) + glb, shift + len(glb))
        at, size = ctypes.addressof(self.bytes) + shift, ctypes.c_size_t(len(glb))
        need = ctypes.c_size_t()
        header.done(header.compiled.dressform_file_size(ctypes.c_void_p(at), size, ctypes.byref(need)))
        self.memory = (ctypes.c_ubyte * (need.value + shift))()
        room = ctypes.c_void_p(ctypes.addressof(self.memory) + shift)
        call = header.compiled.dressform_file_open
        header.done(call(ctypes.byref(self.file), ctypes.c_void_p(at), size, room, need))

    def name(self, target: int, *, mesh: int = 0, room: int = 100) -> str:
        """The name of a target."""
        text = ctypes.create_string_buffer(room)
        call = self.header.compiled.dressform_target_name
        self.header.done(call(ctypes.byref(self.file), mesh, target, text, ctypes.c_size_t(room)))
        return text.value.decode()

    def find(self, name: str, *, mesh: int = 0) -> int:
        """The target of a name."""
        return int(self.header.compiled.dressform_target_find(ctypes.byref(self.file), mesh, name.encode()))

    def table(self, *, mesh: int = 0, less: int = 0) -> np.ndarray:
        """The table of sliders that share targets, (sliders, targets), in `less` floats less than it asks for."""
        library, need, table = self.header.compiled, ctypes.c_size_t(), Table()
        self.header.done(library.dressform_table_size(ctypes.byref(self.file), mesh, ctypes.byref(need)))
        memory = np.zeros(need.value, dtype=np.float32)
        given = ctypes.c_void_p(memory.ctypes.data), ctypes.c_size_t(need.value - less)
        self.header.done(library.dressform_table_open(ctypes.byref(table), ctypes.byref(self.file), mesh, *given))
        assert table.rows == memory.ctypes.data
        count = table.slider_count * table.target_count
        return memory[:count].reshape(table.slider_count, table.target_count).copy()

    def slider(self, name: str, *, mesh: int = 0) -> int:
        """The row of a slider."""
        return int(self.header.compiled.dressform_slider_find(ctypes.byref(self.file), mesh, name.encode()))

    def cloth(self, *, mesh: int = 0, primitive: int = 0, field: int = POSITION, less: int = 0) -> "Cloth":
        """One attribute of one primitive, in `less` bytes less than it asks for."""
        library, need, made = self.header.compiled, ctypes.c_size_t(), Cloth(self.header)
        which = (ctypes.byref(self.file), mesh, primitive, field)
        self.header.done(library.dressform_cloth_size(*which, ctypes.byref(need)))
        made.memory = (ctypes.c_ubyte * (need.value + self.shift))()
        room = ctypes.c_void_p(ctypes.addressof(made.memory) + self.shift)
        size = ctypes.c_size_t(need.value - less)
        self.header.done(library.dressform_cloth_open(ctypes.byref(made.fields), *which, room, size))
        return made


class Cloth:
    """A `dressform_cloth` that follows."""

    def __init__(self, header: Header) -> None:
        self.header, self.fields = header, ClothFields()
        self.memory: ctypes.Array[ctypes.c_ubyte] | None = None

    def follow(self, weights: np.ndarray, *, call: str = "dressform_follow") -> np.ndarray:
        """A copy of the points at `weights`, (vertices, 3)."""
        given = np.ascontiguousarray(weights, dtype=np.float32)
        pointer = given.ctypes.data_as(ctypes.POINTER(ctypes.c_float))
        self.header.done(getattr(self.header.compiled, call)(ctypes.byref(self.fields), pointer, len(given)))
        return self.points.copy()

    @property
    def points(self) -> np.ndarray:
        """The points as they are, (vertices, 3): the cloth's own memory."""
        return self.array("points", self.fields.vertex_count * 3).reshape(-1, 3)

    def array(self, name: str, count: int) -> np.ndarray:
        """One of its arrays."""
        return np.ctypeslib.as_array(getattr(self.fields, name), (count,))

    def runs(self) -> list[tuple[int, int]]:
        """The stretches of vertices that the last call changed: first, count."""
        first, count, found = ctypes.c_uint32(0), ctypes.c_uint32(0), []
        step = self.header.compiled.dressform_next_run
        while step(ctypes.byref(self.fields), ctypes.byref(first), ctypes.byref(count)):
            found.append((first.value, count.value))
        return found
