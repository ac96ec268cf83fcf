"""Files: STEP, STL, 3MF, pictures, the job's record, and the folder that holds them whole or not at all.

Knows solids and meshes, plans and results; decides nothing.
"""
