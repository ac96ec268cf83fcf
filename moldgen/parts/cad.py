"""The one place where the CAD package is imported, without what only costs time.

Left out of an import of some 30 000 objects: the garbage collector running in between, a fifth of it, and
the whole visualisation library, of which the CAD package loads all modules for a conversion that is never called here.
"""

import gc
import sys

import vtkmodules

gc.disable()
loaded = sys.modules.setdefault("vtk", vtkmodules)  # a name is enough for the kernel's viewer classes
from cadquery import Compound, Edge, Face, Location, Shape, Solid, Vector, Wire  # noqa: E402
from OCP.BRep import BRep_Builder  # noqa: E402
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse  # noqa: E402
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace  # noqa: E402
from OCP.BRepGProp import BRepGProp  # noqa: E402
from OCP.BRepMesh import BRepMesh_IncrementalMesh  # noqa: E402
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipe  # noqa: E402
from OCP.BRepTools import BRepTools  # noqa: E402
from OCP.GProp import GProp_GProps  # noqa: E402
from OCP.IMeshTools import IMeshTools_MeshAlgoType, IMeshTools_Parameters  # noqa: E402
from OCP.StlAPI import StlAPI_Writer  # noqa: E402
from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid  # noqa: E402
from OCP.TopTools import TopTools_ListOfShape  # noqa: E402

if loaded is vtkmodules:
    del sys.modules["vtk"]
gc.freeze()
gc.enable()

__all__ = [
    "BRepAlgoAPI_Common",
    "BRepAlgoAPI_Cut",
    "BRepAlgoAPI_Fuse",
    "BRepBuilderAPI_MakeFace",
    "BRepGProp",
    "BRepMesh_IncrementalMesh",
    "BRepOffsetAPI_MakePipe",
    "BRepTools",
    "BRep_Builder",
    "Compound",
    "Edge",
    "Face",
    "GProp_GProps",
    "IMeshTools_MeshAlgoType",
    "IMeshTools_Parameters",
    "Location",
    "Shape",
    "Solid",
    "StlAPI_Writer",
    "TopTools_ListOfShape",
    "TopoDS_Shell",
    "TopoDS_Solid",
    "Vector",
    "Wire",
]
