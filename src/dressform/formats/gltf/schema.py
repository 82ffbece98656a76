"""The parts of glTF 2.0 that are read, as types: a typed view beside the untouched JSON.

Only what the reader looks at is named; every other key stays in the JSON and goes out as it came.
"""

from typing import Annotated, Any

from msgspec import Meta, Struct, field

Index = Annotated[int, Meta(ge=0)]
Count = Annotated[int, Meta(ge=1)]
Matrix = Annotated[list[float], Meta(min_length=16, max_length=16)]
Vector = Annotated[list[float], Meta(min_length=3, max_length=3)]
Quaternion = Annotated[list[float], Meta(min_length=4, max_length=4)]


class Asset(Struct, frozen=True, rename="camel"):
    version: str


class Buffer(Struct, frozen=True, rename="camel"):
    byte_length: Count
    uri: str | None = None


class BufferView(Struct, frozen=True, rename="camel"):
    buffer: Index
    byte_length: Count
    byte_offset: Index = 0
    byte_stride: Count | None = None


class SparseIndices(Struct, frozen=True, rename="camel"):
    buffer_view: Index
    component_type: int
    byte_offset: Index = 0


class SparseValues(Struct, frozen=True, rename="camel"):
    buffer_view: Index
    byte_offset: Index = 0


class Sparse(Struct, frozen=True, rename="camel"):
    count: Count
    indices: SparseIndices
    values: SparseValues


class Accessor(Struct, frozen=True, rename="camel"):
    component_type: int
    count: Count
    type: str
    buffer_view: Index | None = None
    byte_offset: Index = 0
    normalized: bool = False
    sparse: Sparse | None = None


class Primitive(Struct, frozen=True, rename="camel"):
    attributes: dict[str, Index]
    indices: Index | None = None
    material: Index | None = None
    mode: int = 4
    targets: list[dict[str, Index]] = []
    extras: Any = None


class Mesh(Struct, frozen=True, rename="camel"):
    primitives: Annotated[list[Primitive], Meta(min_length=1)]
    weights: list[float] | None = None
    name: str | None = None
    extras: Any = None


class Node(Struct, frozen=True, rename="camel"):
    children: list[Index] = []
    matrix: Matrix | None = None
    translation: Vector | None = None
    rotation: Quaternion | None = None
    scale: Vector | None = None
    mesh: Index | None = None
    skin: Index | None = None
    weights: list[float] | None = None
    name: str | None = None
    extras: Any = None


class GltfSkin(Struct, frozen=True, rename="camel"):
    joints: Annotated[list[Index], Meta(min_length=1)]
    inverse_bind_matrices: Index | None = None


class Scene(Struct, frozen=True, rename="camel"):
    nodes: list[Index] = []
    name: str | None = None


class AnimationTarget(Struct, frozen=True, rename="camel"):
    path: str
    node: Index | None = None


class AnimationChannel(Struct, frozen=True, rename="camel"):
    sampler: Index
    target: AnimationTarget


class AnimationSampler(Struct, frozen=True, rename="camel"):
    input: Index
    output: Index
    interpolation: str = "LINEAR"


class GltfAnimation(Struct, frozen=True, rename="camel"):
    channels: list[AnimationChannel]
    samplers: list[AnimationSampler]
    name: str | None = None


class Image(Struct, frozen=True, rename="camel"):
    uri: str | None = None
    mime_type: str | None = None
    buffer_view: Index | None = None


class Wrapping(Struct, frozen=True, rename="camel"):
    wrap_s: int = 10497
    wrap_t: int = 10497


class Texture(Struct, frozen=True, rename="camel"):
    source: Index | None = None
    sampler: Index | None = None


class TextureUse(Struct, frozen=True, rename="camel"):
    index: Index
    tex_coord: Index = 0
    extensions: dict[str, Any] = field(default_factory=dict)


class MetallicRoughness(Struct, frozen=True, rename="camel"):
    base_color_factor: Annotated[list[float], Meta(min_length=4, max_length=4)] = field(
        default_factory=lambda: [1.0, 1.0, 1.0, 1.0]
    )
    base_color_texture: TextureUse | None = None
    metallic_factor: float = 1.0
    roughness_factor: float = 1.0
    metallic_roughness_texture: TextureUse | None = None


class GltfMaterial(Struct, frozen=True, rename="camel"):
    name: str | None = None
    pbr_metallic_roughness: MetallicRoughness | None = None
    alpha_mode: str = "OPAQUE"
    alpha_cutoff: float = 0.5
    extras: Any = None


class Gltf(Struct, frozen=True, rename="camel"):
    asset: Asset
    accessors: list[Accessor] = []
    animations: list[GltfAnimation] = []
    buffer_views: list[BufferView] = []
    buffers: list[Buffer] = []
    images: list[Image] = []
    materials: list[GltfMaterial] = []
    meshes: list[Mesh] = []
    nodes: list[Node] = []
    scenes: list[Scene] = []
    skins: list[GltfSkin] = []
    samplers: list[Wrapping] = []
    textures: list[Texture] = []
    scene: Index | None = None
    extensions_required: list[str] = []
