"""From caliper readings on bare metal to a printed two-part mold and a weighed pour.

The stages, each a frozen record from the last: `case.load` a spec, `sizing.size` it, `planning.planned` its mold,
`job.build` the files. Importing this package imports none of them.
"""
