"""Runs in an interpreter that has `bpy`: opens a GLB or a USD file and writes what it holds as GLB. IN OUT."""

import sys

import bpy

source, target = sys.argv[1:3]
bpy.ops.wm.read_factory_settings(use_empty=True)
if source.endswith(".glb"):
    bpy.ops.import_scene.gltf(filepath=source)
else:
    bpy.ops.wm.usd_import(filepath=source, import_blendshapes=True, import_skeletons=True)
bpy.ops.export_scene.gltf(
    filepath=target,
    export_format="GLB",
    export_morph=True,
    export_morph_normal=True,
    export_skins=True,
    export_extras=True,
    export_animations=False,
)
