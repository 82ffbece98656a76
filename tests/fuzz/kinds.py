"""Every kind of file and message that is read: small sound ones, how each is read, and what must hold of it."""

import io
import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import Image

from collada_files import collada_file, morph, skin
from dressform.body.stances.human import recognise
from dressform.body.stances.stated import stated_stance
from dressform.body.stances.zero import zero_pose
from dressform.errors import DressformError
from dressform.formats.bands_file import read_bands
from dressform.formats.case_file import Case, CaseFile, CaseGarment, CaseShape, CaseView, case_bytes, read_case
from dressform.formats.following_file import read_following
from dressform.formats.guards.npy import parse_npy
from dressform.formats.load import load_body, load_garment
from dressform.formats.moving.stances_file import read_stances
from dressform.formats.outfit_file import read_outfits
from dressform.formats.range_file import read_range
from dressform.formats.results.check_json import results_json
from dressform.formats.results.check_read import read_results
from dressform.garment.following import Following
from dressform.report.pictures.looks import look_of
from dressform.web.requests import read_request
from explanations import causes, explanation
from findings import check_report
from gltf_files import CUBE, Gltf, cube
from ply_files import EVEN, MIXED, binary, text
from skeletons import keeper
from skinned_files import spaces


@dataclass(frozen=True)
class Kind:
    """One kind of input.

    Attributes:
        suffix: Ending of its file.
        form: How it is damaged: "glb", "json", "text" or "bytes".
        seeds: Sound ones; a function, as some are written by the program.
        read: Reads one as the program does, and checks what came of it.
    """

    suffix: str
    form: str
    seeds: Callable[[Path], list[bytes]]
    read: Callable[[Path], None]


def _painted() -> Gltf:
    """A cube with morphs, colours, a mask and a picture."""
    made = cube(material=0)
    stream = io.BytesIO()
    Image.new("RGB", (4, 4), (200, 100, 50)).save(stream, "PNG")
    primitive = made.tree["meshes"][0]["primitives"][0]
    primitive["targets"] = [{"POSITION": made.accessor(CUBE * 0.1)}, {"POSITION": made.accessor(CUBE[::-1] * 0.1)}]
    primitive["attributes"] |= {"COLOR_0": made.accessor(np.ones((8, 4)) * 0.5), "_STRENGTH": made.accessor(CUBE[:, 1])}
    made.tree["images"] = [{"bufferView": made.view(stream.getvalue()), "mimeType": "image/png"}]
    made.tree["textures"] = [{"source": 0}]
    made.tree["materials"] = [{"name": "wool", "pbrMetallicRoughness": {"baseColorTexture": {"index": 0}}}]
    return made


def _glb(_: Path) -> list[bytes]:
    return [made.glb() for made in (_painted(), cube(), *spaces())]


def _gltf(_: Path) -> list[bytes]:
    files = []
    for made in (_painted(), cube()):
        made.tree["buffers"] = [{"byteLength": len(made.binary), "uri": made.data_uri()}]
        files.append(json.dumps(made.tree).encode())
    return files


def _collada(folder: Path) -> list[bytes]:
    shown = '<instance_controller url="#skin"/>'
    plain = collada_file(folder, '<instance_geometry url="#cube"/>').read_bytes()
    return [plain, collada_file(folder, shown, controllers=morph() + skin("morph")).read_bytes()]


def _obj(_: Path) -> list[bytes]:
    corners = "".join(f"v {x:g} {y:g} {z:g}\n" for x, y, z in CUBE)
    return [
        f"{corners}vt 0 0\nvt 1 1\nvn 0 0 1\ng a\nusemtl wool\n"
        "f 1/1/1 2/2/1 4/1/1 3/2/1\nf -1 -2 -4\nf 5//1 6//1 8//1\n".encode(),
    ]


def _npy(_: Path) -> list[bytes]:
    files = []
    for values in (np.linspace(0, 1, 8, dtype=np.float32), np.zeros((2, 4)), np.arange(6, dtype=np.uint8)):
        stream = io.BytesIO()
        np.save(stream, values)
        files.append(stream.getvalue())
    return files


def _case(_: Path) -> list[bytes]:
    file = CaseFile("oilskin", "oilskin.glb", "0123456789abcdef" * 4)
    following = Following(strength=0.5, mask=np.linspace(0, 1, 4))
    shape, view = CaseShape("belly=1", {"belly": 1.0}), CaseView((0.0, 1.0, 3.0), (0.0, 1.0, 0.0))
    return [case_bytes(Case(CaseGarment.of(file, following), file, shape, "2026-01-01", view=view, note="gapes"))]


def _results(_: Path) -> list[bytes]:
    return [results_json(replace(check_report(), causes=causes(explanation()))).encode()]


def _requests(_: Path) -> list[bytes]:
    pose = {"animation": 0, "time": 0.5, "turns": {"hip": [0, 0, 0, 1]}}
    requests = [
        {"id": 1, "request": "shape", "weights": [0.5, 0.1], "garments": ["coat smooth"], "pose": pose},
        {
            "id": 2,
            "request": "edit",
            "garment": "coat",
            "settings": {"strength": 0.5, "parts": {"hood": 0.2}, "mask": [0, 1]},
        },
        {
            "id": 3,
            "request": "case",
            "weights": [0],
            "garments": [],
            "view": {"position": [0, 1, 3], "target": [0, 1, 0]},
        },
        {"id": 4, "request": "tape", "targets": {"bust": 96}},
        {"id": 5, "request": "cancel", "of": 4},
    ]
    return [json.dumps(request).encode() for request in requests]


RANGE = b'# reach\n[range]\nbelly = [-0.5, 1.5]\n"hips" = [0, 1]\n'
FOLLOWING = (
    b'format = "dressform-following/1"\n\n[garment.coat]\nstrength = 0.9\nfalloff_mm = 30\nhard = ["toggles"]\n'
    b'painted = "paint.npy"\nmethod = "smooth"\n\n[garment.coat.parts]\ncollar = 0.5\n'
)
OUTFIT = b'[outfit.ashore]\nlayers = ["inner.glb", "outer.glb"]\n'
STANCES = (
    b'format = "dressform-stances/1"\nuse = ["everyday"]\n\n[joints]\nleft_elbow = "forearm_l"\n\n[stances.haul]\n'
    b"motions = { shoulder = { flexion = 70 }, trunk = { flexion = 20 } }\n\n[[stances.shrug.turns]]\n"
    b'joint = "clavicle_l"\naxis = [0, 0, 1]\ndegrees = 15\nmirror = true\n'
)
BANDS = b"[bands]\nexposed = [0.2, 2, 20]\ndepth = [1, 3, 10]\n"


def _mesh(path: Path) -> None:
    """Read as a garment and as a body; both hold what their constructors promise, checked here by other words."""
    file = load_garment(path, units="m")
    cloth = file.garment
    assert np.isfinite(cloth.vertices).all()
    assert cloth.faces.min() >= 0
    assert cloth.faces.max() < len(cloth.vertices)
    assert set(np.unique(cloth.face_parts)) <= set(range(len(cloth.part_names)))
    look = look_of(file)
    assert ((look.colours >= 0) & (look.colours <= 1)).all()
    assert ((look.gloss >= 0) & (look.gloss <= 1)).all()
    try:
        body = load_body(path, units="m", up="y").body
    except DressformError:
        return
    assert len(set(body.morph_names)) == len(body.morph_names) == len(body.deltas)
    assert np.isfinite(body.at(np.full(len(body.deltas), 0.5))).all()
    if body.skin is not None:
        np.testing.assert_allclose(body.skin.weights.sum(axis=1), 1.0, atol=1e-6)


def _following(path: Path) -> None:
    (path.parent / "paint.npy").write_bytes(_npy(path.parent)[0])
    for following in read_following(path).values():
        if isinstance(following.mask, np.ndarray):
            assert ((following.mask >= 0) & (following.mask <= 1)).all()


def _outfits(path: Path) -> None:
    for name in ("inner.glb", "outer.glb"):
        (path.parent / name).touch()
    assert all(file.is_file() for layers in read_outfits(path).values() for file in layers)


def _range(path: Path) -> None:
    assert (read_range(path, ("belly", "hips")).widths >= 0).all()


def _stances(path: Path) -> None:
    stated = read_stances(path)
    zero = zero_pose(recognise(keeper(), told=stated.joints))
    for name, one in stated.stances.items():
        turns = stated_stance("fuzz", name, one, zero, (), origin="").worlds[:, :3, :3]
        assert np.abs(turns @ turns.transpose(0, 2, 1) - np.eye(3)).max() < 1e-9


def _results_read(path: Path) -> None:
    told = read_results(path.read_bytes(), path=str(path))
    assert all(cluster.name for garment in told.garments for cluster in garment.clusters)


def _numbers(path: Path) -> None:
    assert parse_npy(path.read_bytes(), path, "", path.name, advice="Save it again").dtype.kind in "fiu"


def _request(path: Path) -> None:
    assert read_request(path.read_bytes().decode("utf-8", "replace")).id >= 1


def _ply(_: Path) -> list[bytes]:
    return [text(MIXED), binary(MIXED, order="<"), binary(EVEN, order=">")]


KINDS = {
    "glb": Kind(".glb", "glb", _glb, _mesh),
    "gltf": Kind(".gltf", "json", _gltf, _mesh),
    "obj": Kind(".obj", "text", _obj, _mesh),
    "ply": Kind(".ply", "bytes", _ply, _mesh),
    "collada": Kind(".dae", "text", _collada, _mesh),
    "range": Kind(".toml", "text", lambda _: [RANGE], _range),
    "following": Kind(".toml", "text", lambda _: [FOLLOWING], _following),
    "outfit": Kind(".toml", "text", lambda _: [OUTFIT], _outfits),
    "stances": Kind(".toml", "text", lambda _: [STANCES], _stances),
    "bands": Kind(".toml", "text", lambda _: [BANDS], lambda path: read_bands(path) and None),
    "npy": Kind(".npy", "bytes", _npy, _numbers),
    "results": Kind(".json", "json", _results, _results_read),
    "case": Kind(".case.json", "json", _case, lambda path: read_case(path) and None),
    "request": Kind(".json", "json", _requests, _request),
}
