"""The little of glTF's materials that our own files use [glTF2 3.9]."""

from dataclasses import dataclass
from typing import Any

from dressform.formats.gltf.builder import Builder


@dataclass(frozen=True)
class Material:
    """A plain surface.

    Attributes:
        name: Name in the file.
        colour: Base colour, linear red, green, blue, alpha in [0, 1].
        roughness: 0 mirror to 1 chalk.
        metalness: 0 or 1.
        is_double_sided: Whether cloth is seen from inside too.
        picture: PNG bytes of the base colour, multiplied by `colour`, or None.
    """

    name: str
    colour: tuple[float, float, float, float] = (0.8, 0.8, 0.8, 1.0)
    roughness: float = 0.9
    metalness: float = 0.0
    is_double_sided: bool = True
    picture: bytes | None = None


def add_material(builder: Builder, material: Material) -> int:
    """Append a material, and its picture where it has one; the new index."""
    surface: dict[str, Any] = {
        "baseColorFactor": list(material.colour),
        "roughnessFactor": material.roughness,
        "metallicFactor": material.metalness,
    }
    if material.picture is not None:
        view = builder.add_view(material.picture)
        image = builder.add("images", {"name": material.name, "mimeType": "image/png", "bufferView": view})
        surface["baseColorTexture"] = {"index": builder.add("textures", {"source": image})}
    entry: dict[str, Any] = {"name": material.name, "pbrMetallicRoughness": surface}
    if material.is_double_sided:
        entry["doubleSided"] = True
    return builder.add("materials", entry)
