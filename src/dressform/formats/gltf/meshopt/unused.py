"""Accessors of a file that nothing uses, such as the positions that a repair has replaced."""

from typing import Any

from dressform.formats.gltf.document import Document

HARMLESS = ("KHR_materials_", "KHR_texture_", "KHR_lights_punctual", "KHR_mesh_quantization", "EXT_meshopt_compression",
            "KHR_meshopt_compression", "EXT_texture_", "VRM", "KHR_animation_pointer")  # fmt: skip
"""How extensions begin that name no further accessors. Of others that is not known."""


def unused_accessors(document: Document) -> frozenset[int]:
    """Numbers of the accessors that no mesh, skin or animation names; none where an extension might name some.

    Proof: tests/formats/gltf/test_optimise.py
    """
    tree = document.json
    if not all(str(name).startswith(HARMLESS) for name in tree.get("extensionsUsed", ())):
        return frozenset()
    used: set[int] = set()
    for mesh in document.gltf.meshes:
        for one in mesh.primitives:
            used.update(one.attributes.values(), *(target.values() for target in one.targets))
            used.update(() if one.indices is None else (one.indices,))
    for skin in _dicts(tree.get("skins")):
        used.update(_numbers(skin, "inverseBindMatrices"))
    for animation in _dicts(tree.get("animations")):
        for sampler in _dicts(animation.get("samplers")):
            used.update(_numbers(sampler, "input", "output"))
    return frozenset(range(len(document.gltf.accessors))) - used


def _numbers(entry: dict[str, Any], *names: str) -> list[int]:
    return [entry[name] for name in names if isinstance(entry.get(name), int)]


def _dicts(entries: Any) -> list[dict[str, Any]]:
    return [entry for entry in entries if isinstance(entry, dict)] if isinstance(entries, list) else []
