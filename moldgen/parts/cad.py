"""The one place where the CAD package is imported, without what only costs time.

Left out of an import of some 30 000 objects: the garbage collector running in between, a fifth of it; the binding of
each of the kernel's symbols before the first is called, a fifteenth, where the system lets that be put off; the whole
visualisation library, of which the CAD package loads many modules for a conversion that is never called here; the
library that takes apart its short way of naming edges and faces; and all of the package but its shapes (a drawing
library, a solver, sketches, assemblies), until somebody asks for more of it.
"""

import gc
import importlib.util
import os
import sys
from collections.abc import Callable
from types import ModuleType
from typing import Any, Final

import vtkmodules


def _begin_with_its_shapes(name: str) -> None:
    """Makes the package known, so that its modules can be imported, and puts its own start off.

    The first that is asked of the package itself, by somebody's script, say, lets it start; it then takes over the
    modules that are there already.
    """
    spec = importlib.util.find_spec(name)
    if name in sys.modules or spec is None or spec.loader is None:
        return
    package, loader = importlib.util.module_from_spec(spec), spec.loader

    def start(attribute: str) -> Any:
        if package.__dict__.pop("__getattr__", None) is not None:
            loader.exec_module(package)
        return ModuleType.__getattribute__(package, attribute)

    package.__dict__["__getattr__"] = start
    sys.modules[name] = package


def _standing_in(name: str) -> ModuleType:
    """A module whose names stand for the real one's until they are called; the package's shapes only call them."""
    module = ModuleType(name)

    def on_call(attribute: str) -> Callable[..., Any]:
        if attribute.startswith("_"):
            raise AttributeError(attribute)

        def called(*args: Any, **kwargs: Any) -> Any:
            return getattr(importlib.import_module(name), attribute)(*args, **kwargs)

        return called

    module.__dict__["__getattr__"] = on_call
    return module


ON_CALL: Final = ("vtkmodules.vtkCommonDataModel", "vtkmodules.vtkFiltersCore", "cadquery.selectors")

gc.disable()
if hasattr(sys, "setdlopenflags"):
    binding = sys.getdlopenflags()
    sys.setdlopenflags(os.RTLD_LAZY)
stand_ins = {name: _standing_in(name) for name in ON_CALL if name not in sys.modules}
sys.modules.update(stand_ins)
loaded = sys.modules.setdefault("vtk", vtkmodules)  # a name is enough for the kernel's viewer classes
_begin_with_its_shapes("cadquery")
from cadquery.occ_impl.geom import Location, Vector  # noqa: E402
from cadquery.occ_impl.shapes import Compound, Edge, Face, Shape, Solid, Wire, edgesToWires  # noqa: E402
from OCP.BRep import BRep_Builder, BRep_Tool  # noqa: E402
from OCP.BRepAdaptor import BRepAdaptor_Surface  # noqa: E402
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse, BRepAlgoAPI_Section  # noqa: E402
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace  # noqa: E402
from OCP.BRepGProp import BRepGProp  # noqa: E402
from OCP.BRepMesh import BRepMesh_IncrementalMesh  # noqa: E402
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipe  # noqa: E402
from OCP.BRepTools import BRepTools  # noqa: E402
from OCP.GeomAbs import GeomAbs_SurfaceType  # noqa: E402
from OCP.gp import gp_Pln  # noqa: E402
from OCP.GProp import GProp_GProps  # noqa: E402
from OCP.IMeshTools import IMeshTools_MeshAlgoType, IMeshTools_Parameters  # noqa: E402
from OCP.StlAPI import StlAPI_Writer  # noqa: E402
from OCP.TopAbs import TopAbs_Orientation  # noqa: E402
from OCP.TopLoc import TopLoc_Location  # noqa: E402
from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid  # noqa: E402
from OCP.TopTools import TopTools_ListOfShape  # noqa: E402

if hasattr(sys, "setdlopenflags"):
    sys.setdlopenflags(binding)
for name in stand_ins:
    del sys.modules[name]
if loaded is vtkmodules:
    del sys.modules["vtk"]
gc.freeze()
gc.enable()

__all__ = [
    "BRepAdaptor_Surface",
    "BRepAlgoAPI_Common",
    "BRepAlgoAPI_Cut",
    "BRepAlgoAPI_Fuse",
    "BRepAlgoAPI_Section",
    "BRepBuilderAPI_MakeFace",
    "BRepGProp",
    "BRepMesh_IncrementalMesh",
    "BRepOffsetAPI_MakePipe",
    "BRepTools",
    "BRep_Builder",
    "BRep_Tool",
    "Compound",
    "Edge",
    "Face",
    "GProp_GProps",
    "GeomAbs_SurfaceType",
    "IMeshTools_MeshAlgoType",
    "IMeshTools_Parameters",
    "Location",
    "Shape",
    "Solid",
    "StlAPI_Writer",
    "TopAbs_Orientation",
    "TopLoc_Location",
    "TopTools_ListOfShape",
    "TopoDS_Shell",
    "TopoDS_Solid",
    "Vector",
    "Wire",
    "edgesToWires",
    "gp_Pln",
]
