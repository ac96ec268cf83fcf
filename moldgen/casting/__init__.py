"""From volumes as plain numbers to what to weigh, in which cups, and when to pour them.

Needs no solids: it must not know the CAD kernel, nor specs, files or the screen. Whoever calls it brings
volumes, densities, ratios and times, from a build or from anywhere.
"""

from moldgen.casting.kit import Batch, Kit, KitError, Pour, TooSlow, Working, plan_kit
from moldgen.casting.weighing import Component, Extra, MixError, MixSystem, Weighed, WeighOut, weigh_out

__all__ = [
    "Batch",
    "Component",
    "Extra",
    "Kit",
    "KitError",
    "MixError",
    "MixSystem",
    "Pour",
    "TooSlow",
    "WeighOut",
    "Weighed",
    "Working",
    "plan_kit",
    "weigh_out",
]
