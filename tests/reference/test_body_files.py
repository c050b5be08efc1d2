"""The compressed body files against meshopt, a binding of the codec's general-purpose C++ library."""

import json
import os
import pathlib
import shutil
import struct

import meshopt
import numpy
import pytest

import planeward

COMPRESSION = "EXT_meshopt_compression"
BODIES = ["adult_female", "adult_male", "infant_head"]

# Version of the attribute bitstream that the extension specifies.
VERSION = 0


def folder():
    return pathlib.Path(os.environ.get("PLANEWARD_BODIES", planeward.ROOT / ".bake"))


def chunks(path):
    """The JSON and the binary chunk of a GLB (glTF 2.0, section 4)."""
    data = path.read_bytes()
    magic, version, length, size, kind = struct.unpack_from("<4sIII4s", data)
    assert (magic, version, length, kind) == (b"glTF", 2, len(data), b"JSON")
    assert struct.unpack_from("<I4s", data, 20 + size) == (length - 28 - size, b"BIN\0")
    return json.loads(data[20 : 20 + size]), data[28 + size :]


def container(document, binary):
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    total = 28 + len(text) + len(binary)
    head = struct.pack("<4sIII4s", b"glTF", 2, total, len(text), b"JSON")
    return head + text + struct.pack("<I4s", len(binary), b"BIN\0") + binary


def stream(packed, binary):
    assert packed["buffer"] == 0 and packed.get("filter", "NONE") == "NONE"
    start = packed["byteOffset"]
    return binary[start : start + packed["byteLength"]]


def views(document, binary):
    """The bytes of every view as the outside library decodes them."""
    found = []
    for view in document["bufferViews"]:
        packed = view["extensions"][COMPRESSION]
        rows = meshopt.decode_gltf_buffer(
            stream(packed, binary), packed["count"], packed["byteStride"], packed["mode"]
        )
        plain = numpy.ascontiguousarray(rows).tobytes()
        assert len(plain) == view["byteLength"] == packed["count"] * packed["byteStride"]
        # The parts of the placeholder buffer must not overlap.
        assert view["byteOffset"] + view["byteLength"] <= document["buffers"][1]["byteLength"]
        found.append(plain)
    spans = sorted((v["byteOffset"], v["byteOffset"] + v["byteLength"]) for v in document["bufferViews"])
    assert all(one[1] <= other[0] for one, other in zip(spans, spans[1:]))
    return found


TYPES = {5123: numpy.uint16, 5125: numpy.uint32, 5126: numpy.float32}


def meshes(document, plain):
    """Vertices, patient mm, and triangles of every named mesh node, from the plain bytes of the views."""
    found = {}
    for node in document["nodes"]:
        if "mesh" not in node:
            continue
        (primitive,) = document["meshes"][node["mesh"]]["primitives"]
        accessor = document["accessors"][primitive["attributes"]["POSITION"]]
        view = document["bufferViews"][accessor["bufferView"]]
        kind = numpy.dtype(TYPES[accessor["componentType"]])
        stride = view.get("byteStride", 3 * kind.itemsize)
        rows = numpy.frombuffer(plain[accessor["bufferView"]], numpy.uint8).reshape(-1, stride)
        positions = rows[:, : 3 * kind.itemsize].copy().view(kind)
        assert len(positions) == accessor["count"]
        assert positions.min(axis=0).tolist() == accessor["min"]
        assert positions.max(axis=0).tolist() == accessor["max"]
        scale = numpy.array(node.get("scale", [1, 1, 1]), float)
        positions = positions * scale + numpy.array(node.get("translation", [0, 0, 0]), float)
        accessor = document["accessors"][primitive["indices"]]
        kind = TYPES[accessor["componentType"]]
        triangles = numpy.frombuffer(plain[accessor["bufferView"]], kind).reshape(-1, 3)
        assert 3 * len(triangles) == accessor["count"]
        if scale.prod() < 0:
            # glTF 2.0, section 3.7.2.1: a negative determinant reverses the winding.
            triangles = triangles[:, [0, 2, 1]]
        found[node["name"]] = positions.astype(numpy.float32), triangles.astype(numpy.uint32)
    return found


def exported(body, path, *options):
    """The surfaces that the command exports, and the exported document."""
    planeward.run(["export", *options, "--body", body, "--format", "glb", str(path)])
    document, binary = chunks(path)
    plain = [
        binary[view["byteOffset"] : view["byteOffset"] + view["byteLength"]]
        for view in document["bufferViews"]
    ]
    return meshes(document, plain), document


@pytest.fixture(scope="module", params=BODIES)
def body(request, tmp_path_factory):
    """Name, baked document, baked binary chunk, decoded views and exported surfaces of a body."""
    document, binary = chunks(folder() / f"{request.param}.glb")
    surfaces, plain_document = exported(
        request.param, tmp_path_factory.mktemp("export") / "body.glb"
    )
    return request.param, document, binary, views(document, binary), surfaces, plain_document


def from_lowest(triangles):
    """Triangles as they begin at their lowest corner: an encoder may turn them, but not over."""
    first = triangles.argmin(axis=1)[:, None]
    return numpy.take_along_axis(triangles, (first + numpy.arange(3)) % 3, axis=1)


def test_another_decoder_reads_the_same_meshes(body):
    _, document, _, plain, surfaces, _ = body
    assert COMPRESSION in document["extensionsRequired"]
    outside = meshes(document, plain)
    assert outside.keys() == surfaces.keys()
    for name, (positions, triangles) in outside.items():
        assert numpy.array_equal(positions, surfaces[name][0]), name
        assert numpy.array_equal(triangles, surfaces[name][1]), name


def test_another_encoders_streams_are_read(body, tmp_path):
    name, document, _, plain, surfaces, _ = body
    document = json.loads(json.dumps(document))
    binary = b""
    for view, data in zip(document["bufferViews"], plain):
        packed = view["extensions"][COMPRESSION]
        if packed["mode"] == "ATTRIBUTES":
            rows = numpy.frombuffer(data, numpy.uint8).reshape(-1, packed["byteStride"])
        else:
            kind = numpy.uint16 if packed["byteStride"] == 2 else numpy.uint32
            rows = numpy.frombuffer(data, kind).astype(numpy.uint32).reshape(-1, 1)
        encoded = meshopt.encode_gltf_buffer(rows, packed["mode"], VERSION)
        packed["byteOffset"], packed["byteLength"] = len(binary), len(encoded)
        binary += encoded
    document["buffers"][0]["byteLength"] = len(binary)
    (tmp_path / f"{name}.glb").write_bytes(container(document, binary))
    shutil.copy(folder() / f"{name}.json", tmp_path)
    again, _ = exported(name, tmp_path / "export.out", "--bodies", str(tmp_path))
    assert again.keys() == surfaces.keys()
    for surface, (positions, triangles) in surfaces.items():
        assert numpy.array_equal(positions, again[surface][0]), surface
        assert numpy.array_equal(from_lowest(triangles), from_lowest(again[surface][1])), surface


def test_the_streams_are_no_longer_than_another_encoders(body):
    """Within a fiftieth, of which our choice of whole bytes for a later compressor takes the most."""
    _, document, binary, plain, _, _ = body
    ours = theirs = 0
    for view, data in zip(document["bufferViews"], plain):
        packed = view["extensions"][COMPRESSION]
        ours += packed["byteLength"]
        if packed["mode"] == "ATTRIBUTES":
            rows = numpy.frombuffer(data, numpy.uint8).reshape(-1, packed["byteStride"])
        else:
            kind = numpy.uint16 if packed["byteStride"] == 2 else numpy.uint32
            rows = numpy.frombuffer(data, kind).astype(numpy.uint32).reshape(-1, 1)
        theirs += len(meshopt.encode_gltf_buffer(rows, packed["mode"], VERSION))
    assert ours <= 1.02 * theirs, f"{ours} bytes instead of {theirs}"


def test_the_export_is_plain_gltf(body):
    _, _, _, _, _, document = body
    assert "extensionsRequired" not in document and "extensionsUsed" not in document
    assert len(document["buffers"]) == 1
