"""A body's exported surfaces as solids that can be measured, by trimesh and shapely alone.

The surfaces come from `planeward export`; names, paint order, axes and centre lines from the body's catalogue. Lengths
are millimetres in the patient frame (+x the patient's left, +y back, +z head). Methods of `Solids` take and give
woman-size millimetres: those of the body divided by its scale.
"""

import functools
import json
import os
import pathlib
import tempfile

import numpy
import shapely
import trimesh

import planeward

BODIES = ["adult_female", "adult_male", "infant_head"]
ADULTS = BODIES[:2]

# Outlines smaller than this come from a plane that grazes a vertex, mm².
SMALLEST_OUTLINE = 1e-4

# Surface points for distances stand at most this far apart, mm.
SAMPLE_STEP = 2.0


def folder():
    return pathlib.Path(os.environ.get("PLANEWARD_BODIES", planeward.ROOT / ".bake"))


@functools.cache
def solids(body):
    """The solids of a body, read once."""
    return Solids(body)


def outline(mesh, origin, across, down):
    """The section of a mesh as a shapely geometry in mm along `across` and `down` from `origin`."""
    frame = numpy.eye(4)
    normal = numpy.cross(across, down)
    frame[:3, :3] = [across, down, normal]
    frame[:3, 3] = -frame[:3, :3] @ origin
    heights = (mesh.vertices - origin) @ normal
    if heights.min() >= 0 or heights.max() <= 0:
        return shapely.MultiPolygon()
    path = mesh.section(plane_origin=origin, plane_normal=normal)
    if path is None:
        return shapely.MultiPolygon()
    flat = path.to_2D(to_2D=frame)[0]
    parts = [shapely.make_valid(part) for part in flat.polygons_full]
    return shapely.union_all([part for part in parts if part.area > SMALLEST_OUTLINE])


def pieces(shape):
    """The polygons of a shapely geometry."""
    return [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]


def piece_at(shape, x, y):
    """The polygon that holds a point, else the nearest."""
    return min(pieces(shape), key=shapely.Point(x, y).distance)


def circle_mm(area):
    """Diameter of the circle of an area."""
    return 2 * (area / numpy.pi) ** 0.5


def unit(vector):
    return numpy.asarray(vector) / numpy.linalg.norm(vector)


def perpendicular(axis):
    """Two unit vectors across a unit vector and each other."""
    across = unit(numpy.cross(axis, numpy.eye(3)[numpy.abs(axis).argmin()]))
    return across, numpy.cross(axis, across)


class Solids:
    """One body."""

    def __init__(self, body):
        self.id = body
        self.catalogue = json.loads((folder() / f"{body}.json").read_text())
        self.scale = self.catalogue["body"]["offset_scale"]
        self.structures = {entry["id"]: entry for entry in self.catalogue["structures"]}
        self.surfaces = self.catalogue["surfaces"]
        with tempfile.TemporaryDirectory() as place:
            path = pathlib.Path(place) / "body.glb"
            planeward.run(["export", "--body", body, "--format", "glb", str(path)])
            scene = trimesh.load(path, process=False)
        self.meshes = {
            node: scene.geometry[scene.graph[node][1]] for node in scene.graph.nodes_geometry
        }
        self._slices = {}

    def slice_mm(self, node, z):
        """The section of a surface with the plane z, in mm of this body."""
        key = node, round(z, 3)
        if key not in self._slices:
            mesh = self.meshes[node]
            self._slices[key] = outline(mesh, [0, 0, z], [1, 0, 0], [0, 1, 0])
        return self._slices[key]

    def at(self, name, z):
        """What a structure shows in the plane z; it must reach there."""
        found = self.maybe(name, z)
        assert found is not None, f"{self.id}: {name} does not reach z {z}"
        return found

    def maybe(self, name, z):
        shape = self.slice_mm(name, z * self.scale)
        return None if shape.is_empty else Section(shape, self.scale)

    def holds(self, name, p):
        """Whether a point lies in a structure."""
        shape = self.slice_mm(name, p[2] * self.scale)
        return bool(shapely.contains_xy(shape, p[0] * self.scale, p[1] * self.scale))

    def line(self, name):
        """The centre line of a tube."""
        return numpy.array(self.structures[name]["centre_line"]) / self.scale

    def ends(self, name):
        line = self.line(name)
        return line[0], line[-1]

    def axis(self, name):
        """Both ends of a structure's stated or principal axis, or of its centre line."""
        axis = self.structures[name]["axis"]
        if "a" in axis:
            return numpy.array(axis["a"]) / self.scale, numpy.array(axis["b"]) / self.scale
        return self.ends(name)

    def vertices(self, name):
        return numpy.asarray(self.meshes[name].vertices) / self.scale

    def range(self, name, axis):
        """Least and largest coordinate of a structure along a patient axis (0 left, 1 back, 2 head)."""
        places = self.vertices(name)[:, axis]
        return places.min(), places.max()

    def middle(self, name):
        """Centre of the volume."""
        return numpy.asarray(self.meshes[name].center_mass) / self.scale

    def principal(self, name):
        """Direction in which a structure is longest: the axis of its least moment of inertia."""
        values, vectors = numpy.linalg.eigh(self.meshes[name].moment_inertia)
        return vectors[:, values.argmin()]

    def reach(self, name, p):
        """Distance of a point from a structure's surface, 0 inside."""
        if self.holds(name, p):
            return 0.0
        point = [numpy.asarray(p) * self.scale]
        return trimesh.proximity.closest_point(self.meshes[name], point)[1][0] / self.scale

    def gap(self, one, other):
        """Least distance between the surfaces of two structures, negative where they overlap."""
        samples = surface_points(self.meshes[one])
        mesh = self.meshes[other]
        low, high = mesh.bounds
        outside = numpy.maximum(low - samples, samples - high).max(axis=1)
        near = samples[outside < 30 * self.scale]
        assert len(near), f"{one} is nowhere near {other}"
        # trimesh counts inside as positive.
        return -trimesh.proximity.signed_distance(mesh, near).max() / self.scale

    def across(self, name, share, node=None):
        """Calibre across the centre line at a share of its length: the diameter of the circle of the same area."""
        line = self.line(name) * self.scale
        steps = numpy.linalg.norm(numpy.diff(line, axis=0), axis=1)
        arc = numpy.concatenate([[0], numpy.cumsum(steps)])
        place = share * arc[-1]
        piece = min(int(numpy.searchsorted(arc, place, side="right")) - 1, len(steps) - 1)
        along = (line[piece + 1] - line[piece]) / steps[piece]
        origin = line[piece] + along * (place - arc[piece])
        u, v = perpendicular(along)
        shape = outline(self.meshes[node or name], origin, u, v)
        return circle_mm(piece_at(shape, 0, 0).area) / self.scale

    def share_at(self, name, z):
        """Share of a centre line's length at its last crossing of a height."""
        line = self.line(name)
        steps = numpy.linalg.norm(numpy.diff(line, axis=0), axis=1)
        arc = numpy.concatenate([[0], numpy.cumsum(steps)])
        above = line[:, 2] >= z
        piece = numpy.flatnonzero(above[:-1] != above[1:])[-1]
        part = (line[piece, 2] - z) / (line[piece, 2] - line[piece + 1, 2])
        return (arc[piece] + part * steps[piece]) / arc[-1]

    def painted_ml(self, names, count):
        """Volume of structures with their walls where nothing later is painted over them, from the areas in `count`
        planes."""
        wanted = set(names)
        nodes = [s for s in self.surfaces if owner(s["node"]) in wanted]
        low = min(self.meshes[s["node"]].bounds[0][2] for s in nodes)
        high = max(self.meshes[s["node"]].bounds[1][2] for s in nodes)
        places = low + (high - low) * (numpy.arange(count) + 0.5) / count
        total = 0.0
        for z in places:
            painted = shapely.MultiPolygon()
            for surface in self.surfaces:
                shape = self.slice_mm(surface["node"], z)
                if shape.is_empty:
                    continue
                for other in surface.get("not_inside", []):
                    shape = shape.difference(self.slice_mm(other, z))
                if owner(surface["node"]) in wanted:
                    painted = painted.union(shape)
                elif not painted.is_empty:
                    painted = painted.difference(shape)
            total += painted.area * (high - low) / count
        return total / 1000


class Section:
    """What a structure shows in a plane across the body, woman-size mm."""

    def __init__(self, shape, scale):
        self.area = shape.area / scale**2
        self.x, self.y = (value / scale for value in shape.centroid.coords[0])
        low_x, low_y, high_x, high_y = (value / scale for value in shape.bounds)
        self.x_range, self.y_range = (low_x, high_x), (low_y, high_y)
        self.width, self.depth = high_x - low_x, high_y - low_y
        self.calibre = circle_mm(self.area)


def owner(node):
    """The structure that a surface belongs to."""
    return node.split("/")[0]


def surface_points(mesh):
    """Points of a surface at most `SAMPLE_STEP` apart: vertices of the mesh with its long edges halved."""
    vertices, _ = trimesh.remesh.subdivide_to_size(mesh.vertices, mesh.faces, SAMPLE_STEP)
    return numpy.unique(vertices.round(2), axis=0)


def self_crossings(mesh):
    """Pairs of triangles of a mesh that pass through each other.

    Two triangles cross when an edge of one meets the inside of the other. Edges that share a vertex with the other
    triangle only touch it.
    """
    corners = mesh.triangles
    low, high = corners.min(axis=1), corners.max(axis=1)
    one, other = overlapping_boxes(low, high)
    found = set()
    for a, b in ((one, other), (other, one)):
        for k in range(3):
            start, end = mesh.faces[a, k], mesh.faces[a, (k + 1) % 3]
            apart = ~((mesh.faces[b] == start[:, None]) | (mesh.faces[b] == end[:, None])).any(axis=1)
            p, q = mesh.vertices[start[apart]], mesh.vertices[end[apart]]
            hit = pierces(p, q, corners[b[apart]])
            found.update(map(tuple, numpy.sort([a[apart][hit], b[apart][hit]], axis=0).T.tolist()))
    return found


def overlapping_boxes(low, high):
    """Pairs of boxes that overlap, the first number the smaller: swept along the longest way, in columns."""
    order = numpy.argsort(low[:, 0], kind="stable")
    last = numpy.searchsorted(low[order, 0], high[order, 0], side="right")
    counts = last - numpy.arange(len(order)) - 1
    first = numpy.repeat(numpy.arange(len(order)), counts)
    offset = numpy.arange(len(first)) - numpy.repeat(numpy.cumsum(counts) - counts, counts)
    one, other = order[first], order[first + offset + 1]
    touch = numpy.ones(len(one), bool)
    for axis in (1, 2):
        touch &= (low[one, axis] <= high[other, axis]) & (low[other, axis] <= high[one, axis])
    return one[touch], other[touch]


# How far an edge must pass through a triangle, mm: the grid of a file lets faces of a thin sheet touch, and positions in
# single precision are rounded.
THROUGH = 1e-4


def pierces(p, q, corners):
    """Whether segments pass through the insides of triangles, by the signs of five tetrahedra."""
    a, b, c = (corners[:, k] for k in range(3))
    normal = numpy.cross(b - a, c - a)
    size = numpy.maximum(numpy.linalg.norm(normal, axis=1), 1e-12)
    from_plane = [numpy.einsum("ij,ij->i", normal, end - a) / size for end in (p, q)]
    opposite = (from_plane[0] * from_plane[1] < 0) & (
        numpy.minimum(*map(numpy.abs, from_plane)) > THROUGH
    )
    sides = []
    for start, end in ((a, b), (b, c), (c, a)):
        across = numpy.cross(q - p, end - start)
        size = numpy.maximum(numpy.linalg.norm(across, axis=1), 1e-12)
        sides.append(numpy.einsum("ij,ij->i", across, start - p) / size)
    inside = (numpy.min(sides, axis=0) > THROUGH) | (numpy.max(sides, axis=0) < -THROUGH)
    return opposite & inside
