"""Pictures of bodies without a display: one set of calm colours, edges drawn, light from over the shoulder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from moldgen.parts.mesh import Mesh

COLOURS: Final = {
    "rubber": (0.17, 0.18, 0.20),
    "lower": (0.86, 0.80, 0.67),
    "upper": (0.62, 0.70, 0.73),
    "core": (0.74, 0.50, 0.36),
    "metal": (0.72, 0.66, 0.45),
    "jig": (0.70, 0.74, 0.62),
}
PAPER: Final = (0.985, 0.980, 0.965)
INK: Final = (0.25, 0.25, 0.25)
FEATURE_DEG: Final = 30.0


@dataclass(frozen=True, slots=True)
class Piece:
    """A mesh in a picture: what it is (for its colour), where it is shifted to, and how much is seen through it."""

    mesh: Mesh
    kind: str
    shift_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    flipped: bool = False
    """Turned upside down about the x axis, as a half that lies open on the bench."""
    opacity: float = 1.0


def picture(
    pieces: Sequence[Piece],
    path: Path,
    *,
    size: tuple[int, int] = (1200, 800),
    view: tuple[float, float, float] = (0.9, -1.6, 1.1),
) -> None:
    """Writes a PNG of the pieces seen from `view`."""
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401  (registers the renderer)
    from vtkmodules.vtkIOImage import vtkPNGWriter
    from vtkmodules.vtkRenderingCore import vtkLight, vtkRenderer, vtkRenderWindow, vtkWindowToImageFilter

    renderer = vtkRenderer()
    renderer.SetBackground(*PAPER)
    renderer.SetAutomaticLightCreation(False)
    for direction, strength in (
        ((0.4, -1.0, 1.6), 0.70),
        ((-0.8, -1.5, 0.5), 0.45),
        ((0.3, 1.0, 0.6), 0.25),
        ((0.0, 0.0, -1.0), 0.15),
    ):
        light = vtkLight()
        light.SetLightTypeToSceneLight()
        light.SetPosition(*direction)
        light.SetFocalPoint(0.0, 0.0, 0.0)
        light.SetIntensity(strength)
        renderer.AddLight(light)
    for piece in pieces:
        for actor in _actors(piece):
            renderer.AddActor(actor)
    camera = renderer.GetActiveCamera()
    camera.SetPosition(*view)
    camera.SetFocalPoint(0.0, 0.0, 0.0)
    camera.SetViewUp(0.0, 0.0, 1.0)
    camera.SetViewAngle(20.0)
    renderer.ResetCamera()
    camera.Zoom(1.45)
    renderer.ResetCameraClippingRange()
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(8)
    window.SetSize(*size)
    window.AddRenderer(renderer)
    window.Render()
    grab = vtkWindowToImageFilter()
    grab.SetInput(window)
    grab.ReadFrontBufferOff()
    writer = vtkPNGWriter()
    writer.SetFileName(str(path))
    writer.SetInputConnection(grab.GetOutputPort())
    writer.Write()


def _actors(piece: Piece) -> list[Any]:
    from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkPolyDataNormals
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    data = _poly_data(piece)
    normals = vtkPolyDataNormals()
    normals.SetInputData(data)
    normals.SetFeatureAngle(FEATURE_DEG)
    normals.SplittingOn()
    body = vtkActor()
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(normals.GetOutputPort())
    body.SetMapper(mapper)
    look = body.GetProperty()
    look.SetColor(*COLOURS[piece.kind])
    look.SetAmbient(0.25)
    look.SetDiffuse(0.8)
    look.SetSpecular(0.08 if piece.kind != "metal" else 0.4)
    look.SetSpecularPower(20.0)
    look.SetOpacity(piece.opacity)
    edges = vtkFeatureEdges()
    edges.SetInputData(data)
    edges.SetFeatureAngle(FEATURE_DEG)
    edges.BoundaryEdgesOff()
    edges.NonManifoldEdgesOff()
    edges.ColoringOff()
    line_mapper = vtkPolyDataMapper()
    line_mapper.SetInputConnection(edges.GetOutputPort())
    line_mapper.ScalarVisibilityOff()
    line_mapper.SetResolveCoincidentTopologyToPolygonOffset()
    lines = vtkActor()
    lines.SetMapper(line_mapper)
    lines.GetProperty().SetColor(*INK)
    lines.GetProperty().SetLineWidth(1.2)
    return [body, lines]


def _poly_data(piece: Piece) -> Any:
    from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
    from vtkmodules.vtkCommonCore import vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData

    xyz = piece.mesh.points * ((1.0, -1.0, -1.0) if piece.flipped else (1.0, 1.0, 1.0)) + np.array(piece.shift_mm)
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(xyz), deep=True))
    triangles = piece.mesh.triangles
    cells = vtkCellArray()
    cells.SetCells(
        len(triangles),
        numpy_to_vtkIdTypeArray(
            np.ascontiguousarray(np.hstack([np.full((len(triangles), 1), 3), triangles]).ravel()), deep=True
        ),
    )
    data = vtkPolyData()
    data.SetPoints(points)
    data.SetPolys(cells)
    return data
