"""Which reader reads which kind of file."""

from pathlib import Path

from dressform.errors import ArgumentError, FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.document import Document, read_document
from dressform.formats.obj import read_obj
from dressform.formats.ply import read_ply
from dressform.formats.usd.apart import read_usd
from dressform.formats.usd.modules import SUFFIXES as USD_SUFFIXES
from dressform.formats.xml_meshes.collada import read_collada

GLTF_SUFFIXES = (".glb", ".gltf", ".vrm")
READERS = {".obj": read_obj, ".ply": read_ply, ".dae": read_collada}
READ_SUFFIXES = (*GLTF_SUFFIXES, *READERS, *USD_SUFFIXES)


def read_gltf(path: Path) -> Document | None:
    """The glTF document, or None where the name says that the file is something else."""
    return read_document(path) if path.suffix.lower() in GLTF_SUFFIXES else None


def read_other(path: Path, base: str | None = None) -> FileMesh:
    """A mesh from a file that is not glTF.

    Args:
        path: The file.
        base: Prim of a USD file whose meshes alone are read.

    Raises:
        FileError: the kind of file is not known, or see the reader of that kind.
        ArgumentError: `base` names nothing that the file shows, or the file is of a kind that names no bases.
    """
    if path.suffix.lower() in USD_SUFFIXES:
        return read_usd(path, base)
    if base is not None:
        rule = "left out: only glTF and USD name bases"
        raise ArgumentError.of("load_body", "base", rule, repr(base), "Leave it out")
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        problem = f"is a {path.suffix or 'nameless kind of'} file"
        raise FileError.of(path, "", problem, f"Export it as one of {', '.join(READ_SUFFIXES)}")
    return reader(path)
