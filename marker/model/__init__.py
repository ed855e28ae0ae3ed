"""The sewing model: patterns, pieces, fabrics, jobs and layouts. No geometry engine here."""
