"""From drawings, interchange files and photographs to pattern files; one reader a kind."""
