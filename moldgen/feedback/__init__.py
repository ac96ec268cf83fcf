"""Closing the loop: what the first casting measured and how the machine ran, back into the spec of the next part.

Knows specs, sizings and machines; must not know molds, solids, files of a build other than its records, or the screen.
Nothing here needs the CAD kernel. Only `tone` and `flutter` import a numerical library, and only when they are called.
"""
