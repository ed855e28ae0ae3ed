"""Measurements on open instances of two-dimensional irregular strip packing."""
