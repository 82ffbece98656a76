"""`runtime/dressform_follow.h` follows as the library does, writes only what changes, and refuses what is damaged."""

import ctypes
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from ctools import (
    HEADER,
    NONE,
    NORMAL,
    RUNTIME,
    SANITIZERS,
    STRICT,
    Header,
    Refused,
    Table,
    build,
    compiler,
    has_sanitizers,
)
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.follow import Follower
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from gltf_files import Gltf, cube
from phantoms import capsule, phantom_tube
from solids import made_fit

pytestmark = pytest.mark.compiler

SAME_PLACE = 1e-5  # metres
NAMES = ("belly", "hüfte", 'a "b" \\ \n c', "東")


@pytest.fixture(scope="module")
def header(tmp_path_factory: pytest.TempPathFactory) -> Header:
    return Header(tmp_path_factory.mktemp("header"))


@pytest.fixture(scope="module")
def fitted(written: tuple[Path, Body]) -> tuple[Path, Body]:
    """The garment with a target for each morph, and its body."""
    return written[0] / "fitted.glb", written[1]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Body]:
    """A garment of nine morphs, the first of which leaves it alone and the second moves an eighth of it; its body."""
    folder = tmp_path_factory.mktemp("fitted")
    vertices, faces = capsule()
    names = tuple(f"morph {number}" for number in range(9))
    body = Body("capsule", vertices, faces, names, 0.1 * np.stack([vertices] * 9), Range.unit(names))
    save_body(body, folder / "body.glb")
    save_garment(phantom_tube(), folder / "tube.glb")
    body_file = load_body(folder / "body.glb", units="m", up="y", front="z")
    garment_file = load_garment(folder / "tube.glb", units="m", up="y", front="z")
    fit = made_fit(garment_file.garment, body_file.body)
    deltas = np.array(fit.deltas)
    deltas[0] = 0.0
    deltas[1][len(fit.base) // 8 :] = 0.0
    fit = replace(fit, deltas=deltas)
    save_fit(fit, garment_file, body_file, folder / "fitted.glb")
    save_fit(fit, garment_file, body_file, folder / "basis.glb", style=TargetStyle(basis=1e-6))
    return folder, body_file.body


def targets(*values: dict[str, np.ndarray | int], made: Gltf | None = None) -> bytes:
    """A cube with targets: arrays for dense ones, numbers for accessors that are there."""
    made = made or cube()
    primitive = made.tree["meshes"][0]["primitives"][0]
    primitive["targets"] = [
        {name: one if isinstance(one, int) else made.accessor(one) for name, one in each.items()} for each in values
    ]
    return made.glb()


def sparse(made: Gltf, rows: list[int], values: np.ndarray, *, dense: int | None = None, code: str = "u1") -> int:
    """A sparse accessor of eight elements, over zeros or over a view."""
    index = made.accessor(np.zeros((8, 3)), bufferView=dense)
    made.tree["accessors"][index]["sparse"] = {
        "count": len(rows),
        "indices": {
            "bufferView": made.view(np.array(rows, "<" + code).tobytes()),
            "componentType": {"u1": 5121, "u2": 5123, "u4": 5125}[code],
        },
        "values": {"bufferView": made.view(np.asarray(values, "<f4").tobytes())},
    }
    return index


@pytest.mark.parametrize("program", ["example.c", "bench.c", "fuzz.c"])
def test_every_program_compiles_as_strict_c99_without_a_warning(program: str, tmp_path: Path) -> None:
    build(RUNTIME / program, tmp_path / "made", *STRICT, "-fsyntax-only")


def test_the_header_compiles_as_cplusplus_too(tmp_path: Path) -> None:
    cplusplus = compiler(("c++", "g++", "clang++"), "CXX")
    flags = (
        "-std=c++11",
        "-Wall",
        "-Wextra",
        "-Werror",
        "-pedantic",
        "-x",
        "c++",
        "-c",
        "-DDRESSFORM_FOLLOW_IMPLEMENTATION",
    )
    build(HEADER, tmp_path / "made.o", *flags, with_compiler=cplusplus)


def test_a_fitted_file_is_followed_as_the_library_follows_it(header: Header, fitted: tuple[Path, Body]) -> None:
    path, body = fitted
    stored = load_garment(path, units="m", up="y").file_to_cloth
    ours = Follower(load_fit(path, body))
    opened = header.open(path.read_bytes())
    assert [opened.name(target) for target in range(len(body.morph_names))] == list(body.morph_names)
    cloth = opened.cloth()
    rng = np.random.default_rng(5)
    for share in np.linspace(0, 1, 200):
        weights = rng.uniform(-1, 2, len(body.morph_names)) * (rng.random(len(body.morph_names)) < share)
        assert np.abs(cloth.follow(weights) - ours.at(weights)[stored]).max() < SAME_PLACE


def test_what_a_target_does_not_move_takes_no_memory_and_is_not_written(
    header: Header, fitted: tuple[Path, Body]
) -> None:
    path, body = fitted
    cloth, block = header.open(path.read_bytes()).cloth(), header.block()
    count = cloth.fields.vertex_count
    assert cloth.runs() == [(0, count)]  # fresh: everything is to be uploaded
    slots = cloth.array("slots", cloth.fields.target_count * cloth.fields.block_count)
    slots = slots.reshape(cloth.fields.target_count, -1)
    assert not slots[0].any()
    assert 0 < np.count_nonzero(slots[1]) <= count // 8 // block + 1
    assert cloth.fields.piece_count == 1 + np.count_nonzero(slots)
    weights = np.zeros(len(body.morph_names))
    cloth.follow(weights)
    assert cloth.runs() == []
    weights[0] = 1.0
    cloth.follow(weights)
    assert cloth.runs() == []
    weights[1] = 0.5
    before = cloth.points.copy()
    cloth.points[:] = np.nan  # what is not written stays so
    cloth.follow(weights)
    changed = np.zeros(count, dtype=bool)
    for first, length in cloth.runs():
        changed[first : first + length] = True
    assert np.array_equal(np.isfinite(cloth.points).all(axis=1), changed)
    assert np.array_equal(
        changed[: changed.size // block * block].reshape(-1, block).any(axis=1), slots[1][: changed.size // block] > 0
    )
    cloth.points[~changed] = before[~changed]
    fresh = header.open(path.read_bytes()).cloth().follow(weights)
    assert np.array_equal(cloth.points, fresh)


def test_the_same_weights_give_the_same_bytes_whatever_came_before(header: Header, fitted: tuple[Path, Body]) -> None:
    path, body = fitted
    opened = header.open(path.read_bytes())
    cloth = opened.cloth()
    rng = np.random.default_rng(6)
    for _ in range(300):
        weights = rng.uniform(-1, 2, len(body.morph_names)) * (rng.random(len(body.morph_names)) < 0.5)
        cloth.follow(weights)
    assert np.array_equal(cloth.points, opened.cloth().follow(weights))
    assert np.array_equal(cloth.follow(np.zeros(len(weights))), opened.cloth().points)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6, 7, 8, 9, 16, 17, 60])
def test_any_number_of_active_targets_is_summed(header: Header, count: int) -> None:
    rng = np.random.default_rng(count)
    deltas, weights = 0.1 * rng.normal(size=(count, 8, 3)).astype(np.float32), rng.uniform(-1, 2, count)
    glb = targets(*({"POSITION": delta} for delta in deltas))
    cloth = header.open(glb).cloth()
    base = cloth.points.astype(np.float64)
    assert np.abs(cloth.follow(weights) - (base + np.tensordot(weights, deltas, 1))).max() < SAME_PLACE


@pytest.mark.parametrize("shift", [1, 2, 3])
def test_bytes_and_memory_may_lie_at_any_address(header: Header, shift: int) -> None:
    delta = np.arange(24.0).reshape(8, 3)
    glb = targets({"POSITION": delta})
    straight = header.open(glb).cloth().follow(np.array([0.5]))
    assert np.array_equal(header.open(glb, shift=shift).cloth().follow(np.array([0.5])), straight)


@pytest.mark.parametrize("code", ["u1", "u2", "u4"])
def test_sparse_rows_replace_those_of_a_view_or_zeros(header: Header, code: str) -> None:
    made, rows, values = cube(), [1, 6], np.array([[1, 2, 3], [4, 5, 6]], dtype=np.float32)
    under = np.full((8, 3), 7.0)
    view = made.view(under.astype("<f4").tobytes())
    glb = targets(
        {"POSITION": sparse(made, rows, values, code=code)},
        {"POSITION": sparse(made, rows, values, dense=view, code=code)},
        made=made,
    )
    # `bufferView=None` leaves the key out: zeros, by the standard.
    cloth = header.open(glb).cloth()
    base = cloth.points.copy()
    alone, over = np.zeros((8, 3)), under.copy()
    alone[rows] = over[rows] = values
    assert np.allclose(cloth.follow(np.array([1.0, 0.0])) - base, alone)
    assert np.allclose(cloth.follow(np.array([0.0, 1.0])) - base, over)


@pytest.mark.parametrize(("code", "top"), [("i1", 127), ("u1", 255), ("i2", 32767), ("u2", 65535)])
def test_quantised_numbers_mean_what_gltf_says(header: Header, code: str, top: int) -> None:
    made = cube()
    low = -top - 1 if code[0] == "i" else 0
    whole = np.array([[0, 1, top], [low, low + 1, top // 2]] * 4, dtype="<" + code)
    glb = targets(
        {"POSITION": made.accessor(whole, code, normalized=True)}, {"POSITION": made.accessor(whole, code)}, made=made
    )
    cloth = header.open(glb).cloth()
    base = cloth.points.astype(np.float64)
    scaled = np.maximum(whole.astype(np.float64) / top, -1.0)
    assert np.abs(cloth.follow(np.array([1.0, 0.0])) - base - scaled).max() < 1e-6
    assert np.abs(cloth.follow(np.array([0.0, 0.01])) - base - 0.01 * whole.astype(np.float64)).max() < 1e-3


def test_strides_offsets_and_normals_are_read(header: Header) -> None:
    made = cube()
    rng = np.random.default_rng(1)
    pairs = rng.normal(size=(8, 2, 3)).astype("<f4")  # position and normal of a vertex side by side
    view = made.view(pairs.tobytes(), byteStride=24)
    entry = {"bufferView": view, "componentType": 5126, "count": 8, "type": "VEC3"}
    made.tree["accessors"] += [entry, {**entry, "byteOffset": 12}]
    last = len(made.tree["accessors"]) - 1
    made.tree["meshes"][0]["primitives"][0]["attributes"]["NORMAL"] = last
    opened = header.open(targets({"POSITION": last - 1, "NORMAL": last}, made=made))
    positions, normals = opened.cloth(), opened.cloth(field=NORMAL)
    moved = positions.points + 0.5 * pairs[:, 0]
    assert np.allclose(positions.follow(np.array([0.5])), moved, atol=1e-6)
    assert np.allclose(normals.follow(np.array([0.5])), 1.5 * pairs[:, 1], atol=1e-6)


def test_names_are_read_with_every_escape_and_found_again(header: Header) -> None:
    made = cube()
    made.tree["meshes"][0]["extras"] = {"targetNames": [*NAMES, "null\0end", 5]}  # json.dumps escapes all of them
    opened = header.open(targets(*({"POSITION": np.ones((8, 3))} for _ in range(6)), made=made))
    assert tuple(opened.name(target) for target in range(4)) == NAMES
    assert [opened.find(name) for name in NAMES] == [0, 1, 2, 3]
    assert opened.find("bell") == opened.find("bellyy") == opened.find("null") == NONE
    assert opened.name(5) == "target_5"
    assert opened.name(0, room=4) == "bel"
    assert opened.name(3, room=3) == ""  # a letter that does not fit is left out whole


def test_sliders_are_mixed_into_targets_by_a_table(header: Header) -> None:
    rows = np.random.default_rng(2).normal(size=(5, 3)).astype(np.float32)
    sliders, weights = np.arange(5, dtype=np.float32), np.full(3, np.nan, dtype=np.float32)
    table = Table(rows.ctypes.data, 5, 3)
    header.compiled.dressform_mix(
        ctypes.byref(table), ctypes.c_void_p(sliders.ctypes.data), ctypes.c_void_p(weights.ctypes.data)
    )
    assert np.allclose(weights, sliders @ rows, atol=1e-5)


def test_a_file_of_fewer_targets_is_followed_by_its_table(header: Header, written: tuple[Path, Body]) -> None:
    folder, body = written
    path = folder / "basis.glb"
    opened = header.open(path.read_bytes())
    table, cloth = opened.table(), opened.cloth()
    assert table.shape == (len(body.morph_names), cloth.fields.target_count)
    assert table.shape[1] < table.shape[0]
    assert [opened.slider(name) for name in body.morph_names] == list(range(len(body.morph_names)))
    assert opened.slider("morph") == NONE
    ours, stored = Follower(load_fit(path, body)), load_garment(path, units="m", up="y").file_to_cloth
    for weights in np.random.default_rng(8).uniform(-1, 2, (50, len(body.morph_names))):
        assert np.abs(cloth.follow(weights @ table) - ours.at(weights)[stored]).max() < SAME_PLACE


NUMBERS = (0, -1.5, 1e-3, 1.25e2, -7e-30, 123456789.123456789, 0.1234567890123456789012, 1e-320)


def basis_of(morphs: dict[str, list[float]], *, schema: str = "dressform-basis/1", first: str = "a") -> bytes:
    """A cube whose two targets, told in another order than they lie in, serve sliders."""
    made = cube()
    basis = {"schema": schema, "targets": [first, "b"], "morphs": morphs, "error_mm": 0.0}
    made.tree["meshes"][0]["extras"] = {"targetNames": ["b", "own", "a"], "basis": basis}
    return targets(*({"POSITION": np.ones((8, 3))} for _ in range(3)), made=made)


def test_a_table_holds_each_number_in_the_column_of_its_target(header: Header) -> None:
    table = header.open(basis_of({f"s{i}": [one, 2.0 * one] for i, one in enumerate(NUMBERS)})).table()
    assert np.allclose(table[:, 2], np.array(NUMBERS, dtype=np.float32), rtol=1e-6, atol=1e-45)
    assert np.allclose(table[:, 0], 2 * np.array(NUMBERS, dtype=np.float32), rtol=1e-6, atol=1e-45)
    assert not table[:, 1].any()


@pytest.mark.parametrize(
    ("glb", "said"),
    [
        (basis_of({"s": [1.0]}), "do not go together"),
        (basis_of({"s": [1.0, 2.0, 3.0]}), "do not go together"),
        (basis_of({"s": [1.0, 1e40]}), "not finite"),
        (basis_of({"s": [1.0, 2.0]}, schema="dressform-basis/9"), "do not go together"),
        (basis_of({"s": [1.0, 2.0]}, first="c"), "do not go together"),
        (targets({"POSITION": np.ones((8, 3))}), "no such"),
    ],
)
def test_a_table_that_is_damaged_or_not_there_is_refused(header: Header, glb: bytes, said: str) -> None:
    with pytest.raises(Refused, match=said):
        header.open(glb).table()


def test_less_memory_than_a_table_takes_is_refused(header: Header) -> None:
    with pytest.raises(Refused, match="less memory"):
        header.open(basis_of({"s": [1.0, 2.0]})).table(less=1)


def test_weights_that_are_refused_change_nothing(header: Header) -> None:
    cloth = header.open(targets({"POSITION": np.ones((8, 3))}, {"POSITION": np.ones((8, 3))})).cloth()
    before = cloth.follow(np.array([0.5, 0.0]))
    for bad in ([np.nan, 1.0], [1.0, np.inf], [1.0], [1.0, 1.0, 1.0]):
        with pytest.raises(Refused, match="one finite weight per target"):
            cloth.follow(np.array(bad))
        assert np.array_equal(cloth.points, before)
    assert np.array_equal(cloth.follow(np.array([0.5, 0.0])), before)


def damaged(kind: str) -> bytes:
    """A file with one thing wrong."""
    made, delta = cube(), np.ones((8, 3))
    if kind == "sparse rows fall":
        return targets({"POSITION": sparse(made, [6, 1], np.ones((2, 3)))}, made=made)
    if kind == "sparse row beyond":
        return targets({"POSITION": sparse(made, [1, 8], np.ones((2, 3)))}, made=made)
    if kind == "too few rows":
        return targets({"POSITION": np.ones((7, 3))}, made=made)
    if kind == "no number":
        return targets({"POSITION": np.full((8, 3), np.inf)}, made=made)
    if kind == "base without data":
        del made.tree["accessors"][0]["bufferView"]
    if kind == "view beyond":
        made.tree["bufferViews"][0]["byteLength"] = 10_000
    if kind == "view too short":
        made.tree["bufferViews"][0]["byteLength"] = 95
    if kind == "huge count":
        made.tree["accessors"][0]["count"] = 2**32 - 2
    if kind == "huge offset":
        made.tree["bufferViews"][0]["byteOffset"] = 2**53
    if kind == "another file":
        made.tree["buffers"] = [{"byteLength": len(made.binary), "uri": "cube.bin"}]
    if kind == "compressed":
        made.tree["bufferViews"][0] |= {"buffer": 1, "extensions": {"EXT_meshopt_compression": {"buffer": 0}}}
        made.tree["buffers"] = [{"byteLength": len(made.binary)}, {"byteLength": 96}]
    if kind == "fraction":
        made.tree["accessors"][0]["count"] = 8.5
    if kind == "deep":
        made.tree["extras"] = eval("[" * 70 + "]" * 70)
    if kind == "no position":
        made.tree["meshes"][0]["primitives"][0]["attributes"] = {}
    if kind == "too many targets":
        made.tree["meshes"][0]["primitives"][0]["targets"] = [{}] * 5000
        return made.glb()
    glb = targets({"POSITION": delta}, made=made)
    if kind == "cut":
        return glb[:-40]
    if kind == "no glTF":
        return b"glTX" + glb[4:]
    if kind == "JSON":
        return glb.replace(b'"accessors":', b'"accessors";')
    return glb


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("sparse rows fall", "do not go together"),
        ("sparse row beyond", "do not go together"),
        ("too few rows", "do not go together"),
        ("no number", "not finite"),
        ("base without data", "do not go together"),
        ("view beyond", "ends before"),
        ("view too short", "do not go together"),
        ("huge count", "do not go together"),
        ("huge offset", "ends before"),
        ("another file", "another file"),
        ("compressed", "compressed"),
        ("fraction", "JSON"),
        ("deep", "deeper"),
        ("no position", "no such"),
        ("too many targets", "DRESSFORM_MOST_TARGETS"),
        ("cut", "ends before"),
        ("no glTF", "not a binary glTF"),
        ("JSON", "JSON"),
    ],
)
def test_a_damaged_file_is_refused_with_its_reason(header: Header, kind: str, said: str) -> None:
    with pytest.raises(Refused, match=said):
        header.open(damaged(kind)).cloth()


def test_the_file_that_the_damage_is_done_to_is_followed(header: Header) -> None:
    assert header.open(damaged("nothing")).cloth().follow(np.array([1.0])).shape == (8, 3)


def test_less_memory_than_was_asked_for_is_refused(header: Header) -> None:
    opened = header.open(damaged("nothing"))
    with pytest.raises(Refused, match="less memory"):
        opened.cloth(less=1)


def test_damaged_bytes_never_read_or_write_beyond_what_was_given(fitted: tuple[Path, Body], tmp_path: Path) -> None:
    """Under the sanitizers of addresses and undefined behaviour, where they can be had; all memory is exactly sized."""
    sane = has_sanitizers(tmp_path)
    program = build(RUNTIME / "fuzz.c", tmp_path / "fuzz", *STRICT, "-O1", *(SANITIZERS if sane else ()))
    made = cube()
    glb = targets(
        {"POSITION": sparse(made, [1, 6], np.ones((2, 3))), "NORMAL": 0}, {"POSITION": np.ones((8, 3))}, made=made
    )
    (tmp_path / "small.glb").write_bytes(glb)
    (tmp_path / "table.glb").write_bytes(basis_of({"belly": [1.0, -2.5e-1], "hips": [0.5, 0.0]}))
    call = [program, "400", "7", tmp_path / "small.glb", tmp_path / "table.glb", fitted[0]]
    done = subprocess.run(call, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    counts = {said: int(count) for count, said in (line.split("\t") for line in done.stdout.splitlines())}
    assert counts["all is well"] > 100  # much of the damage is in what nobody reads
    assert sum(count > 0 for count in counts.values()) >= 7


def test_the_example_moves_a_fitted_garment(fitted: tuple[Path, Body], tmp_path: Path) -> None:
    path, body = fitted
    program = build(RUNTIME / "example.c", tmp_path / "example", *STRICT, "-O1")
    name = body.morph_names[1]
    done = subprocess.run([program, path, f"{name}=0.5"], capture_output=True, text=True, check=True)
    rows = np.array([line.split()[1:] for line in done.stdout.splitlines()], dtype=float)
    garment_file = load_garment(path, units="m", up="y")
    ours = load_fit(path, body).at({name: 0.5})[garment_file.file_to_cloth]
    assert np.abs(rows - ours).max() < SAME_PLACE
