"""Pictures of bodies without a display: one set of calm colours, edges drawn, light from over the shoulder."""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import OutputError
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
LIGHTS: Final = (
    ((0.4, -1.0, 1.6), 0.70),
    ((-0.8, -1.5, 0.5), 0.45),
    ((0.3, 1.0, 0.6), 0.25),
    ((0.0, 0.0, -1.0), 0.15),
)
"""From over both shoulders, from behind, and a little from below: direction and strength."""
SAMPLES: Final = 4
ANGLE_DEG: Final = 20.0
MARGIN: Final = 0.94
"""Share of the picture that the bodies fill."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A mesh in a picture: what it is (for its colour), where it is shifted to, and how much is seen through it."""

    mesh: Mesh
    kind: str
    shift_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    flipped: bool = False
    """Turned upside down about the x axis, as a half that lies open on the bench."""
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Scene:
    """What one picture shows, and from where."""

    pieces: tuple[Piece, ...]
    size: tuple[int, int] = (1200, 800)
    view: tuple[float, float, float] = (0.9, -1.6, 1.1)
    """Direction from the bodies to the eye."""


def picture(
    pieces: Sequence[Piece],
    path: Path,
    *,
    size: tuple[int, int] = (1200, 800),
    view: tuple[float, float, float] = (0.9, -1.6, 1.1),
) -> None:
    """Writes a PNG of the pieces seen from `view`. Raises OutputError."""
    (png,) = pictures([Scene(tuple(pieces), size, view)])
    path.write_bytes(png)


def pictures(scenes: Sequence[Scene]) -> tuple[bytes, ...]:
    """A PNG of each scene, all drawn in one window, since opening it takes longest. Raises OutputError."""
    window = _window()
    return tuple(_drawn(window, scene) for scene in scenes)


def _window() -> Any:
    """A window that no screen shows.

    On Linux asked for by its kind: left to choose, the library looks for a display first and complains on standard
    error that there is none.
    """
    from vtkmodules import vtkRenderingOpenGL2
    from vtkmodules.vtkRenderingCore import vtkRenderWindow

    window = vtkRenderingOpenGL2.vtkEGLRenderWindow() if sys.platform == "linux" else vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(SAMPLES)
    if not window.SupportsOpenGL():
        raise OutputError("no picture can be drawn without an OpenGL library. On Debian: apt-get install libegl1")
    return window


def _drawn(window: Any, scene: Scene) -> bytes:
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkIOImage import vtkPNGWriter
    from vtkmodules.vtkRenderingCore import vtkWindowToImageFilter

    renderer = _renderer(scene)
    window.SetSize(*scene.size)
    window.AddRenderer(renderer)
    window.Render()
    grab = vtkWindowToImageFilter()
    grab.SetInput(window)
    grab.ShouldRerenderOff()
    grab.ReadFrontBufferOff()
    writer = vtkPNGWriter()
    writer.SetWriteToMemory(True)
    writer.SetInputConnection(grab.GetOutputPort())
    writer.Write()
    window.RemoveRenderer(renderer)
    return bytes(vtk_to_numpy(writer.GetResult()).tobytes())


def _renderer(scene: Scene) -> Any:
    from vtkmodules.vtkRenderingCore import vtkLight, vtkRenderer

    renderer = vtkRenderer()
    renderer.SetBackground(*PAPER)
    renderer.SetAutomaticLightCreation(False)
    for direction, strength in LIGHTS:
        light = vtkLight()
        light.SetLightTypeToSceneLight()
        light.SetPosition(*direction)
        light.SetFocalPoint(0.0, 0.0, 0.0)
        light.SetIntensity(strength)
        renderer.AddLight(light)
    for piece in scene.pieces:
        for actor in _actors(piece):
            renderer.AddActor(actor)
    _aimed(renderer.GetActiveCamera(), scene)
    renderer.ResetCameraClippingRange()
    return renderer


def _aimed(camera: Any, scene: Scene) -> None:
    """Puts the camera where all pieces just fill the picture."""
    points = np.concatenate([_placed(piece) for piece in scene.pieces])
    eye = np.array(scene.view) / np.linalg.norm(scene.view)
    right = np.cross((0.0, 0.0, 1.0), eye)
    right /= np.linalg.norm(right)
    up = np.cross(eye, right)
    seen = points @ np.stack([right, up, eye]).T
    low, high = seen.min(axis=0), seen.max(axis=0)
    tangent = MARGIN * math.tan(math.radians(0.5 * ANGLE_DEG))
    # Each point asks for the distance at which it still lies inside the frame.
    middle = 0.5 * (low + high)
    wide = np.abs(seen[:, 0] - middle[0]) * scene.size[1] / scene.size[0]
    reach = np.maximum(wide, np.abs(seen[:, 1] - middle[1])) / tangent + seen[:, 2] - middle[2]
    target = middle[0] * right + middle[1] * up + middle[2] * eye
    camera.SetFocalPoint(*target)
    camera.SetPosition(*(target + reach.max() * eye))
    camera.SetViewUp(0.0, 0.0, 1.0)
    camera.SetViewAngle(ANGLE_DEG)


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


def _placed(piece: Piece) -> NDArray[np.float64]:
    turned: NDArray[np.float64] = piece.mesh.points * ((1.0, -1.0, -1.0) if piece.flipped else (1.0, 1.0, 1.0))
    turned += np.array(piece.shift_mm)
    return turned


def _poly_data(piece: Piece) -> Any:
    from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
    from vtkmodules.vtkCommonCore import vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData

    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(_placed(piece)), deep=True))
    triangles = piece.mesh.triangles
    cells = vtkCellArray()
    cells.SetData(3, numpy_to_vtkIdTypeArray(np.ascontiguousarray(triangles.ravel()), deep=True))
    data = vtkPolyData()
    data.SetPoints(points)
    data.SetPolys(cells)
    return data
