"""Small COLLADA files for tests."""

from pathlib import Path

import numpy as np

from gltf_files import CUBE, CUBE_FACES

NAMESPACES = {
    "1.4.1": "http://www.collada.org/2005/11/COLLADASchema",
    "1.5.0": "http://www.collada.org/2008/03/COLLADASchema",
}
UP = np.array([0.0, 0.5, 0.0])


def numbers(values: np.ndarray) -> str:
    return " ".join(f"{value:.9g}" for value in np.ravel(values))


def source(key: str, values: np.ndarray, names: str) -> str:
    params = "".join(f'<param name="{name}" type="float"/>' for name in names)
    return (
        f'<source id="{key}"><float_array id="{key}-a" count="{np.size(values)}">{numbers(values)}</float_array>'
        f'<technique_common><accessor source="#{key}-a" count="{len(values)}" stride="{len(names)}">{params}'
        "</accessor></technique_common></source>"
    )


def names_source(key: str, words: list[str], kind: str) -> str:
    tag = {"name": "Name_array", "IDREF": "IDREF_array"}[kind]
    return (
        f'<source id="{key}"><{tag} id="{key}-a" count="{len(words)}">{" ".join(words)}</{tag}><technique_common>'
        f'<accessor source="#{key}-a" count="{len(words)}"><param name="X" type="{kind}"/></accessor>'
        "</technique_common></source>"
    )


def geometry(key: str, positions: np.ndarray, *, polygons: str | None = None) -> str:
    triangles = polygons or (
        f'<triangles count="12" material="wool"><input semantic="VERTEX" source="#{key}-v" offset="0"/>'
        f"<p>{numbers(CUBE_FACES)}</p></triangles>"
    )
    return (
        f'<geometry id="{key}" name="{key}"><mesh>{source(key + "-p", positions, "XYZ")}'
        f'<vertices id="{key}-v"><input semantic="POSITION" source="#{key}-p"/></vertices>{triangles}</mesh></geometry>'
    )


def morph(*, method: str = "NORMALIZED") -> str:
    return (
        f'<controller id="morph"><morph source="#cube" method="{method}">{names_source("mt", ["belly"], "IDREF")}'
        f"{source('mw', np.array([[0.25]]), 'W')}<targets>"
        '<input semantic="MORPH_TARGET" source="#mt"/><input semantic="MORPH_WEIGHT" source="#mw"/></targets>'
        "</morph></controller>"
    )


def skin(over: str) -> str:
    binds = np.stack([np.eye(4), np.linalg.inv(moved(0, 0.5, 0))])
    matrices = source("sb", binds.reshape(2, 16), "ABCDEFGHIJKLMNOP")
    weights = np.array([[1.0], [0.25], [0.75]])
    vertices = " ".join("0 1 1 2" for _ in range(8))
    return (
        f'<controller id="skin"><skin source="#{over}"><bind_shape_matrix>{numbers(np.eye(4))}</bind_shape_matrix>'
        f"{names_source('sj', ['hip', 'knee'], 'name')}{matrices}{source('sw', weights, 'W')}"
        '<joints><input semantic="JOINT" source="#sj"/><input semantic="INV_BIND_MATRIX" source="#sb"/></joints>'
        '<vertex_weights count="8"><input semantic="JOINT" source="#sj" offset="0"/>'
        f'<input semantic="WEIGHT" source="#sw" offset="1"/><vcount>{"2 " * 8}</vcount><v>{vertices}</v>'
        "</vertex_weights></skin></controller>"
    )


def moved(x: float, y: float, z: float) -> np.ndarray:
    matrix = np.eye(4)
    matrix[:3, 3] = (x, y, z)
    return matrix


def collada_file(
    tmp_path: Path,
    shown: str,
    *,
    version: str = "1.4.1",
    asset: str = "",
    controllers: str = "",
    belly: np.ndarray | None = None,
    cube: str | None = None,
) -> Path:
    joints = (
        '<node id="n-hip" sid="hip" name="hip" type="JOINT"><node id="n-knee" sid="knee" name="knee" type="JOINT">'
        f"<matrix>{numbers(moved(0, 0.5, 0))}</matrix></node></node>"
    )
    path = tmp_path / "cube.dae"
    path.write_text(
        f'<?xml version="1.0"?><COLLADA xmlns="{NAMESPACES[version]}" version="{version}"><asset>{asset}</asset>'
        f"<library_geometries>{cube or geometry('cube', CUBE)}"
        f"{geometry('belly', CUBE + UP if belly is None else belly)}</library_geometries>"
        f"<library_controllers>{controllers}</library_controllers>"
        f'<library_visual_scenes><visual_scene id="s">{joints}<node id="m">{shown}</node></visual_scene>'
        '</library_visual_scenes><scene><instance_visual_scene url="#s"/></scene></COLLADA>'
    )
    return path
