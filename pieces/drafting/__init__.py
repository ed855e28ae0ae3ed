"""How the demo patterns are drafted: body measurements in, flat outlines of measured seams out."""
