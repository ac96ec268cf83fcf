"""The CAD kernel, behind the few calls that moldgen makes of it.

Nothing else of the house calls CadQuery or the kernel below it, but for the triangles of `meshing`. Each call proves
that it happened: the kernel may return a body unchanged, as a compound, or invalid, without complaint.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, Final

from moldgen.errors import GeometryError, OutputError
from moldgen.outlines.sides import encloses
from moldgen.parts.cad import (
    BRep_Builder,
    BRepAdaptor_Surface,
    BRepAlgoAPI_Common,
    BRepAlgoAPI_Cut,
    BRepAlgoAPI_Fuse,
    BRepAlgoAPI_Section,
    BRepBuilderAPI_MakeFace,
    BRepGProp,
    BRepOffsetAPI_MakePipe,
    Compound,
    Edge,
    Face,
    GeomAbs_SurfaceType,
    GProp_GProps,
    Location,
    Shape,
    Solid,
    TopAbs_Orientation,
    TopoDS_Shell,
    TopoDS_Solid,
    TopTools_ListOfShape,
    Vector,
    Wire,
    edgesToWires,
    gp_Pln,
)
from moldgen.shapes import Drawn, Path, Point, Revolved, Vertex
from moldgen.shapes import Edge as PlainEdge

if TYPE_CHECKING:
    from typing import TypeAlias

    Body: TypeAlias = Any  # a solid of the kernel, which has no type stubs

LEAST_CHANGE_MM3: Final = 1e-6
"""A cut or fuse that changes less than this has missed its body."""
VOLUME_TOLERANCE: Final = 1e-6
REPORT: Final = "This is a fault of the mold plan; please report it with the spec."
CHANGE_SLIGHTLY: Final = "Change a radius or wall slightly; if it stays, report it with the spec."


def wire(path: Path, plane: str = "XY") -> Any:
    """The outline as a closed wire in the XY plane, or in XZ (x the radius, y the height)."""

    def place(x: float, y: float) -> Any:
        return Vector(x, y, 0.0) if plane == "XY" else Vector(x, 0.0, y)

    return _chained(path.edges, place)


def _chained(edges: Sequence[PlainEdge], place: Callable[[float, float], Any]) -> Any:
    """Edges in a row as one wire, each point put where `place` says."""
    chain = []
    for edge in edges:
        start, end = place(edge.start.x, edge.start.y), place(edge.end.x, edge.end.y)
        if edge.start.bulge == 0.0:
            chain.append(Edge.makeLine(start, end))
        else:
            chain.append(Edge.makeThreePointArc(start, place(*edge.middle), end))
    return Wire.assembleEdges(chain)


def revolved(profile: Path, *, stage: str) -> Body:
    """A half-section turned once round the z axis."""
    with _refusals(stage):
        face = Face.makeFromWires(wire(profile, "XZ"))
        solid = Solid.revolve(face, 360.0, Vector(0, 0, 0), Vector(0, 0, 1))
    return _sound(solid, abs(Revolved(profile).volume_mm3), stage)


def extruded(outline: Path, holes: Sequence[Path], height_mm: float, *, stage: str, z_mm: float = 0.0) -> Body:
    """An outline with holes, standing from z_mm up."""
    with _refusals(stage):
        face = Face.makeFromWires(wire(outline), [wire(hole) for hole in holes])
        solid = Solid.extrudeLinear(face, Vector(0, 0, height_mm))
    volume = (abs(outline.area) - math.fsum(abs(hole.area) for hole in holes)) * height_mm
    return _sound(solid.moved(Location(Vector(0, 0, z_mm))) if z_mm else solid, volume, stage)


def drawn(shape: Drawn, *, stage: str) -> Body:
    """A section drawn along a line of lines and arcs; its faces are the cylinders and rings that these make of it."""
    first = shape.line[0]
    at, way = first.start, first.heading

    def across(x: float, y: float) -> Any:
        return Vector(at.x + x * way.y, at.y - x * way.x, y)

    with _refusals(stage):
        face = Face.makeFromWires(_chained(shape.bare_section.edges, across))
        line = _chained(shape.line, lambda x, y: Vector(x, y, 0.0))
        solid = Shape.cast(BRepOffsetAPI_MakePipe(line.wrapped, face.wrapped).Shape())
    return _sound(solid, shape.volume_mm3, stage)


def box(x0: float, y0: float, z0: float, x1: float, y1: float, z1: float) -> Body:
    return Solid.makeBox(x1 - x0, y1 - y0, z1 - z0, Vector(x0, y0, z0))


def rounded_box(x0: float, y0: float, z0: float, x1: float, y1: float, z1: float, radius_mm: float) -> Body:
    """A box whose upright edges are rounded; done before any cut, where a fillet cannot fail."""
    solid = box(x0, y0, z0, x1, y1, z1)
    upright = [e for e in solid.Edges() if abs(e.tangentAt(0.5).z) > 0.5]
    return solid.fillet(radius_mm, upright)


def cylinder(radius_mm: float, height_mm: float, x: float, y: float, z: float) -> Body:
    return Solid.makeCylinder(radius_mm, height_mm, Vector(x, y, z))


def cone(bottom_mm: float, top_mm: float, height_mm: float, x: float, y: float, z: float) -> Body:
    """A cone from a bottom to a top radius."""
    return Solid.makeCone(bottom_mm, top_mm, height_mm, Vector(x, y, z))


def prism(corners: Sequence[tuple[float, float]], height_mm: float, z_mm: float) -> Body:
    """A polygon standing from z_mm up."""
    face = Face.makeFromWires(Wire.makePolygon([Vector(x, y, z_mm) for x, y in corners], close=True))
    return Solid.extrudeLinear(face, Vector(0, 0, height_mm))


def moved(body: Body, x: float, y: float, z: float = 0.0, turn_deg: float = 0.0) -> Body:
    """A copy turned about its own z axis, then shifted."""
    return body.moved(Location(Vector(x, y, z), Vector(0, 0, 1), turn_deg))


def stood_up(body: Body, x: float, front_y: float, z: float) -> Body:
    """A flat body tilted up so that its z points to the front (towards smaller y), then shifted."""
    return body.moved(Location(Vector(x, front_y, z), Vector(1, 0, 0), 90.0))


def volume_mm3(body: Body) -> float:
    """Volume by the kernel's own surface integrals (not from a mesh)."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(body.wrapped, properties)
    return float(properties.Mass())


def solids_of(body: Body) -> list[Any]:
    return list(body.Solids())


def cut(body: Body, tools: Sequence[Body], *, stage: str) -> Body:
    """The body less all tools, in one boolean operation; still one solid.

    Raises GeometryError if a cut missed altogether or fell apart. Whether a finished body is valid, a proof says.
    """
    out = _boolean(BRepAlgoAPI_Cut(), [body], tools)
    only = only_solid(out, stage=stage)
    if volume_mm3(only) > volume_mm3(body) - LEAST_CHANGE_MM3:
        raise GeometryError(
            stage=stage,
            text="the cut took nothing away",
            way_out=REPORT,
        )
    return only


def fused(bodies: Sequence[Body], *, stage: str) -> Body:
    """The bodies as one solid. Raises GeometryError if they do not hang together."""
    if len(bodies) == 1:
        return bodies[0]
    return only_solid(_boolean(BRepAlgoAPI_Fuse(), bodies[:1], bodies[1:]), stage=stage)


@dataclass(frozen=True, slots=True)
class Pocket:
    """A flat-bottomed recess with upright walls, as the faces of what it takes away."""

    top: Any
    rest: tuple[Any, ...]
    volume_mm3: float


def pocket(outline: Path, holes: Sequence[Path], depth_mm: float, *, x: float, front_y: float, z: float) -> Pocket:
    """An outline drawn flat, stood up with its x along x, and sunk into a front that faces towards smaller y."""
    return _sunk(outline, holes, depth_mm, Location(Vector(x, front_y, z), Vector(1, 0, 0), 90.0))


def pocket_in_top(
    outline: Path, holes: Sequence[Path], depth_mm: float, *, x: float, y: float, top_z: float, turn_deg: float
) -> Pocket:
    """An outline turned about its own origin, shifted, and sunk into a level face."""
    return _sunk(outline, holes, depth_mm, Location(Vector(x, y, top_z), Vector(0, 0, 1), turn_deg))


def _sunk(outline: Path, holes: Sequence[Path], depth_mm: float, place: Any) -> Pocket:
    area = abs(outline.area) - math.fsum(abs(hole.area) for hole in holes)
    face = Face.makeFromWires(wire(outline), [wire(hole) for hole in holes])
    floor, top, walls = _ends_and_walls(Solid.extrudeLinear(face, Vector(0, 0, -depth_mm)))
    return Pocket(top.moved(place), tuple(part.moved(place) for part in (floor, *walls)), area * depth_mm)


def pocket_with_plateaus(
    outline: Path,
    plateau: Path,
    places: Sequence[tuple[float, float]],
    *,
    floor_z: float,
    rim_z: float,
    plateau_z: float,
    stage: str,
) -> Pocket:
    """A recess in a level face at rim_z, out of whose floor plateaus stand, all alike, up to a height of their own."""
    floor, top, walls = _ends_and_walls(extruded(outline, (), rim_z - floor_z, stage=stage, z_mm=floor_z))
    foot, level, sides = _ends_and_walls(extruded(plateau, (), plateau_z - floor_z, stage=stage, z_mm=floor_z))
    ground, raised = BRepBuilderAPI_MakeFace(floor.wrapped), []
    for x, y in places:
        place = Location(Vector(x, y, 0.0))
        ground.Add(_reversed(foot.moved(place).outerWire()))
        raised += [Shape.cast(_reversed(part.moved(place))) for part in (level, *sides)]
    taken = abs(outline.area) * (rim_z - floor_z) - len(places) * abs(plateau.area) * (plateau_z - floor_z)
    return Pocket(top, (Shape.cast(ground.Face()), *walls, *raised), taken)


def _ends_and_walls(upright: Body) -> tuple[Any, Any, list[Any]]:
    """Lowest and highest face of an upright prism, and those between."""
    faces = upright.Faces()
    ups = [0.0 if (plane := _plane_of(face)) is None else plane.normal[2] for face in faces]
    low, high = ups.index(min(ups)), ups.index(max(ups))
    return faces[low], faces[high], [face for i, face in enumerate(faces) if i not in (low, high)]


def engraved(body: Body, pockets: Sequence[Pocket], *, stage: str) -> Body:
    """The body with pockets sunk into its flat faces.

    Not by a boolean, which takes several times as long for a line of letters: the pockets' rims become holes of the
    face, their walls and floors, turned inside out, part of the shell. Raises GeometryError where one does not fit in.
    Whether a finished body is valid, a proof says.
    """
    faces = body.Faces()
    levels: list[_Plane] = []
    for pocket in pockets:
        if not _among(levels, level := _plane_of(pocket.top)) and level is not None:
            levels.append(level)
    carrying = [face for face in faces if _among(levels, _plane_of(face))]
    islands = [_facing(p.top, Face.makeFromWires(rim)) for p in pockets for rim in p.top.innerWires()]
    bounds = [_bounds(face) for face in (*islands, *carrying)]
    made = [BRepBuilderAPI_MakeFace(face.wrapped) for face in (*islands, *carrying)]
    for pocket in pockets:  # in an island, like the dot of a dotted zero, or in the smallest face round it
        box = _bounds(pocket.top)
        around = [i for i, ground in enumerate(bounds) if _within(box, ground)]
        if not around:
            raise GeometryError(
                stage=stage, text="a letter or a channel reaches beyond the face it is sunk into", way_out=REPORT
            )
        made[min(around, key=lambda i: math.dist(*bounds[i]))].Add(_reversed(pocket.top.outerWire()))
    shell, solid, builder = TopoDS_Shell(), TopoDS_Solid(), BRep_Builder()
    builder.MakeShell(shell)
    for ground in made:
        builder.Add(shell, ground.Face())
    for part in faces:
        if not any(part is face for face in carrying):
            builder.Add(shell, part.wrapped)
    for pocket in pockets:
        for part in pocket.rest:
            builder.Add(shell, _reversed(part))
    shell.Closed(True)
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    out = Shape.cast(solid)
    left = volume_mm3(body) - math.fsum(pocket.volume_mm3 for pocket in pockets)
    if abs(volume_mm3(out) - left) > VOLUME_TOLERANCE * left:
        raise GeometryError(stage=stage, text="the letters took away something else than themselves", way_out=REPORT)
    return out


def _reversed(shape: Any) -> Any:
    """The kernel's own shape, with its inside out."""
    return Shape.cast(shape.wrapped.Reversed()).wrapped


@dataclass(frozen=True, slots=True)
class _Plane:
    """Where a flat face lies: the normal that points out of its body, and how far along it the face is."""

    normal: tuple[float, float, float]
    along: float


def _plane_of(face: Any) -> _Plane | None:
    """None for a face that is not flat. By the surface alone: to integrate over each face would cost ten times this."""
    surface = BRepAdaptor_Surface(face.wrapped, False)
    if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
        return None
    axes = surface.Plane().Position()
    up, at = axes.XDirection().Crossed(axes.YDirection()), axes.Location()
    sign = -1.0 if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else 1.0
    x, y, z = sign * up.X(), sign * up.Y(), sign * up.Z()
    return _Plane((x, y, z), x * at.X() + y * at.Y() + z * at.Z())


def _among(levels: Sequence[_Plane], plane: _Plane | None) -> bool:
    """Whether a plane is one of several, and faces the same way."""
    return plane is not None and any(
        abs(plane.along - level.along) < 1e-6 and math.dist(plane.normal, level.normal) < 1e-4 for level in levels
    )


def _facing(top: Any, island: Any) -> Any:
    wanted, found = _plane_of(top), _plane_of(island)
    same = wanted is not None and found is not None and math.dist(wanted.normal, found.normal) < 1.0
    return island if same else Shape.cast(_reversed(island))


def _bounds(face: Any) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Least and greatest coordinates of a face's corners, arcs of its rim included."""
    rim = face.outerWire()
    curved = [edge for edge in rim.Edges() if edge.geomType() != "LINE"]
    points = [*rim.Vertices(), *(edge.positionAt(share) for edge in curved for share in (0.25, 0.5, 0.75))]
    xs, ys, zs = zip(*(point.toTuple() for point in points), strict=True)
    return (min(xs), min(ys), min(zs)), (max(xs), max(ys), max(zs))


def _within(inner: Any, outer: Any) -> bool:
    low, high = zip(inner[0], outer[0], strict=True), zip(inner[1], outer[1], strict=True)
    return all(a >= b - 1e-6 for a, b in low) and all(a <= b + 1e-6 for a, b in high)


def together(bodies: Sequence[Body]) -> Body:
    """Bodies that do not touch, as one shape."""
    return bodies[0] if len(bodies) == 1 else Compound.makeCompound(bodies)


def common(a: Sequence[Body], b: Sequence[Body]) -> Body:
    """What two groups of bodies share; possibly an empty compound."""
    return _boolean(BRepAlgoAPI_Common(), a, b)


def _boolean(operation: Any, arguments: Sequence[Body], tools: Sequence[Body]) -> Body:
    first, second = TopTools_ListOfShape(), TopTools_ListOfShape()
    for body in arguments:
        first.Append(body.wrapped)
    for body in tools:
        second.Append(body.wrapped)
    operation.SetArguments(first)
    operation.SetTools(second)
    # Not in parallel: on two cores it gains a tenth, and beside other work its threads wait on each other for minutes.
    operation.Build()
    return Shape.cast(operation.Shape())


def only_solid(body: Body, *, stage: str) -> Body:
    """The single solid of a boolean's result. Raises GeometryError if there are none or several."""
    found = solids_of(body)
    if len(found) != 1:
        small = min(found, key=volume_mm3) if found else None
        raise GeometryError(
            stage=stage,
            text=f"{len(found)} loose pieces came out where one body is meant",
            way_out="Leave more wall: raise the part's wall, or choose another core or fill.",
            where_mm=None if small is None else small.Center().toTuple(),
        )
    return found[0]


@contextmanager
def _refusals(stage: str) -> Iterator[None]:
    """The kernel's exceptions have no base of their own; they are told by the module that they come from."""
    try:
        yield
    except Exception as error:
        if not type(error).__module__.startswith("OCP") and not isinstance(error, ValueError):
            raise
        raise GeometryError(
            stage=stage, text=f"the kernel makes no solid of this outline ({error})", way_out=CHANGE_SLIGHTLY
        ) from error


def _sound(body: Body, volume: float, stage: str) -> Body:
    """The body, valid and of the volume that its outline has in closed form; one that crosses itself has another."""
    if not body.isValid() or not abs(volume_mm3(body) - volume) <= VOLUME_TOLERANCE * volume or volume <= 0.0:
        raise GeometryError(
            stage=stage,
            text="the outline crosses itself, or the kernel made an invalid solid of it",
            way_out=CHANGE_SLIGHTLY,
        )
    return body


@dataclass(frozen=True)
class Plane:
    """A plane with axes of its own: x along the unit vector `across`, y along `upwards`."""

    origin: tuple[float, float, float]
    across: tuple[float, float, float]
    upwards: tuple[float, float, float]

    def cut(self, body: Body, window: Path) -> Body:
        """What a body, or an earlier cut of it, has in common with the plane within a window; faces, possibly none."""
        return common([Face.makeFromWires(_chained(window.edges, self._place))], [body])

    def outlines(self, cut: Body) -> list[list[Path]]:
        """Each face of a cut as its outline followed by its holes, in the plane's own axes."""
        return [[_loop(wire, self._flat) for wire in (face.outerWire(), *face.innerWires())] for face in cut.Faces()]

    def outlines_across(self, body: Body) -> list[list[Path]]:
        """Each area that the whole plane cuts out of a solid: its outline followed by its holes.

        Twice as quick as a cut within a window; no face of the solid may lie in the plane.
        """
        normal = Vector(*self.across).cross(Vector(*self.upwards))
        section = BRepAlgoAPI_Section(body.wrapped, gp_Pln(Vector(*self.origin).toPnt(), normal.toDir()), False)
        section.Build()
        wires = edgesToWires(Shape.cast(section.Shape()).Edges())
        return _nested([_loop(wire, self._flat) for wire in wires])

    def _place(self, x: float, y: float) -> Any:
        return Vector(*self.origin) + Vector(*self.across) * x + Vector(*self.upwards) * y

    def _flat(self, point: Any) -> Point:
        away = point - Vector(*self.origin)
        return Point(away.dot(Vector(*self.across)), away.dot(Vector(*self.upwards)))


def _nested(loops: list[Path]) -> list[list[Path]]:
    """Loops that do not cross, as areas: what lies in an area's outline is its hole, what in a hole another outline."""
    areas: list[list[Path]] = []
    seen: list[tuple[tuple[Point, ...], list[Path] | None]] = []  # each with the area that it is the outline of
    for loop in sorted(loops, key=lambda path: -path.area):
        start = Point(loop.vertices[0].x, loop.vertices[0].y)
        around = [area for corners, area in seen if encloses(corners, start)]
        if around and around[-1] is not None:  # by size, so the last is the one next to it
            around[-1].append(loop)
            seen.append((loop.points(CHORD_SAG_MM), None))
        else:
            areas.append([loop])
            seen.append((loop.points(CHORD_SAG_MM), areas[-1]))
    return areas


def _loop(wire: Any, flat: Callable[[Any], Point]) -> Path:
    """A wire in its plane, anticlockwise: lines and arcs as they are, other curves as chords.

    Edges are joined by their ends; the way that the kernel says they run is not to be relied on.
    """
    left = [_vertices(edge, flat) for edge in wire.Edges()]
    chain = left.pop(0)
    while left:
        end = chain[-1]

        def off(run: list[Vertex], end: Vertex = end) -> float:
            return min(math.hypot(p.x - end.x, p.y - end.y) for p in (run[0], run[-1]))

        following = min(left, key=off)
        left.remove(following)
        last = following[-1]
        if math.hypot(last.x - end.x, last.y - end.y) < math.hypot(following[0].x - end.x, following[0].y - end.y):
            following = _turned_about(following)
        chain = [*chain[:-1], *following]
    path = Path(tuple(chain[:-1]))
    return path if path.area > 0.0 else path.reversed()


CHORD_SAG_MM: Final = 0.005
CHORDS: Final = 24
"""Pieces that a curve is drawn in that is neither line nor arc (a cone cut beside its axis)."""


def _vertices(edge: Any, flat: Callable[[Any], Point]) -> list[Vertex]:
    kind = edge.geomType()
    pieces = 1 if kind == "LINE" else 2 if kind == "CIRCLE" else CHORDS
    points = [flat(edge.positionAt(i / pieces)) for i in range(pieces + 1)]
    if kind != "CIRCLE":
        return [Vertex(*point) for point in points]
    bulges = [_bulge(a, flat(edge.positionAt((i + 0.5) / pieces)), b) for i, (a, b) in enumerate(pairwise(points))]
    return [Vertex(p.x, p.y, bulge) for p, bulge in zip(points, [*bulges, 0.0], strict=True)]


def _bulge(start: Point, middle: Point, end: Point) -> float:
    """Twice the arc's height over its chord, positive when it turns anticlockwise."""
    dx, dy = end.x - start.x, end.y - start.y
    return 2.0 * ((middle.x - start.x) * dy - (middle.y - start.y) * dx) / (dx * dx + dy * dy)


def _turned_about(run: list[Vertex]) -> list[Vertex]:
    bulges = [-v.bulge or 0.0 for v in run[-2::-1]]
    return [Vertex(v.x, v.y, bulge) for v, bulge in zip(reversed(run), [*bulges, 0.0], strict=True)]


def write_step(bodies: Sequence[tuple[str, Body]], path: FilePath) -> None:
    """Writes named solids as one STEP file in millimetres; curves on surfaces are left out, readers rebuild them."""
    from OCP.Interface import Interface_Static
    from OCP.STEPConstruct import STEPConstruct
    from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
    from OCP.TCollection import TCollection_HAsciiString

    writer = STEPControl_Writer()
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    for name, body in bodies:
        Interface_Static.SetCVal_s("write.step.product.name", name)
        writer.Transfer(body.wrapped, STEPControl_AsIs)
    finder = writer.WS().TransferWriter().FinderProcess()
    for name, body in bodies:
        item = STEPConstruct.FindEntity_s(finder, body.wrapped)
        if item is not None:
            item.SetName(TCollection_HAsciiString(name))
    if int(writer.Write(str(path)).value) != 1:
        raise OutputError(f"{path}: the STEP file could not be written. Check free space and permissions.")


def read_step(path: FilePath) -> Body:
    """The solids of a STEP file, as one shape."""
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    if int(reader.ReadFile(str(path)).value) != 1:
        raise OutputError(f"{path}: this is not a STEP file that can be read. Build again.")
    reader.TransferRoots()
    return Shape.cast(reader.OneShape())
