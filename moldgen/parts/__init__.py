"""From plain outlines to solids and meshes: the only package that talks to the CAD kernel directly.

Knows revolved and extruded bodies; knows no part family, no mold and no file.
"""
