"""Placing of shapes on a strip: the problem, no-fit polygons, the search, compaction and bounds.

``search.solve`` is the entry; nothing here knows what the shapes are for. This file imports nothing, so
that ``marker.nest.problem`` is cheap to import.
"""
