"""Pure formulas of rubber, belts, nips and struts: floats in, floats out, one module per topic.

Nothing here knows a part family, a spec, a file or the CAD kernel. Every public function gives its equation, its
source and the range it holds for, checks that range, and carries a doctest that can be redone on paper.
Units: mm, N, N·mm, MPa, radians unless a name says `_deg`; ratios are ratios, never per cent.
"""
