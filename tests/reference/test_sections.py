"""Sections and exported surfaces against trimesh, a general-purpose mesh library."""

import numpy
import pytest
import shapely
import trimesh

import planeward

SEED = 200
PLANES = 200

# Total length and area of a plane's outlines agree to this part.
PART = 1e-3

# Below these sizes an outline is judged by its size instead: the rounding of a vertex's side
# moves a point by up to about 0.001 mm.
SMALL_MM = 1.0
SMALL_MM2 = 1.0


@pytest.fixture(scope="module")
def bodies():
    return {body["id"]: body for body in planeward.listing("bodies")}


@pytest.fixture(scope="module")
def surfaces(bodies, tmp_path_factory):
    """All exported surfaces of each body, by name; positions are patient mm."""
    folder = tmp_path_factory.mktemp("surfaces")
    found = {}
    for body in bodies:
        path = folder / f"{body}.glb"
        planeward.run(["export", "--body", body, "--format", "glb", str(path)])
        scene = trimesh.load(path, process=False)
        found[body] = {}
        for node in scene.graph.nodes_geometry:
            found[body][node] = scene.geometry[scene.graph[node][1]]
    return found


def test_the_bodies_are_there(bodies):
    assert {"adult_female", "adult_male", "infant_head"} <= set(bodies)


def test_every_surface_is_exported(bodies, surfaces):
    for body, about in bodies.items():
        assert set(surfaces[body]) == set(about["surfaces"])
        assert sum(len(mesh.faces) for mesh in surfaces[body].values()) == about["triangles"]


def test_every_surface_is_watertight(surfaces):
    faults = []
    for body, meshes in surfaces.items():
        for name, mesh in meshes.items():
            if not (mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0):
                faults.append((body, name))
    assert not faults


def test_the_root_node_stands_the_body_up(bodies, surfaces, tmp_path):
    """glTF 2.0, section 3.4: metres, y up, the front toward +z."""
    path = tmp_path / "skin.glb"
    body = "adult_female"
    arguments = ["export", "--body", body, "--structure", "skin", "--format", "glb", str(path)]
    planeward.run(arguments)
    scene = trimesh.load(path, process=False)
    low, high = scene.bounds
    x, y, z = surfaces[body]["skin"].bounds.T / 1000
    numpy.testing.assert_allclose([low[0], high[0]], x, atol=1e-6)
    numpy.testing.assert_allclose([low[1], high[1]], z, atol=1e-6)
    numpy.testing.assert_allclose([low[2], high[2]], -y[::-1], atol=1e-6)


@pytest.mark.parametrize("format", ["ply", "stl"])
def test_other_formats_hold_the_same_surface(format, surfaces, tmp_path):
    for name in ("liver", "skin"):
        path = tmp_path / f"surface.{format}"
        planeward.run(
            ["export", "--body", "adult_female", "--structure", name, "--format", format, str(path)]
        )
        read = trimesh.load(path)
        mesh = surfaces["adult_female"][name]
        assert read.is_watertight
        assert len(read.faces) == len(mesh.faces)
        assert read.volume == pytest.approx(mesh.volume, rel=1e-5)
        numpy.testing.assert_allclose(read.bounds, mesh.bounds, atol=1e-3)


def area(loop):
    """Signed area of a closed polygon, positive clockwise with x to the right and y down."""
    x, y = (numpy.array(loop) - loop[0]).T
    return (x @ numpy.roll(y, -1) - y @ numpy.roll(x, -1)) / 2


def length(loop):
    points = numpy.array(loop)
    return numpy.linalg.norm(numpy.roll(points, -1, axis=0) - points, axis=1).sum()


def measures(surface):
    """Total length and signed area of a surface's outlines."""
    loops = surface["loops"]
    return sum(map(length, loops)), sum(map(area, loops))


def sliced(mesh, answer):
    """The same from trimesh's loose segments, each turned so that the solid is on its right hand."""
    normal, origin = numpy.array(answer["normal"]), numpy.array(answer["origin_mm"])
    segments, faces = trimesh.intersections.mesh_plane(
        mesh, plane_normal=normal, plane_origin=origin, return_faces=True
    )
    if len(segments) == 0:
        return 0.0, 0.0
    along = segments[:, 1] - segments[:, 0]
    wanted = numpy.cross(normal, mesh.face_normals[faces])
    backward = numpy.einsum("ij,ij->i", along, wanted) < 0
    segments[backward] = segments[backward][:, ::-1]
    flat = (segments - origin) @ numpy.array([answer["row"], answer["column"]]).T
    (ax, ay), (bx, by) = flat[:, 0].T, flat[:, 1].T
    return numpy.linalg.norm(along, axis=1).sum(), (ax @ by - bx @ ay) / 2


def section_area(mesh, answer):
    """Area of trimesh's own closed section, which takes every second outline inward for a hole."""
    path = mesh.section(plane_origin=answer["origin_mm"], plane_normal=answer["normal"])
    return path.to_2D()[0].area


def is_simple(loops):
    """Whether the outlines neither cross themselves nor each other, so that they lie inside one
    another or apart."""
    return shapely.MultiLineString([[*loop, loop[0]] for loop in loops]).is_simple


def nested_area(loops):
    """Area of simple outlines, each added or taken away by how many others it lies in.

    It is the signed area unless a mesh overlaps itself: then one outline lies in another of the
    same sense.
    """
    polygons = [shapely.Polygon(loop) for loop in loops]
    places = [polygon.exterior.interpolate(0) for polygon in polygons]
    total = 0.0
    for polygon, place in zip(polygons, places):
        around = sum(other.contains(place) for other in polygons if other is not polygon)
        total += polygon.area * (-1) ** around
    return total


def near(one, other, small):
    return abs(one - other) <= PART * max(abs(other), small)


@pytest.mark.parametrize("body", ["adult_female", "adult_male", "infant_head"])
def test_outlines_are_those_of_trimesh(body, surfaces):
    generator = numpy.random.default_rng(SEED)
    share = {"adult_female": 100, "adult_male": 60, "infant_head": 40}
    assert sum(share.values()) == PLANES
    low, high = surfaces[body]["skin"].bounds
    lines = [
        {
            "contact_mm": generator.uniform(low, high).tolist(),
            "notch": generator.normal(size=3).tolist(),
            "beam": generator.normal(size=3).tolist(),
            "mark": "right" if turn % 2 else "left",
        }
        for turn in range(share[body])
    ]
    faults = []
    outlines = simple = overlapping = 0
    for number, answer in enumerate(planeward.ask(lines, "section", "--body", body)):
        origin, normal = numpy.array(answer["origin_mm"]), numpy.array(answer["normal"])
        cut = {surface["name"]: surface for surface in answer["surfaces"]}
        totals = numpy.zeros(4)
        for name, mesh in surfaces[body].items():
            heights = (mesh.vertices - origin) @ normal
            if name not in cut and (heights.min() > 1e-3 or heights.max() < -1e-3):
                continue
            own = measures(cut[name]) if name in cut else (0.0, 0.0)
            theirs = sliced(mesh, answer)
            totals += [*own, *theirs]
            if not (near(own[0], theirs[0], SMALL_MM) and near(own[1], theirs[1], SMALL_MM2)):
                faults.append((number, name, own, theirs))
            if name not in cut:
                continue
            outlines += 1
            if is_simple(cut[name]["loops"]):
                simple += 1
                nested, wanted = nested_area(cut[name]["loops"]), section_area(mesh, answer)
                if not near(nested, wanted, SMALL_MM2):
                    faults.append((number, name, nested, wanted))
                overlapping += not near(nested, own[1], SMALL_MM2)
        assert near(totals[0], totals[2], SMALL_MM), f"plane {number}: total length"
        assert near(totals[1], totals[3], SMALL_MM2), f"plane {number}: total area"
    assert not faults
    assert outlines > share[body]
    # A body's own defects, and few: where a surface runs through itself the two kinds of area differ.
    assert simple > 0.9 * outlines
    assert overlapping < 0.01 * outlines


@pytest.mark.parametrize("name", ["skin", "liver", "spleen", "bladder"])
def test_section_areas_integrate_to_the_volume(name, surfaces):
    """Cavalieri's principle, along a slanting normal."""
    slices = 120
    mesh = surfaces["adult_female"][name]
    normal = numpy.array([0.36, -0.48, 0.8])
    notch = numpy.array([0.8, 0.6, 0.0])
    beam = numpy.cross(notch, normal)
    heights = mesh.vertices @ normal
    skin = surfaces["adult_female"]["skin"].vertices
    # The footprint is put on the skin's end of the normal; with the skin said to face along the
    # normal's opposite, the press moves the plane inward to any height.
    contact = skin[numpy.argmin(skin @ normal)]
    step = (heights.max() - heights.min()) / slices
    places = heights.min() + step * (numpy.arange(slices) + 0.5)
    lines = [
        {
            "contact_mm": contact.tolist(),
            "normal": (-normal).tolist(),
            "notch": notch.tolist(),
            "beam": beam.tolist(),
            "press_mm": float(place - contact @ normal),
        }
        for place in places
    ]
    total = 0.0
    for place, answer in zip(places, planeward.ask(lines, "section", "--body", "adult_female")):
        assert numpy.dot(answer["origin_mm"], normal) == pytest.approx(place, abs=0.01)
        for surface in answer["surfaces"]:
            if surface["name"] == name:
                total += measures(surface)[1] * step
    assert total == pytest.approx(mesh.volume, rel=0.01)


@pytest.mark.parametrize("body", ["adult_female", "adult_male", "infant_head"])
def test_a_window_shows_what_it_must_show(body):
    """Outlines, structures in view and sentence come from one plane; must_see is the body's own
    description of its windows (common practice, no source)."""
    windows = planeward.listing("windows", "--body", body)
    assert len(windows) > 5
    lines = [{"window": window["id"]} for window in windows]
    for window, answer in zip(windows, planeward.ask(lines, "section", "--body", body)):
        cut = {surface["structure"] for surface in answer["surfaces"]}
        depths = [seen["depth_mm"] for seen in answer["structures"]]
        assert depths == sorted(depths)
        for seen in answer["structures"]:
            assert seen["id"] in cut, f"{window['id']}: {seen['id']} is seen and not cut"
            assert seen["area_mm2"] > 0
        missing = set(window["must_see"]) - {seen["id"] for seen in answer["structures"]}
        assert window["must_see"] and not missing, f"{window['id']}: no {missing} in the picture"
        assert answer["text"].startswith("Probe on ")
        assert answer["transducer"] == window["transducer"].replace("-", "_")
