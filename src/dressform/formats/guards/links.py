"""What a glTF names by number must be there: buffers, buffer views, materials, textures, images [glTF2 3.9].

Accessors, meshes, nodes and skins are checked where they are read.
"""

from collections.abc import Iterator
from pathlib import Path

from dressform.errors import FileError
from dressform.formats.gltf.schema import Gltf

AGAIN = "Export the file again"


def refuse_broken_links(path: Path, gltf: Gltf) -> None:
    """Refuse a file in which a number names nothing, or a buffer view ends beyond its buffer.

    Raises:
        FileError: the place is named.
    """
    for place, what, index, count in (*_view_links(gltf), *_surface_links(gltf)):
        if index is not None and index >= count:
            raise FileError.of(path, place, f"names {what} {index} of {count}", AGAIN)
    for at, view in enumerate(gltf.buffer_views):
        end, declared = view.byte_offset + view.byte_length, gltf.buffers[view.buffer].byte_length
        if end > declared:
            problem = f"ends at byte {end:,} of a buffer of {declared:,}"
            raise FileError.of(path, f"bufferViews[{at}]", problem, AGAIN)


Link = tuple[str, str, int | None, int]
"""Place, what it names, its number, and how many there are."""


def _view_links(gltf: Gltf) -> Iterator[Link]:
    for at, view in enumerate(gltf.buffer_views):
        yield f"bufferViews[{at}]", "buffer", view.buffer, len(gltf.buffers)
    for at, image in enumerate(gltf.images):
        yield f"images[{at}]", "buffer view", image.buffer_view, len(gltf.buffer_views)


def _surface_links(gltf: Gltf) -> Iterator[Link]:
    for at, mesh in enumerate(gltf.meshes):
        for number, primitive in enumerate(mesh.primitives):
            yield f"meshes[{at}].primitives[{number}]", "material", primitive.material, len(gltf.materials)
    for at, material in enumerate(gltf.materials):
        stated = material.pbr_metallic_roughness
        for use in () if stated is None else (stated.base_color_texture, stated.metallic_roughness_texture):
            yield f"materials[{at}]", "texture", None if use is None else use.index, len(gltf.textures)
    for at, texture in enumerate(gltf.textures):
        yield f"textures[{at}]", "image", texture.source, len(gltf.images)
        yield f"textures[{at}]", "sampler", texture.sampler, len(gltf.samplers)
